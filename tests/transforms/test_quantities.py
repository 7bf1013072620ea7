"""Numbers with units: what is read, and what is refused rather than guessed."""

import datetime as dt

import pandas as pd
import pytest
from reading_context import cells, context

from transforms.harmonise.quantities import NOMINAL, read_integer, read_number


def read(value, field="hole_min_diameter", unit="um", decimal="point"):
    source = {"unit": unit} if unit else {}
    return read_number(cells(value), context("operation", field, decimal=decimal, **source)).iloc[0]


@pytest.mark.parametrize(
    ("value", "unit", "decimal", "micrometres"),
    [
        (450.0, "um", "point", 450),
        ("450", "um", "point", 450),
        ("450 um", "um", "point", 450),
        ("450µm", "um", "point", 450),
        ("450 μ", "um", "point", 450),
        ("0,45 mm", "um", "comma", 450),
        ("0.45mm", "um", "point", 450),
        (0.45, "mm", "point", 450),
        ("450 micras", "mm", "point", 450),
        (0.5, "dd", "point", 750),
        ("1/3 DD", "um", "point", 500),
        ("４５０", "um", "point", 450),
        ("450\u00a0µm", "um", "point", 450),
    ],
)  # fmt: skip
def test_lengths_become_micrometres(value, unit, decimal, micrometres):
    found = read(value, unit=unit, decimal=decimal)
    assert found["hole_min_diameter_um"] == pytest.approx(micrometres)
    assert pd.isna(found["problem"])


@pytest.mark.parametrize(
    ("value", "unit", "nominal"), [(0.5, "dd", True), ("0.5 DD", "um", True), ("450", "um", False)]
)
def test_disc_diameters_are_nominal(value, unit, nominal):
    assert read(value, unit=unit)["hole_min_diameter_um" + NOMINAL] == nominal


@pytest.mark.parametrize(
    ("value", "rule"),
    [
        ("~450", "value_estimate"),
        ("<50", "value_bound"),
        (">1000", "value_bound"),
        ("400-450", "value_range"),
        ("400 to 450", "value_range"),
        ("ca. 450", "value_estimate"),
        ("500±50", "value_estimate"),
        ("450 mmHg", "unit_unknown"),
        ("large", "number_unreadable"),
        ("1,250", "number_ambiguous"),
        ("1/0 DD", "number_unreadable"),
        (True, "number_unreadable"),
        (dt.date(2026, 1, 2), "number_unreadable"),
    ],
)  # fmt: skip
def test_what_is_no_plain_measurement_is_refused(value, rule):
    found = read(value)
    assert found["problem"] == rule
    assert pd.isna(found["hole_min_diameter_um"])


@pytest.mark.parametrize(
    ("field", "value", "unit", "column", "expected"),
    [
        ("hole_duration", "2 years", None, "hole_duration_months", 24),
        ("hole_duration", 6.0, "month", "hole_duration_months", 6),
        ("tamponade_pct", 0.2, "fraction", "tamponade_pct", 20),
        ("tamponade_pct", "14 %", None, "tamponade_pct", 14),
        ("axial_length", "24.5 mm", None, "axial_length_mm", 24.5),
    ],
)
def test_other_quantities(field, value, unit, column, expected):
    assert read(value, field=field, unit=unit)[column] == pytest.approx(expected)


@pytest.mark.parametrize(
    ("value", "number", "rule"), [(2.0, 2, None), ("3", 3, None), (1.5, None, "number_unreadable")]
)
def test_counts_are_whole(value, number, rule):
    found = read_integer(cells(value), context("operation", "prior_repairs")).iloc[0]
    assert (found["problem"] or None) == rule
    assert found["prior_repairs"] == number if number else pd.isna(found["prior_repairs"])
