"""Sensitivity of acuity, fields and recordings: the page says what the table says, and no more."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import openpyxl
import pytest

from reports.estimates import Subject, index_estimates
from reports.pooled_page import pooled_page
from reports.run_view import RunView
from reports.table_files import write_tables
from schemas.conventions import OFF_CHART_SETS
from schemas.pooled_tables import ANALYSES, BY_LUMINANCE

ReadPage = Callable[[str], Any]

SENSITIVITY = "Sensitivity of acuity to values off the chart"
FIELDS = "Fields by class of device"
RECORDINGS = "Multifocal electroretinogram"


@pytest.mark.parametrize(
    ("analysis", "cells"),
    [
        ("Main, with the study's set: counting fingers and hand motion as measured",
         ["20", "3/20", "−0.37 [−0.47, −0.27]", "12/20", "60.0 [38.7, 78.1]",
          "1/20", "5.0 [0.9, 23.6]"]),
        ("Without light perception and worse",
         ["19", "2/19", "−0.41 [−0.51, −0.31]", "12/19", "63.2 [41.0, 80.9]",
          "1/19", "5.3 [0.9, 24.6]"]),
        ("By ordered category",
         ["20", "–", "–", "13/20", "65.0 [43.3, 81.9]", "2/20", "10.0 [2.8, 30.1]"]),
        ("By line", ["–", "–", "–", "–", "–", "–", "–"]),
    ],
)  # fmt: skip
def test_sensitivity_on_the_page_equals_the_table(
    view: RunView, read_page: ReadPage, analysis: str, cells: list[str]
):
    assert read_page(pooled_page(view)).row(SENSITIVITY, analysis) == cells


@pytest.mark.parametrize("own", OFF_CHART_SETS)
def test_the_studys_own_set_leads_and_each_other_set_has_its_row(
    view: RunView, read_page: ReadPage, own: str
):
    acuity = view.study.acuity.model_copy(update={"off_chart": own})
    study = view.study.model_copy(update={"acuity": acuity})
    page = read_page(pooled_page(replace(view, study=study)))
    titles = [row[0] for row in page.tables[SENSITIVITY][1:]]
    own_title = OFF_CHART_SETS[own].title
    assert titles[0].casefold() == f"main, with the study's set: {own_title}".casefold()
    others = [a.title for name, a in ANALYSES.items() if name not in (BY_LUMINANCE, "main")]
    assert titles[1:] == [title for title in others if own_title.casefold()[1:] not in title]
    assert f"“{own_title}” ({own})" in page.text


def test_the_main_tables_take_the_main_analysis(view: RunView, read_page: ReadPage):
    """The rows of other analyses are about the same visit, group and statistic."""
    page = read_page(pooled_page(view))
    change = page.row("Change of acuity by visit", "m3 (day 60 to 135)")
    assert change[:2] == ["20", "−0.37 [−0.47, −0.27]"]
    subject = Subject("acuity_change_logmar", "m3", statistic="mean")
    found = index_estimates(view.tables["function"])
    assert (found[subject].eyes, found[subject._replace(analysis="without_light_perception")].eyes
            ) == (20, 19)  # fmt: skip


@pytest.mark.parametrize(
    ("device", "cells"),
    [
        ("10000 asb",
         ["8", "22.50 [22.40, 22.60]", "7", "25.00 [24.90, 25.10]", "6", "2.20 [2.10, 2.30]"]),
        ("400 asb", ["3", "9.00 [8.90, 9.10]", "–", "–", "–", "–"]),
        ("not given", ["4", "–", "–", "–", "–", "–"]),
        ("all, by luminance", ["11", "22.60 [22.50, 22.70]", "–", "–", "–", "–"]),
    ],
)  # fmt: skip
def test_fields_stand_by_class_of_device(
    view: RunView, read_page: ReadPage, device: str, cells: list[str]
):
    rows = read_page(pooled_page(view)).tables[FIELDS]
    found = [row for row in rows if row[:2] == ["Central field, mean sensitivity", device]]
    assert [row[2:] for row in found] == [cells]


def test_devices_stand_from_the_dimmest_and_the_rows_over_all_last(
    view: RunView, read_page: ReadPage
):
    page = read_page(pooled_page(view))
    assert [row[1] for row in page.tables[FIELDS][2:]] == [
        "400 asb", "10000 asb", "not given", "all, by luminance",
    ]  # fmt: skip
    assert "no level and no change is taken over classes of devices" in page.text


def test_recordings_are_ratios_and_scores(view: RunView, read_page: ReadPage):
    page = read_page(pooled_page(view))
    assert page.row(RECORDINGS, "Multifocal ERG ring 1, P1: ln(m3 / baseline)") == [
        "5", "0.69 [0.59, 0.79]", "0.20", "0.70 [0.50, 0.90]",
    ]  # fmt: skip
    assert page.row(RECORDINGS, "Multifocal ERG ring 1, z-score, baseline")[0] == "6"
    assert len(page.tables[RECORDINGS]) == 3


def test_a_study_without_fields_and_recordings_says_so(view: RunView, read_page: ReadPage):
    function = view.tables["function"]
    acuity = function[function["outcome"].str.startswith("acuity")]
    page = read_page(pooled_page(replace(view, tables=view.tables | {"function": acuity})))
    assert "No eye in the pool has a central field or a microperimetry" in page.text
    assert "No eye in the pool has a recording" in page.text
    assert page.tables.keys().isdisjoint({FIELDS, RECORDINGS})


def test_masked_rows_of_an_analysis_are_named_as_masked(view: RunView, read_page: ReadPage):
    function = view.tables["function"].copy()
    hidden = function["analysis"] == "without_light_perception"
    function.loc[hidden, ["eyes", "events", "estimate", "ci_low", "ci_high"]] = None
    function.loc[hidden, "masked"] = True
    page = read_page(pooled_page(replace(view, tables=view.tables | {"function": function})))
    row = page.row(SENSITIVITY, "Without light perception and worse")
    assert row == ["–", *["masked"] * 6]


def test_the_workbook_tells_every_analysis_in_words(view: RunView, tmp_path):
    write_tables(view.tables, tmp_path)
    about = openpyxl.load_workbook(tmp_path / "pooled_tables.xlsx").worksheets[0]
    told = dict(row[:2] for row in about.iter_rows(values_only=True))
    for analysis in set(view.tables["function"]["analysis"]):
        assert told[analysis] == ANALYSES[analysis].meaning
    header = next(
        openpyxl.load_workbook(tmp_path / "pooled_tables.xlsx")["function"].iter_rows(
            max_row=1, values_only=True
        )
    )
    assert "analysis" in header
