"""Findings: their words, their keys, and which of them keep a record out of the pool."""

import re

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.codebook import RECORD_KINDS, upload_fields
from schemas.rules import RULES
from transforms.findings import gathered, held_records, keyed, none_raised, raised, worded

FIELDS = [(kind, name) for kind in RECORD_KINDS for name in upload_fields(kind)]

# Fields whose cells the readers can raise these rules about.
NUMBERS = [
    (kind, name)
    for kind, name in FIELDS
    if upload_fields(kind)[name].spec.reads in ("number", "integer")
]


def words(rule, kind="operation", field="hole_min_diameter", **facts):
    where = pd.DataFrame({"record": [1], "kind": [kind], "field": [field]})
    known = {"heading": "MLD", "other": "see A2", "count": 2} | facts
    return worded(raised(rule, where, **known)).iloc[0]


def says_it_whole(text):
    """No placeholder left over, nothing where a word should be."""
    return (
        not re.search(r"[{}]|\bNone\b|\bnan\b", text)
        and not re.search(r" [.;,)]|\( | {2}|\(\)", text)
        and text[0].isupper()
        and text.endswith(".")
    )


@pytest.mark.parametrize("rule", list(RULES))
def test_the_words_of_every_rule_are_whole(rule):
    found = words(rule)
    assert found["action"] == RULES[rule].action
    assert says_it_whole(found["message"]), found["message"]
    assert says_it_whole(found["mend"]), found["mend"]


@pytest.mark.parametrize(("kind", "field"), FIELDS)
def test_every_field_is_called_by_its_title(kind, field):
    found = words("value_missing", kind, field)
    assert found["message"] == f"{upload_fields(kind)[field].spec.title} is not given."


@pytest.mark.parametrize(
    "rule", ["number_unreadable", "number_ambiguous", "unit_unknown", "value_estimate"]
)
@pytest.mark.parametrize(("kind", "field"), NUMBERS)
def test_the_words_about_a_quantity_are_whole_also_where_it_has_no_unit(rule, kind, field):
    found = words(rule, kind, field)
    assert says_it_whole(found["message"]), found["message"]
    assert says_it_whole(found["mend"]), found["mend"]


@pytest.mark.parametrize(("kind", "field"), FIELDS)
@pytest.mark.parametrize(
    ("rule", "which"), [("outside_possible", "hard"), ("outside_usual", "soft")]
)
def test_limits_are_named_with_their_unit(kind, field, rule, which):
    limits = getattr(upload_fields(kind)[field].spec, which)
    if limits is None:
        return
    found = words(rule, kind, field)
    assert f"{limits.low:g} to {limits.high:g}" in found["message"]
    assert says_it_whole(found["message"]), found["message"]


def test_a_finding_about_no_field_speaks_of_this():
    found = words("record_number_missing", kind=None, field=None)
    assert found["message"] == "This is empty, or shows an error."


def test_a_rule_that_nobody_declared_cannot_be_raised():
    with pytest.raises(AssertionError):
        raised("looks_odd", pd.DataFrame({"record": [1]}))


def test_nothing_raised_is_no_finding():
    assert len(gathered()) == len(gathered(none_raised())) == 0
    assert len(worded(none_raised())) == 0
    assert held_records(none_raised()) == set()


def test_findings_are_gathered_in_their_order():
    two = [raised("value_missing", pd.DataFrame({"record": [n]})) for n in (2, 1)]
    assert gathered(two[0], none_raised(), two[1])["record"].to_list() == [2, 1]


def test_only_hold_keeps_a_record_out():
    where = pd.DataFrame({"record": [1]})
    found = gathered(
        *(raised(rule, where.assign(record=number)) for number, rule in enumerate(RULES)),
        raised("eye_missing", pd.DataFrame({"record": [None]})),
    )
    assert held_records(found) == {
        number for number, rule in enumerate(RULES) if RULES[rule].action == "hold"
    }


# Keys

ROWS = [
    ("O1", "O1.d90", "acuity", "acuity_unreadable", "Log", "D2"),
    ("O1", "O1.d180", "acuity", "acuity_unreadable", "Log", "E2"),
    ("O1", None, "eye", "eye_unreadable", "Log", "B2"),
    ("O2", None, "eye", "eye_unreadable", "Log", "B3"),
    (None, None, None, "row_left_out", "Log", "A9"),
]
COLUMNS = ["case_label", "row_key", "field", "rule", "sheet", "cell"]


def keys(rows, site="heron"):
    frame = pd.DataFrame(rows, columns=COLUMNS).astype("object")
    return keyed(frame, site)["finding_key"].to_list()


def test_every_matter_has_its_own_short_key():
    found = keys([*ROWS, ROWS[0], ROWS[0]])
    assert len(set(found)) == len(found)
    assert all(re.fullmatch(r"F-[0-9a-f]{12}", key) for key in found)


@given(st.permutations(range(len(ROWS))))
def test_sorting_the_rows_changes_no_key(order):
    shuffled = keys([ROWS[place] for place in order])
    assert dict(zip(order, shuffled, strict=True)) == dict(enumerate(keys(ROWS)))


def test_renaming_the_sheet_and_moving_the_cells_changes_no_key_of_a_known_case():
    moved = [(*row[:4], "Theatre", "Z99") for row in ROWS]
    assert keys(moved)[:4] == keys(ROWS)[:4]
    assert keys(moved)[4] != keys(ROWS)[4]


@pytest.mark.parametrize("place", range(4))
def test_case_visit_field_and_rule_tell_matters_apart(place):
    row = list(ROWS[0])
    row[place] = "other"
    assert keys([tuple(row)]) != keys([ROWS[0]])


def test_the_same_matter_at_another_centre_has_another_key():
    assert keys(ROWS, "heron")[4] != keys(ROWS, "ibis")[4]


@pytest.mark.parametrize("rows", [ROWS[4:], ROWS[2:4], []], ids=["no case", "no row", "none"])
def test_findings_that_are_all_of_one_kind_have_keys_too(rows):
    assert len(keys(rows)) == len(rows)
