"""Which operation every record belongs to, what is held, and whether dates can be true together.

Operations stand on the sheet Log (No, Eye, Op, Born), visits on Clinic, complications on Events.
"""

import datetime as dt

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from upload_sheets import (
    COMPLICATIONS,
    LATEST,
    OPERATIONS,
    VISITS,
    crosswalk,
    laid_out,
    sheet,
    table,
    told,
)

from transforms.validate.cases import resolve_cases
from transforms.validate.identity import read_identities

D = dt.datetime
MARCH, JUNE, NOVEMBER = D(2025, 3, 1), D(2025, 6, 1), D(2025, 11, 1)

TABLES = (
    table("operation", {**OPERATIONS, "birth_date": "Born", "surgeon": "By"}, sheet="Log"),
    table("visit", VISITS, sheet="Clinic"),
    table("complication", {**COMPLICATIONS, "complication_date": "On"}, sheet="Events"),
)
IN_COLUMNS = table("operation", OPERATIONS, visits=[{"at": "m3", "date": "Seen", "closure": "OCT"}])


def resolve(layout):
    identities, unidentified = read_identities(layout.records, crosswalk(*TABLES), LATEST)
    cases, unresolved = resolve_cases(layout.records, identities, unidentified, LATEST)
    return cases, told(unidentified) + told(unresolved)


def cases_of(operations, visits=(), events=()):
    """Cases and findings of an upload; the addresses tell which row a finding is about."""
    sheets = [
        sheet(["No", "Eye", "Op", "Born", "By"], *operations, name="Log"),
        sheet(["No", "Eye", "Seen"], *visits, name="Clinic"),
        sheet(["No", "Eye", "Event", "On"], *events, name="Events"),
    ]
    return resolve(laid_out(sheets, *TABLES))


def held(cases):
    return cases["is_held"].to_list()


# Rows that cannot be records


@pytest.mark.parametrize(
    ("row", "finding"),
    [
        ([None, "OD", MARCH, D(1950, 1, 1)], ("record_number_missing", "A2")),
        (["A-1", None, MARCH], ("eye_missing", "B2")),
        (["A-1", "both", MARCH], ("eye_unreadable", "B2")),
        (["A-1", "OU", MARCH], ("eye_unreadable", "B2")),
        (["A-1", "OD", None], ("operation_date_missing", "C2")),
        (["A-1", "OD", "spring"], ("operation_date_unreadable", "C2")),
        (["A-1", "OD", 45000.0], ("operation_date_unreadable", "C2")),
        (["A-1", "OD", D(1989, 12, 31)], ("operation_date_impossible", "C2")),
        (["A-1", "OD", D(2026, 11, 23)], ("operation_date_impossible", "C2")),
    ],
)
def test_an_operation_without_person_eye_or_day_is_held(row, finding):
    cases, findings = cases_of([row, ["A-2", "OS", MARCH]])
    assert findings == [finding]
    assert held(cases) == [True, False]


@pytest.mark.parametrize("day", [D(1990, 1, 1), D(2026, 11, 22), "22/11/2026", "22.11.26"])
def test_the_first_and_the_last_possible_day_are_possible(day):
    assert cases_of([["A-1", "OD", day]])[1] == []


def test_an_error_of_the_spreadsheet_is_no_record_number():
    broken = sheet(
        ["No", "Eye", "Op"], [None, "OD", MARCH], [None, "OD", JUNE],
        errors={(2, 1): "#N/A", (3, 1): "#N/A"},
    )  # fmt: skip
    cases, findings = resolve(laid_out(broken, table("operation", OPERATIONS)))
    assert held(cases) == [True, True]
    assert [cell for _, cell in findings] == ["A2", "A3"]


def test_a_record_number_typed_as_number_and_as_text_is_one_patient():
    cases, findings = cases_of(
        [[412.0, "OD", MARCH]], [["412", "OD", JUNE], [" 412 ", "OD", MARCH]]
    )
    assert findings == []
    assert cases["operation"].to_list() == [0, 0, 0]


def test_record_numbers_are_compared_without_case():
    cases, findings = cases_of([["a-1", "OD", MARCH], ["A-1", "OD", JUNE]], [["A-1", "OD", JUNE]])
    assert findings == []
    assert cases["number"].to_list() == [1, 2, 2]


@pytest.mark.parametrize(("one", "other"), [("Reiher", "REIHER"), ("Groß", " GROSS ")])
def test_surgeons_are_compared_without_case(one, other):
    rows = [["A-1", "OD", MARCH, None, one], ["A-2", "OD", MARCH, None, other]]
    assert cases_of(rows)[0]["surgeon"].nunique() == 1


# Doubled operations and their order


def test_the_later_row_of_a_doubled_operation_is_held_and_names_the_first():
    rows = [["A-1", "OD", MARCH], ["A-1", "OS", MARCH], ["A-1", "OD", MARCH], ["A-1", "OD", JUNE]]
    cases, findings = cases_of(rows)
    assert findings == [("operation_doubled", "A4")]
    assert held(cases) == [False, False, True, False]


def test_a_held_row_doubles_nothing():
    rows = [["A-1", "both", MARCH], ["A-1", "OD", MARCH]]
    cases, findings = cases_of(rows)
    assert findings == [("eye_unreadable", "B2")]
    assert held(cases) == [True, False]


@settings(max_examples=6, deadline=None)
@given(st.permutations([MARCH, JUNE, NOVEMBER]))
def test_operations_of_an_eye_are_numbered_by_date_whatever_the_order_of_rows(days):
    cases, _ = cases_of([["A-1", "OD", day] for day in days])
    assert cases.sort_values("operation_date")["number"].to_list() == [1, 2, 3]


def test_numbers_count_each_eye_for_itself_and_the_undated_last():
    rows = [["A-1", "OD", None], ["A-1", "OS", JUNE], ["A-1", "OD", JUNE], ["A-2", "OD", MARCH]]
    assert cases_of(rows)[0]["number"].to_list() == [2, 1, 1, 1]


def test_a_doubled_row_takes_no_number_from_the_operations_after_it():
    rows = [["A-1", "OD", MARCH], ["A-1", "OD", MARCH], ["A-1", "OD", JUNE]]
    cases, _ = cases_of(rows)
    assert cases.loc[~cases["is_held"], "number"].to_list() == [1, 2]


# Which operation a visit belongs to

OPERATED_TWICE = [["A-1", "OD", MARCH], ["A-1", "OD", JUNE], ["A-1", "OS", MARCH]]


@pytest.mark.parametrize(
    ("seen", "operation"),
    [
        (D(2024, 12, 1), 0),
        (D(2025, 2, 28), 0),
        (MARCH, 0),
        (D(2025, 5, 31), 0),
        (JUNE, 1),
        (NOVEMBER, 1),
        ("1.6.2025", 1),
    ],
)
def test_a_visit_belongs_to_the_last_operation_on_or_before_it_else_to_the_first(seen, operation):
    cases, findings = cases_of(OPERATED_TWICE, [["A-1", "OD", seen]])
    assert findings == []
    visit = cases.loc[3]
    assert (visit["operation"], visit["number"]) == (operation, operation + 1)
    assert visit["operation_date"] == [MARCH, JUNE][operation]


def test_a_complication_is_attached_like_a_visit_and_without_a_date_to_the_first():
    cases, findings = cases_of(
        OPERATED_TWICE, events=[["A-1", "OD", "RD", NOVEMBER], ["A-1", "OD", "RD", None]]
    )
    assert findings == []
    assert cases.loc[[3, 4], "operation"].to_list() == [1, 0]


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.integers(0, 400), min_size=1, max_size=4, unique=True),
    st.lists(st.integers(-80, 500), min_size=1, max_size=5, unique=True),
)
def test_every_visit_is_attached_as_a_person_would_by_looking_at_the_dates(operated, seen):
    start = D(2025, 1, 1)
    cases, findings = cases_of(
        [["A-1", "OD", start + dt.timedelta(day)] for day in operated],
        [["A-1", "OD", start + dt.timedelta(day)] for day in seen],
    )
    assert findings == []
    wanted = [max([o for o in operated if o <= day], default=min(operated)) for day in seen]
    visits = cases.iloc[len(operated) :]
    assert (visits["operation_date"] - pd.Timestamp(start)).dt.days.to_list() == wanted


def test_a_visit_in_a_row_belongs_to_that_rows_operation_whatever_its_date():
    in_row = sheet(
        ["No", "Eye", "Op", "Seen", "OCT"],
        ["A-1", "OD", MARCH, NOVEMBER, "closed"],
        ["A-1", "OD", JUNE, None, None],
    )
    cases, findings = resolve(laid_out(in_row, IN_COLUMNS))
    assert findings == []
    assert cases.loc[2, ["operation", "patient_id", "eye"]].to_list() == [0, "a-1", "right"]


# Rows that stand or fall with an operation


@pytest.mark.parametrize(
    "orphan", [["A-9", "OD", JUNE], ["A-1", "OS", JUNE]], ids=["other patient", "other eye"]
)
def test_a_visit_without_an_operation_is_held_and_told(orphan):
    cases, findings = cases_of([["A-1", "OD", MARCH]], [orphan, ["A-1", "OD", JUNE]])
    assert findings == [("operation_unknown", "A2")]
    assert held(cases) == [False, True, False]


@pytest.mark.parametrize(
    ("operation", "rule"),
    [
        (["A-1", "OD", "spring"], "operation_date_unreadable"),
        (["A-1", None, MARCH], "eye_missing"),
        (["A-1", "both", MARCH], "eye_unreadable"),
    ],
)
def test_rows_of_a_held_operation_are_held_in_silence(operation, rule):
    cases, findings = cases_of(
        [operation, ["A-2", "OD", MARCH]], [["A-1", "OD", JUNE]], [["A-1", "OD", "RD", JUNE]]
    )
    assert [name for name, _ in findings] == [rule]
    assert held(cases) == [True, False, True, True]


def test_a_visit_of_the_other_eye_does_not_hide_behind_a_held_operation():
    cases, findings = cases_of([["A-1", "OD", None], ["A-2", "OD", MARCH]], [["A-1", "OS", JUNE]])
    assert findings[-1] == ("operation_unknown", "A2")
    assert held(cases) == [True, False, True]


def test_a_visit_in_the_row_of_a_held_operation_is_held():
    in_row = sheet(
        ["No", "Eye", "Op", "Seen", "OCT"], ["A-1", None, MARCH, NOVEMBER, "closed"],
        ["A-2", "OD", MARCH, NOVEMBER, "closed"],
    )  # fmt: skip
    cases, findings = resolve(laid_out(in_row, IN_COLUMNS))
    assert findings == [("eye_missing", "B2")]
    assert held(cases) == [True, False, True, False]


def test_an_upload_of_held_operations_alone_is_resolved():
    cases, findings = cases_of([["A-1", "OD", None]], [["A-1", "OD", JUNE]])
    assert findings == [("operation_date_missing", "C2")]
    assert held(cases) == [True, True]


def test_an_upload_without_a_record_is_resolved():
    cases, findings = cases_of([])
    assert (len(cases), findings) == (0, [])


# Dates that cannot be true together


@pytest.mark.parametrize(
    ("born", "is_possible"),
    [
        (D(1955, 5, 5), True),
        (MARCH, True),
        (D(2025, 3, 2), False),
        (D(1904, 1, 1), False),
        (None, True),
    ],
)
def test_a_birth_after_the_operation_or_120_years_before_it_is_missing(born, is_possible):
    cases, findings = cases_of([["A-1", "OD", MARCH, born]])
    assert findings == ([] if is_possible else [("date_out_of_order", "D2")])
    assert pd.isna(cases.loc[0, "birth_date"]) == (born is None or not is_possible)
    assert held(cases) == [False]


@pytest.mark.parametrize(
    ("when", "is_possible"), [(MARCH, True), (D(2025, 2, 28), False), (D(2026, 12, 1), False)]
)
def test_a_complication_before_its_operation_or_in_the_future_has_no_date(when, is_possible):
    cases, findings = cases_of([["A-1", "OD", MARCH]], events=[["A-1", "OD", "RD", when]])
    assert findings == ([] if is_possible else [("date_out_of_order", "D2")])
    assert held(cases) == [False, False]


@pytest.mark.parametrize("seen", [None, "spring", D(2026, 12, 1), D(2015, 1, 1)])
def test_a_visit_that_has_only_its_date_is_held_without_one(seen):
    cases, findings = cases_of([["A-1", "OD", MARCH]], [["A-1", "OD", seen]])
    assert findings == [("visit_undated", "C2")]
    assert held(cases) == [False, True]


@pytest.mark.parametrize(
    ("seen", "findings"),
    [
        (None, []),
        ("spring", [("date_unreadable", "D2")]),
        (D(2026, 12, 1), [("date_out_of_order", "D2")]),
        (D(2015, 1, 1), [("date_out_of_order", "D2")]),
    ],
)
def test_a_visit_with_a_named_window_can_do_without_and_is_asked_once(seen, findings):
    in_row = sheet(["No", "Eye", "Op", "Seen", "OCT"], ["A-1", "OD", MARCH, seen, "closed"])
    cases, found = resolve(laid_out(in_row, IN_COLUMNS))
    assert found == findings
    assert held(cases) == [False, False]
    assert pd.isna(cases.loc[1, "visit_date"])


def test_the_crosswalks_own_eye_codes_are_read_like_all_codes_without_case():
    fields = {**OPERATIONS, "eye": {"heading": "Eye", "codes": {"DX": "right"}}}
    layout = laid_out(sheet(["No", "Eye", "Op"], ["A-1", "dx", MARCH]), table("operation", fields))
    cases, findings = resolve(layout)
    assert (findings, cases["eye"].to_list()) == ([], ["right"])
