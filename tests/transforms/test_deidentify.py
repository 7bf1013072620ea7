"""Digests, ages, days and places in a series; and that nothing direct is left."""

import datetime as dt
import hashlib
import hmac

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from upload_sheets import KEY

from schemas.codebook import RECORD_KINDS, upload_fields
from transforms.deidentify import deidentify, digest, identity_digests, with_codes

D = dt.datetime
DATES = ("operation_date", "visit_date", "birth_date", "complication_date")
OPERATED = D(2025, 3, 1)


def cases(*rows):
    """Cases as `resolve_cases` returns them; each row is an operation unless it names another."""
    plain = {
        "patient_id": "A-1", "eye": "right", "surgeon": None, "number": 1, "is_held": False,
        "operation_date": OPERATED,
    }  # fmt: skip
    frame = pd.DataFrame([{"operation": label, **plain, **row} for label, row in enumerate(rows)])
    for name in DATES:
        days = frame[name] if name in frame else pd.Series(pd.NaT, index=frame.index)
        frame[name] = pd.to_datetime(days).astype("datetime64[s]")
    for name in ("patient_id", "eye", "surgeon"):
        frame[name] = frame[name].astype("str")
    return frame.astype({"operation": "Int64", "number": "Int64"})


def known(*rows, age_top=90):
    frame = cases(*rows)
    return deidentify(frame, identity_digests(frame, "heron", KEY), age_top)


def digests(site="heron", key=KEY, **row):
    return identity_digests(cases(row), site, key).iloc[0]


# Digests


def test_a_digest_is_the_keyed_hash_of_its_parts():
    # HMAC-SHA256, RFC 2104; the message is the parts, a unit separator between them.
    wanted = hmac.new(KEY, b"patient\x1fheron\x1fa-1", hashlib.sha256).hexdigest()
    assert digest(KEY, "patient", "heron", "a-1") == wanted
    assert digests(patient_id="a-1")["patient"] == wanted


def test_the_parts_of_a_digest_cannot_run_into_each_other():
    assert digest(KEY, "patient", "heron", "1") != digest(KEY, "patient", "heron1", "")


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ({"patient_id": "A-1"}, {"patient_id": "A-2"}),
        ({"patient_id": "1"}, {"patient_id": "01"}),
        ({"site": "heron"}, {"site": "ibis"}),
        ({"key": b"one key"}, {"key": b"another key"}),
    ],
)
def test_other_person_centre_or_key_is_another_digest(one, other):
    assert digests(**one)["patient"] != digests(**other)["patient"]
    assert digests(**one)["operation"] != digests(**other)["operation"]


@pytest.mark.parametrize("other", [{"eye": "left"}, {"number": 2}])
def test_each_operation_of_a_patient_has_its_own_digest(other):
    assert digests()["patient"] == digests(**other)["patient"]
    assert digests()["operation"] != digests(**other)["operation"]


def test_a_surgeon_is_not_the_patient_of_the_same_name():
    both = digests(patient_id="Reiher", surgeon="Reiher")
    assert both["surgeon"] != both["patient"]


def test_mending_the_date_of_an_operation_changes_no_digest():
    before, after = digests(), digests(operation_date=D(2024, 1, 1), birth_date=D(1950, 1, 1))
    assert before.to_list() == after.to_list()


@pytest.mark.parametrize(
    ("unknown", "there"),
    [
        ({"patient_id": None}, {"patient": False, "operation": False, "surgeon": False}),
        ({"eye": None}, {"patient": True, "operation": False, "surgeon": False}),
        ({"surgeon": "By"}, {"patient": True, "operation": True, "surgeon": True}),
    ],
)
def test_what_is_not_known_has_no_digest(unknown, there):
    assert digests(**unknown).notna().to_dict() == there


# Ages


@pytest.mark.parametrize(
    ("born", "operated", "age"),
    [
        (D(1955, 6, 15), D(2025, 6, 14), 69),
        (D(1955, 6, 15), D(2025, 6, 15), 70),
        (D(1955, 6, 15), D(2025, 6, 16), 70),
        (D(1955, 12, 31), D(2025, 1, 1), 69),
        (D(1956, 2, 29), D(2025, 2, 28), 68),
        (D(1956, 2, 29), D(2025, 3, 1), 69),
        (D(1956, 2, 29), D(2024, 2, 29), 68),
        (D(1956, 3, 1), D(2024, 2, 29), 67),
        (D(2025, 6, 15), D(2025, 6, 15), 0),
    ],
)
def test_years_are_completed_on_the_birthday(born, operated, age):
    assert known({"birth_date": born, "operation_date": operated})["age_years"].item() == age


@pytest.mark.parametrize(("born", "age"), [(1936, 89), (1935, 90), (1934, 90), (1910, 90)])
def test_ages_are_cut_off_at_the_top(born, age):
    assert known({"birth_date": D(born, 1, 1)})["age_years"].item() == age


def test_the_top_is_the_studys():
    assert known({"birth_date": D(1940, 1, 1)}, age_top=80)["age_years"].item() == 80


@pytest.mark.parametrize(
    "row", [{"birth_date": None}, {"birth_date": D(1950, 1, 1), "operation_date": None}]
)
def test_without_both_dates_there_is_no_age(row):
    assert known(row)["age_years"].isna().all()


# Days


@pytest.mark.parametrize(
    ("event", "day"),
    [
        ({"visit_date": D(2025, 2, 27)}, -2),
        ({"visit_date": OPERATED}, 0),
        ({"visit_date": D(2025, 5, 30)}, 90),
        ({"complication_date": D(2026, 3, 1)}, 365),
        ({}, None),
    ],
)
def test_dates_become_days_after_the_operation(event, day):
    found = known(event)
    assert found["operation_year"].item() == 2025
    assert found["day"].isna().all() if day is None else found["day"].item() == day


def test_the_days_of_an_eyes_operations_count_from_its_first_that_is_not_held():
    found = known(
        {"operation_date": D(2025, 1, 1), "is_held": True},
        {"operation_date": D(2025, 1, 11), "number": 2},
        {"operation_date": D(2025, 1, 31), "number": 3},
        {"operation_date": D(2025, 1, 31), "eye": "left"},
        {"operation": 2, "operation_date": D(2025, 1, 31), "visit_date": D(2025, 2, 1)},
    )
    assert found["from_first"].fillna(-1).to_list() == [-1, 0, 20, 0, -1]


# Places in a surgeon's series


def test_cases_of_a_surgeon_are_counted_by_date_and_then_by_row():
    found = known(
        {"surgeon": "Reiher", "operation_date": D(2025, 5, 1)},
        {"surgeon": "Ibis", "operation_date": D(2025, 1, 1)},
        {"surgeon": "Reiher", "operation_date": D(2025, 2, 1), "patient_id": "A-2"},
        {"surgeon": "Reiher", "operation_date": D(2025, 2, 1), "patient_id": "A-3"},
        {"surgeon": "Reiher", "operation_date": D(2025, 1, 1), "is_held": True},
        {"surgeon": None, "operation_date": D(2025, 1, 1)},
    )
    assert found["surgeon_case_number"].fillna(0).to_list() == [3, 1, 1, 2, 0, 0]


def test_visits_are_no_cases_of_a_surgeon():
    found = known({"surgeon": "Reiher"}, {"operation": 0, "surgeon": "Reiher"})
    assert found["surgeon_case_number"].fillna(0).to_list() == [1, 0]


# Random codes


def test_random_codes_stand_for_digests_and_row_keys_hang_on_the_operation():
    frame = pd.DataFrame(
        {"patient_key": ["p", "q"], "operation_key": ["o", "r"], "key_suffix": [".d90", ".m3"]}
    )
    coded = with_codes(frame, {"p": "P1", "q": "P2", "o": "O1", "r": "O2"})
    assert coded.to_dict("list") == {
        "patient_key": ["P1", "P2"], "operation_key": ["O1", "O2"],
        "row_key": ["O1.d90", "O2.m3"],
    }  # fmt: skip


@pytest.mark.parametrize("suffixes", [[".d90", None], [None, None]], ids=["one row", "no row"])
def test_what_stands_in_no_row_has_no_row_key(suffixes):
    frame = pd.DataFrame(
        {
            "operation_key": pd.Series(["o", None], dtype="str"),
            "key_suffix": pd.Series(suffixes, dtype="object"),
        }
    )
    coded = with_codes(frame, {"o": "O1"})
    wanted = [None if suffix is None else f"O1{suffix}" for suffix in suffixes]
    assert (
        coded["row_key"].astype("object").where(coded["row_key"].notna(), None).to_list() == wanted
    )


# Nothing direct is left

DIRECT = {
    name
    for kind in RECORD_KINDS
    for name, field in upload_fields(kind).items()
    if field.is_direct_identifier
}
# The first letters stand in no code, no year and no digest.
NAMES = st.text(st.characters(categories=("Lu", "Ll", "Nd")), max_size=12).map("zq-{}".format)
DAYS = st.datetimes(D(1990, 1, 1), D(2026, 11, 22))


@settings(max_examples=30, deadline=None)
@given(NAMES, NAMES, DAYS, DAYS, st.datetimes(D(1930, 1, 1), D(1985, 1, 1)))
def test_no_record_number_name_or_date_is_left_in_any_column_or_value(number, by, day, seen, born):
    day, seen, born = (
        moment.replace(hour=0, minute=0, second=0, microsecond=0) for moment in (day, seen, born)
    )
    found = known(
        {"patient_id": number, "surgeon": by, "operation_date": day, "birth_date": born},
        {"operation": 0, "patient_id": number, "operation_date": day, "visit_date": seen},
    )
    assert {"patient_id", "surgeon", *DATES} == DIRECT
    assert not DIRECT & set(found.columns)
    texts = [value.casefold() for column in found for value in found[column].dropna().astype("str")]
    for direct in (number, by):
        assert not any(direct.casefold() in text for text in texts)
    for moment in (day, seen, born):
        assert not any(moment.strftime("%Y-%m-%d") in text for text in texts)
    assert not any(pd.api.types.is_datetime64_any_dtype(found[column]) for column in found)
