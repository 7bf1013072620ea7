"""Decibels by luminance: published and arithmetic pairs, laws of the shift, classes of devices."""

import math
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from reading_context import cells, context

from schemas.conventions import LUMINANCE_CLASSES
from transforms.harmonise.luminance import (
    REFERENCE_ASB,
    class_luminance,
    known_luminances,
    mean_on_scale,
    on_scale,
)
from transforms.harmonise.quantities import read_number

CHECKED = pd.read_csv(Path(__file__).parents[1] / "reference" / "luminance.csv")
rows = pytest.mark.parametrize(
    "row", CHECKED.to_dict("records"), ids=lambda r: f"{r['asb']:g} to {r['to_asb']:g} asb"
)

decibels = st.lists(st.floats(0, 40), min_size=1, max_size=6)
luminances = st.floats(100, 20_000)


def series(*values):
    return pd.Series(list(values), dtype="float64")


def shifted(db, max_asb, to_asb=REFERENCE_ASB):
    return on_scale(series(*db), series(*[max_asb] * len(db)), to_asb)


@rows
def test_a_value_moves_by_the_shift_between_the_two_devices(row):
    assert shifted([0], row["asb"], row["to_asb"]).item() == pytest.approx(
        row["shift_db"], abs=0.005 + 1e-9
    )


@rows
def test_a_luminance_is_the_same_in_both_units(row):
    context_ = context("visit", "perimeter_max", unit="cd/m2")
    read = read_number(cells(row["cd_m2"]), context_)["perimeter_max_asb"].item()
    assert read == pytest.approx(row["asb"], rel=0.004)


def test_every_luminance_of_a_class_of_devices_is_checked():
    assert {known.max_asb for known in LUMINANCE_CLASSES.values()} <= set(CHECKED["asb"])


@given(decibels, luminances, luminances)
def test_to_another_scale_and_back_is_as_before(db, one, other):
    there = shifted(db, one, other)
    assert shifted(there, other, one).to_list() == pytest.approx(db, abs=1e-9)


@given(decibels, luminances, luminances)
def test_every_value_of_a_device_moves_by_the_same(db, one, other):
    moved = shifted(db, one, other) - series(*db)
    assert moved.to_list() == pytest.approx([10 * math.log10(other / one)] * len(db), abs=1e-9)


@given(st.floats(0, 40), st.floats(0, 40), luminances)
def test_the_better_of_two_values_of_a_device_stays_the_better(one, other, max_asb):
    on_one, on_other = shifted([one, other], max_asb)
    assert (one <= other) <= (on_one <= on_other)


@given(st.floats(0, 40), luminances, luminances)
def test_the_same_decibels_of_a_brighter_device_are_less_sensitivity(db, one, other):
    at_one, at_other = (shifted([db], asb).item() for asb in sorted((one, other)))
    assert at_one >= at_other


@pytest.mark.parametrize(
    ("db", "max_asb"), [(None, 1000), (12, None), (12, 0), (12, -1), (None, None)]
)
def test_without_a_value_or_a_luminance_there_is_none_on_another_scale(db, max_asb):
    assert shifted([db], max_asb).isna().item()


@pytest.mark.parametrize(
    ("mean", "max_asb", "on_10000"),
    [(12, 1000, 22), (12, 10_000, 12), (0.1, 400, 14.08), (0, 400, None), (0, 10_000, None)],
)
def test_a_mean_of_0_is_a_bound_that_no_shift_makes_a_sensitivity(mean, max_asb, on_10000):
    found = mean_on_scale(series(mean), series(max_asb)).item()
    assert math.isnan(found) if on_10000 is None else found == pytest.approx(on_10000, abs=0.005)


@pytest.mark.parametrize(
    ("cell", "source", "asb"),
    [
        (1000.0, {}, 1000),
        ("10000 asb", {}, 10_000),
        ("318 cd/m²", {}, 999.03),
        (3183.0, {"unit": "cd/m2"}, 9999.69),
    ],
)
def test_the_brightest_target_is_given_in_either_unit(cell, source, asb):
    read = read_number(cells(cell), context("visit", "perimeter_max", **source)).iloc[0]
    assert read["perimeter_max_asb"] == pytest.approx(asb, abs=0.005)


@pytest.mark.parametrize(
    ("asb", "device", "luminance"),
    [
        (10_000, "bowl", 10_000),
        (10_000, "microperimeter", 10_000),
        (9_999.69, "bowl", 10_000),  # 3183 cd/m2
        (999.03, "microperimeter", 1_000),  # 318 cd/m2
        (439.82, "microperimeter", 439),  # 140 cd/m2
        (439, "bowl", None),
        (3183, "bowl", None),
        (1_020, "bowl", None),
        (None, "bowl", None),
    ],
)
def test_a_device_is_of_the_class_with_its_luminance(asb, device, luminance):
    found = class_luminance(series(asb), device)
    assert found.to_list() == [luminance] if luminance else found.isna().all()


def test_each_class_of_devices_has_its_luminance():
    for known in LUMINANCE_CLASSES.values():
        assert known.max_asb in known_luminances(known.device)
        assert class_luminance(series(known.max_asb), known.device).item() == known.max_asb
