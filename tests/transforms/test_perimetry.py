"""Static fields: one sign for the mean deviation; which fields are reliable."""

import datetime as dt

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from reading_context import cells, context
from upload_sheets import OPERATIONS, codes_of, crosswalk, laid_out, sheet, table, taken_in, told

from schemas.conventions import OFF_CHART_SETS
from transforms.harmonise.perimetry import read_deviation, settle_reliability
from transforms.harmonise.quantities import read_number
from transforms.harmonise.read_cells import read_cells
from transforms.intake import coded
from transforms.records import CellsOfRecords

OPERATED = dt.datetime(2025, 3, 1)

# The sign of the mean deviation


def deviations(*values, **source):
    return read_deviation(cells(*values), context("visit", "perimetry_md", **source))


@pytest.mark.parametrize(
    ("values", "loss", "expected", "rule"),
    [
        ((-12.5, "\u22124.0", 0.0), None, [-12.5, -4.0, 0.0], "as_typed"),
        ((-12.5, "-4.0 dB", 0.0), "negative", [-12.5, -4.0, 0.0], "as_typed"),
        ((12.5, "4.0", -0.5, 0.0), "positive", [-12.5, -4.0, 0.5, 0.0], "loss_sign_turned"),
    ],
)
def test_loss_is_negative_whichever_way_the_perimeter_counts_it(values, loss, expected, rule):
    read = deviations(*values, **({"loss": loss} if loss else {}))
    assert read["perimetry_md_db"].to_list() == expected
    assert set(read["rule"]) == {rule}
    assert read["problem"].isna().all()


def test_no_loss_at_all_has_no_sign():
    assert str(deviations(0.0, loss="positive")["perimetry_md_db"].item()) == "0.0"


@given(st.lists(st.floats(-30, 30), min_size=1, max_size=8))
def test_turning_the_sign_twice_is_as_before(values):
    turned = deviations(*values, loss="positive")["perimetry_md_db"]
    assert deviations(*turned, loss="positive")["perimetry_md_db"].to_list() == values


MOSTLY_ABOVE = (12.5, 8.0, 4.5, 2.5, -1.0)


@pytest.mark.parametrize(
    "values",
    [
        MOSTLY_ABOVE,
        (*MOSTLY_ABOVE, -2.0),
        ("12,5", 8.0, 4.5, 2.5, -1.0),
    ],
)
def test_of_a_column_mostly_above_healthy_none_is_used_where_no_sign_is_named(values):
    read = deviations(*values)
    assert read["perimetry_md_db"].isna().all()
    assert set(read["problem"]) == {"loss_sign_unclear"}


@pytest.mark.parametrize(
    ("values", "loss"),
    [
        (MOSTLY_ABOVE, "negative"),
        (MOSTLY_ABOVE[:4], None),  # too few to tell
        ((*MOSTLY_ABOVE[:4], "8.0"), None),  # typed as text it is no fifth number
        ((12.5, 8.0, 2.0, 1.5, -1.0, -3.0), None),  # two of six
        ((12.5, 8.0, 4.5, 2.0, -1.0, -3.0), None),  # three of six: no more than half
        ((2.0, 1.5, 1.0, 0.5, 0.2), None),  # as healthy eyes may have
    ],
)
def test_other_columns_are_used_as_they_stand(values, loss):
    read = deviations(*values, **({"loss": loss} if loss else {}))
    assert read["perimetry_md_db"].to_list() == [float(value) for value in values]


def test_a_cell_without_a_number_keeps_its_own_finding():
    read = deviations(*MOSTLY_ABOVE, "poor", "~5")
    assert read["problem"].to_list() == [
        *["loss_sign_unclear"] * 5, "number_unreadable", "value_estimate",
    ]  # fmt: skip


def test_it_is_told_once_at_the_heading():
    rows = [[f"A-{n}", "OD", OPERATED, number] for n, number in enumerate(MOSTLY_ABOVE)]
    intake = taken_in(
        sheet(["No", "Eye", "Op", "MD"], *rows),
        table("operation", OPERATIONS, visits=[{"at": "m3", "perimetry_md": "MD"}]),
    )
    tables = coded(intake, codes_of(intake)).tables
    assert tables["visits"]["perimetry_md_db"].isna().all()
    assert told(tables["findings"]) == [("loss_sign_unclear", "D1")]
    assert "'MD'" in tables["findings"]["message"].item()


# Reliability

SHARES = {
    "perimetry_reliable": "Reliable",
    "perimetry_fixation_loss": "FL",
    "perimetry_false_positive": "FP",
    "perimetry_false_negative": "FN",
}


def settled(*fields):
    """Reliability, findings and readings of fields, each given as cells of the mapped columns."""
    mapped = {name: heading for name, heading in SHARES.items() if name in fields[0]}
    rows = [["A-1", "OD", OPERATED, *(field[name] for name in mapped)] for field in fields]
    layout = laid_out(
        sheet(["No", "Eye", "Op", *mapped.values()], *rows),
        table("operation", OPERATIONS, visits=[{"at": "m3", **mapped}]),
    )
    readings, _ = read_cells(
        layout.records, crosswalk(table("operation", OPERATIONS)), OFF_CHART_SETS["measured_2009"]
    )
    visits = readings["visit"].values.copy()
    findings = settle_reliability(visits, readings["visit"], CellsOfRecords(layout.records))
    return visits, findings, readings["visit"]


def field(word=None, fixation=None, positive=None, negative=None):
    return dict(zip(SHARES, (word, fixation, positive, negative), strict=True))


@pytest.mark.parametrize(
    ("cells_of_field", "reliable", "finding"),
    [
        (field("yes", 5, 3, 10), True, []),
        (field("yes", 5, 15, 32.9), True, []),
        (field("no", 5, 15.1, 10), False, []),
        (field("no", 5, 3, 33), False, []),
        (field("no", 60, 3, 10), True, [("reliability_differs", "D2")]),
        (field("yes", 60, 3, 10), True, []),
        (field("yes", 5, 20, 10), False, [("reliability_differs", "D2")]),
        (field("yes", 5, None, 40), False, [("reliability_differs", "D2")]),
        (field("yes", 5, 20, None), False, [("reliability_differs", "D2")]),
        (field(None, 60, 3, 10), True, []),
        (field(None, 5, 40, 10), False, []),
        (field("no", 60, None, None), False, []),
        (field("yes", 60, None, None), True, []),
        (field(None, 60, None, None), None, []),
    ],
    ids=str,
)
def test_false_answers_decide_and_fixation_losses_do_not(cells_of_field, reliable, finding):
    visits, findings, _ = settled(cells_of_field)
    found = visits["perimetry_reliable"].item() if "perimetry_reliable" in visits else None
    assert (None if pd.isna(found) else found) == reliable
    assert told(findings) == finding
    assert visits["perimetry_fixation_loss_pct"].item() == cells_of_field["perimetry_fixation_loss"]


def test_each_field_is_judged_by_itself():
    visits, findings, readings = settled(
        field("yes", 5, 20, 10), field("no"), field("yes", 5, 3, 5)
    )
    assert visits["perimetry_reliable"].to_list() == [False, False, True]
    assert told(findings) == [("reliability_differs", "D2")]
    assert readings.read_from["perimetry_reliable"].isna().to_list() == [True, False, True]
    assert readings.rules["perimetry_reliable"].isna().to_list() == [True, False, True]


def test_the_centres_word_need_not_be_in_the_sheet():
    positive = {"perimetry_false_positive": 20.0}
    visits, findings, _ = settled(positive, {"perimetry_false_positive": 2.0})
    assert visits["perimetry_reliable"].to_list() == [False, True]
    assert findings.empty


def test_shares_may_be_written_as_fractions():
    read = read_number(cells(0.2), context("visit", "perimetry_false_positive", unit="fraction"))
    assert read["perimetry_false_positive_pct"].item() == pytest.approx(20)
