"""Windows of visits: by date where there is one, else by the heading's word.

The study's windows are m1 (day 14 to 59), m3 (60 to 135) and m6 (136 to 270).
"""

import datetime as dt

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from upload_sheets import OPERATIONS, STUDY, VISITS, sheet, table, taken_in, told

from transforms.visit_windows import window_of

OPERATED = dt.datetime(2025, 3, 1)
HEADINGS = ["No", "Eye", "Op", "Seen", "OCT"]


@pytest.mark.parametrize(
    ("day", "window"),
    [
        (-91, "unscheduled"),
        (-90, "baseline"),
        (0, "baseline"),
        (1, "unscheduled"),
        (13, "unscheduled"),
        (14, "m1"),
        (59, "m1"),
        (60, "m3"),
        (135, "m3"),
        (136, "m6"),
        (270, "m6"),
        (271, "unscheduled"),
        (-3650, "unscheduled"),
    ],
)
def test_both_ends_of_a_window_belong_to_it(day, window):
    assert window_of(pd.Series([day], dtype="Int64"), STUDY.visits).item() == window


def test_without_a_day_there_is_no_window():
    assert window_of(pd.Series([None, 90], dtype="Int64"), STUDY.visits).isna().to_list() == [
        True,
        False,
    ]


@given(st.lists(st.integers(-4000, 9000), max_size=20))
def test_every_day_lies_in_one_window_or_in_none(days):
    edges = {"baseline": (-90, 0), **{name: (w[0], w[2]) for name, w in STUDY.visits.items()}}
    wanted = [
        next((name for name, (first, last) in edges.items() if first <= day <= last), "unscheduled")
        for day in days
    ]
    assert window_of(pd.Series(days, dtype="Int64"), STUDY.visits).to_list() == wanted


def in_columns(at, seen):
    """Window, day and findings of one visit in columns, seen so many days after the operation."""
    when = None if seen is None else OPERATED + dt.timedelta(seen)
    block = {"date": "Seen", "closure": "OCT", **({"at": at} if at else {})}
    intake = taken_in(
        sheet(HEADINGS, ["A-1", "OD", OPERATED, when, "closed"]),
        table("operation", OPERATIONS, visits=[block]),
    )
    visits = intake.tables["visits"]
    days = visits["day"].astype("object").where(visits["day"].notna(), None)
    return (*visits["visit"].to_list(), *days), intake.tables["findings"]


@pytest.mark.parametrize(
    ("at", "seen", "visit", "rules"),
    [
        ("m3", 90, ("m3", 90), []),
        ("m3", None, ("m3", None), []),
        ("baseline", None, ("baseline", None), []),
        ("baseline", -3, ("baseline", -3), []),
        (None, 90, ("m3", 90), []),
        ("m3", 40, ("m1", 40), ["visit_window_differs"]),
        ("m3", 300, ("unscheduled", 300), ["visit_window_differs"]),
        ("baseline", 20, ("m1", 20), ["visit_window_differs"]),
    ],
)
def test_the_date_decides_where_there_is_one(at, seen, visit, rules):
    found, findings = in_columns(at, seen)
    assert found == visit
    assert findings["rule"].to_list() == rules


def test_where_date_and_heading_disagree_the_cell_of_the_date_is_told_with_the_heading():
    _, findings = in_columns("m3", 40)
    finding = findings.iloc[0]
    assert (finding["cell"], finding["other"], finding["action"]) == ("D2", "m3", "ask")
    assert "(m3)" in finding["message"]


def clinic(*seen):
    """Intake of one operated right eye, seen on the given days after the operation."""
    rows = [["A-1", "OD", OPERATED + dt.timedelta(day)] for day in seen]
    return taken_in(
        [
            sheet(["No", "Eye", "Op"], ["A-1", "OD", OPERATED], name="Log"),
            sheet(["No", "Eye", "Seen"], *rows, name="Clinic"),
        ],
        table("operation", OPERATIONS, sheet="Log"),
        table("visit", VISITS, sheet="Clinic"),
    )


def test_a_second_visit_on_one_day_is_held_and_names_the_first():
    intake = clinic(90, 30, 90, 91)
    findings = intake.tables["findings"]
    assert told(findings) == [("visit_doubled", "A4")]
    assert findings["other"].item() == "see A2"
    assert sorted(intake.tables["visits"]["day"]) == [30, 90, 91]


def test_two_visits_of_one_window_on_two_days_are_two_visits():
    intake = clinic(90, 100)
    assert intake.tables["visits"]["visit"].to_list() == ["m3", "m3"]
    assert told(intake.tables["findings"]) == []


def test_two_undated_visits_of_one_window_are_doubled_but_not_beside_a_dated_one():
    blocks = [
        {"at": "m3", "closure": "OCT 1"},
        {"at": "m3", "acuity": {"heading": "VA", "notation": "decimal"}},
        {"at": "m3", "date": "Seen", "closure": "OCT 2"},
    ]
    headings = ["No", "Eye", "Op", "OCT 1", "VA", "Seen", "OCT 2"]
    row = ["A-1", "OD", OPERATED, "closed", 0.5, OPERATED + dt.timedelta(90), "closed"]
    intake = taken_in(sheet(headings, row), table("operation", OPERATIONS, visits=blocks))
    assert told(intake.tables["findings"]) == [("visit_doubled", "A2")]
    assert intake.tables["visits"]["key_suffix"].to_list() == [".m3", ".d90"]


def test_the_same_day_of_two_eyes_is_no_double():
    intake = taken_in(
        sheet(
            HEADINGS,
            ["A-1", "OD", OPERATED, OPERATED, "open"],
            ["A-1", "OS", OPERATED, OPERATED, "open"],
        ),
        table(
            "operation", OPERATIONS, visits=[{"at": "baseline", "date": "Seen", "closure": "OCT"}]
        ),
    )
    assert len(intake.tables["visits"]) == 2
