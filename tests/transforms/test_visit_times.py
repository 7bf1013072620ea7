"""Visits whose time stands in words: which window they fall into, and what is asked."""

import pytest
from upload_sheets import OPERATIONS, codes_of, sheet, table, taken_in, told

from schemas.visit_names import UNSCHEDULED
from transforms.intake import coded
from transforms.visit_time import time_of_visit, window_of_time

WINDOWS = {"m1": (14, 30, 59), "m3": (60, 90, 135), "m6": (136, 180, 270), "m12": (271, 365, 545)}


@pytest.mark.parametrize(
    ("text", "language", "window"),
    [
        ("3 months", "en", "m3"),
        ("3m", "en", "m3"),
        ("M3", "en", "m3"),
        ("3/12", "en", "m3"),
        ("13/52", "en", "m3"),
        ("6 wk", "en", "m1"),
        ("1 year", "en", "m12"),
        ("preop", "en", "baseline"),
        ("post 6 months", "en", "m6"),
        ("3 meses", "es", "m3"),
        ("preoperatorio", "es", "baseline"),
        ("6 mois", "fr", "m6"),
        ("1 an", "fr", "m12"),
        ("3 Monate", "de", "m3"),
        ("vor OP", "de", "baseline"),
        ("12 meses", "pt", "m12"),
        ("pós 1 mês", "pt", "m1"),
        ("24 months", "en", UNSCHEDULED),
        ("final", "en", None),
        ("visit 3", "en", None),
        ("3", "en", None),
        ("3 months or 6 months", "en", None),
        ("3 months?", "en", None),
        ("about 3 months", "en", None),
    ],
)
def test_a_time_in_words_names_the_window_that_holds_it(text, language, window):
    time = time_of_visit(text, language)
    assert (window_of_time(time, WINDOWS) if time else None) == window


def followed(*visits, fields=None, operations=(("A1", "OD", "2026-03-02"),), codes=None):
    """An intake of operations and of visits with number, eye, date, time and acuity."""
    log = sheet(("No", "Eye", "Op"), *operations)
    seen = sheet(("No", "Eye", "Seen", "When", "VA"), *visits, name="Visits")
    fields = fields or {"patient_id": "No", "eye": "Eye", "visit_date": "Seen"}
    acuity = {"heading": "VA", "notation": "logmar"}
    time = {"heading": "When", "codes": codes or {}}
    return taken_in(
        (log, seen),
        table("operation", OPERATIONS, sheet="Log"),
        table("visit", {**fields, "visit_time": time, "acuity": acuity}, sheet="Visits"),
        dates="year-first",
    )


def windows(intake):
    visits = intake.tables["visits"].sort_values("acuity_logmar")
    return visits["visit"].to_list()


def test_a_visit_without_a_date_falls_into_the_window_of_its_words():
    intake = followed(("A1", "OD", None, "preop", 0.1), ("A1", "OD", None, "3 months", 0.2))
    assert windows(intake) == ["baseline", "m3"]
    assert told(intake.tables["findings"]) == []


def test_a_table_of_visits_may_have_words_and_no_dates_at_all():
    intake = followed(
        ("A1", "OD", None, "M1", 0.1), fields={"patient_id": "No", "eye": "Eye"}
    )  # fmt: skip
    assert windows(intake) == ["m1"]


def test_a_date_goes_before_words_and_a_difference_is_asked_about():
    intake = followed(("A1", "OD", "2026-06-01", "6 months", 0.1))
    assert windows(intake) == ["m3"]
    assert told(intake.tables["findings"]) == [("visit_window_differs", "C2")]


def test_words_that_name_no_time_hold_a_visit_without_a_date():
    intake = followed(("A1", "OD", None, "as agreed", 0.1))
    assert windows(intake) == []
    assert told(intake.tables["findings"]) == [("visit_undated", "C2"), ("word_unknown", "D2")]


def test_a_time_that_no_window_holds_needs_a_date():
    intake = followed(("A1", "OD", None, "24 months", 0.1))
    assert told(intake.tables["findings"]) == [("visit_undated", "C2")]


def test_two_undated_visits_of_one_window_are_doubles():
    intake = followed(("A1", "OD", None, "3m", 0.1), ("A1", "OD", None, "12 wk", 0.2))
    assert windows(intake) == ["m3"]
    assert told(intake.tables["findings"]) == [("visit_doubled", "A3")]


def test_months_after_which_of_two_operations_cannot_be_told():
    intake = followed(
        ("A1", "OD", None, "3 months", 0.1),
        operations=(("A1", "OD", "2026-01-05"), ("A1", "OD", "2026-06-01")),
    )
    assert windows(intake) == []
    assert told(intake.tables["findings"]) == [("visit_operation_unclear", "A2")]


def test_the_words_are_the_cell_behind_the_window():
    intake = followed(("A1", "OD", None, "3 months", 0.1))
    cells = coded(intake, codes_of(intake)).tables["cells"]
    assert cells.loc[cells["field"] == "visit", "cell"].to_list() == ["D2"]


def test_the_centres_own_word_for_a_window_is_read():
    intake = followed(("A1", "OD", None, "V2", 0.1), codes={"V2": "m6"})
    assert windows(intake) == ["m6"]


def test_a_heading_that_names_the_visit_goes_before_the_cell():
    log = sheet(("No", "Eye", "Op", "When", "VA"), ("A1", "OD", "2026-03-02", "6 months", 0.1))
    block = {"at": "m1", "visit_time": "When", "acuity": {"heading": "VA", "notation": "logmar"}}
    intake = taken_in(log, table("operation", OPERATIONS, visits=[block]), dates="year-first")
    assert windows(intake) == ["m1"]
