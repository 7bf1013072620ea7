"""Pooled fields: within the class of devices, never silently across; worked out by hand."""

import math

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pooled_eyes import at_baseline_and_m3, index_eyes, row, visit, visits_of
from upload_sheets import STUDY

from schemas.pooled_tables import outcome_meaning
from transforms.pooling import pooled_tables
from transforms.pooling.perimetry_table import NOT_ESTIMATED


def field(mean, brightest, **facts):
    """A central field: its mean sensitivity, and the luminance at 0 dB of its device, in asb."""
    shift = math.nan if brightest is None else 10 * math.log10(10000 / brightest)
    return {
        "perimetry_mean_db": mean, "perimeter_max_asb": brightest,
        "perimetry_mean_at_10000_asb_db": None if brightest is None else mean + shift,
    } | facts  # fmt: skip


def function(*eyes):
    return pooled_tables(index_eyes(len(eyes)), at_baseline_and_m3(*eyes), STUDY, 0)["function"]


def decibels(table):
    return table[table["outcome"].str.endswith("_db")]


EYES = (
    (field(20, 10000), field(24, 10000)),
    (field(22, 10000), field(20, 10000)),
    (field(10, 400), field(13, 400)),
    (field(10.5, 400), field(25, 10000)),
    (field(15, None), field(18, None)),
    (field(16, 10000), field(19, None)),
    (field(12, None), field(17, 10000)),
)


@pytest.mark.parametrize(
    ("outcome", "visit", "device", "eyes", "mean"),
    [
        ("perimetry_mean_db", "baseline", "10000 asb", 3, (20 + 22 + 16) / 3),
        ("perimetry_mean_db", "baseline", "400 asb", 2, 10.25),
        ("perimetry_mean_db", "m3", "10000 asb", 4, (24 + 20 + 25 + 17) / 4),
        ("perimetry_mean_db", "m3", "400 asb", 1, 13),
        # +4 and -2; the eye that changed devices has no change
        ("perimetry_mean_change_db", "m3", "10000 asb", 2, 1),
        ("perimetry_mean_change_db", "m3", "400 asb", 1, 3),
    ],
)
def test_decibels_are_pooled_within_a_class_of_devices(outcome, visit, device, eyes, mean):
    found = row(function(*EYES), outcome, "mean", "device", device, visit)
    assert (found["eyes"], found["estimate"]) == (eyes, pytest.approx(mean))


@pytest.mark.parametrize(
    ("outcome", "visit", "eyes"),
    [
        ("perimetry_mean_db", "baseline", 2),
        ("perimetry_mean_db", "m3", 2),
        ("perimetry_mean_change_db", "m3", 3),
    ],
)
def test_eyes_whose_device_is_not_known_are_counted_and_no_mean_is_made_of_them(
    outcome, visit, eyes
):
    table = function(*EYES)
    found = row(table, outcome, "mean", "device", "unknown", visit)
    assert (found["eyes"], found["method"]) == (eyes, NOT_ESTIMATED)
    unknown = table[table["level"] == "unknown"]
    assert unknown[["estimate", "ci_low", "ci_high"]].isna().all(axis=None)


def test_no_row_of_the_main_analysis_spans_classes_of_devices():
    rows = decibels(function(*EYES))
    assert set(rows.loc[rows["analysis"] == "main", "group"]) == {"device"}
    assert set(rows.loc[rows["group"] != "device", "analysis"]) == {"by_luminance"}


@pytest.mark.parametrize(
    ("outcome", "visit", "eyes", "mean"),
    [
        # 400 asb is 10 log10(25) = 13.9794 dB short of 10000 asb
        ("perimetry_mean_at_10000_asb_db", "baseline", 5,
         (20 + 22 + 10 + 10.5 + 16 + 2 * 13.9794) / 5),
        ("perimetry_mean_at_10000_asb_db", "m3", 5, (24 + 20 + 13 + 25 + 17 + 13.9794) / 5),
        ("perimetry_mean_change_db", "m3", 3, (4 - 2 + 3) / 3),
    ],
)  # fmt: skip
def test_over_all_classes_there_are_rows_that_say_so(outcome, visit, eyes, mean):
    found = row(function(*EYES), outcome, "mean", visit=visit, analysis="by_luminance")
    assert (found["eyes"], found["estimate"]) == (eyes, pytest.approx(mean, abs=1e-4))


@given(st.integers(-8, 8))
@settings(max_examples=10, deadline=None)
def test_a_device_that_counts_from_elsewhere_changes_its_own_levels_and_nothing_else(shift):
    def moved(one):
        is_of_class = one["perimeter_max_asb"] == 400
        return one | {"perimetry_mean_db": one["perimetry_mean_db"] + shift * is_of_class}

    def others(table):
        is_level = (table["outcome"] == "perimetry_mean_db") & (table["level"] == "400 asb")
        numbers = decibels(table[~is_level])
        return numbers.reset_index(drop=True)

    shifted = function(*[tuple(map(moved, eye)) for eye in EYES])
    pd.testing.assert_frame_equal(others(shifted), others(function(*EYES)), rtol=1e-12)


@pytest.mark.parametrize(
    ("later", "levels", "changes"),
    [
        (field(24, 10000), 1, 1),
        (field(24, 10000, perimetry_reliable=True), 1, 1),
        (field(24, 10000, perimetry_reliable=False), 0, 0),
        # Fixation losses alone exclude no field.
        (field(24, 10000, perimetry_fixation_loss_pct=90.0), 1, 1),
        (field(24, 10000, under_tamponade=True), 0, 0),
        (field(24, 10000, perimetry_points=68), 1, 1),
        (field(24, 10000, perimetry_points=54), 1, 0),
        (field(24, 4000, perimetry_points=68), 1, 0),
    ],
)
def test_fields_that_count_and_pairs_that_are_a_change(later, levels, changes):
    table = function((field(20, 10000, perimetry_points=68), later))
    at_m3 = table[(table["visit"] == "m3") & (table["statistic"] == "mean")]
    for outcome, eyes in (("perimetry_mean_db", levels), ("perimetry_mean_change_db", changes)):
        rows = at_m3[(at_m3["outcome"] == outcome) & (at_m3["analysis"] == "main")]
        assert rows["eyes"].to_list() == [1] * eyes


def test_the_reliable_field_counts_where_a_nearer_one_is_not():
    rows = visits_of(
        visit("e1", "m3", None, day=90, **field(30, 10000, perimetry_reliable=False)),
        visit("e1", "m3", None, day=120, **field(21, 10000)),
        visit("e1", "m3", None, day=60, **field(19, 10000)),
    )
    table = pooled_tables(index_eyes(1), rows, STUDY, 0)["function"]
    # Day 60 and day 120 are as near to day 90: the earlier counts.
    found = row(table, "perimetry_mean_db", "mean", "device", "10000 asb")
    assert found["estimate"] == 19


@pytest.mark.parametrize(
    ("outcome", "change", "brightest"),
    [
        ("perimetry_mean_db", "perimetry_mean_change_db", "perimeter_max_asb"),
        ("perimetry_md_db", "perimetry_md_change_db", "perimeter_max_asb"),
        ("microperimetry_mean_db", "microperimetry_mean_change_db", "microperimeter_max_asb"),
    ],
)
def test_each_measure_has_its_own_device(outcome, change, brightest):
    before = {outcome: 7.0, "perimeter_max_asb": 4000.0, "microperimeter_max_asb": 4000.0}
    before |= {brightest: 1000.0}
    table = function((before, before | {outcome: 9.5}))
    found = [row(table, name, "mean", "device", "1000 asb") for name in (outcome, change)]
    assert [one["estimate"] for one in found] == [9.5, 2.5]
    assert outcome_meaning(outcome)
    assert "positive is better" in outcome_meaning(change)


def test_the_mean_deviation_has_no_row_over_all_classes():
    deviation = {"perimetry_md_db": -8.0, "perimeter_max_asb": 4000.0}
    table = function((deviation, deviation | {"perimetry_md_db": -5.0}))
    assert set(decibels(table)["group"]) == {"device"}


def test_classes_stand_in_the_order_of_their_luminance_and_the_unknown_last():
    later = (field(5, 400), field(5, None), field(5, 10000), field(5, 1000), field(5, 439))
    table = function(*[(one, {}) for one in later])
    levels = table.loc[table["group"] == "device", "level"].unique()
    assert list(levels) == ["400 asb", "439 asb", "1000 asb", "10000 asb", "unknown"]


def test_a_study_without_fields_has_no_row_of_them():
    assert decibels(function(({}, {}))).empty
