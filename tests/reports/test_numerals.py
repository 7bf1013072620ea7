"""How numbers are written."""

from __future__ import annotations

import math

import pandas as pd
import pytest

from reports import numerals


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (1.305, 2, "1.30"),  # the nearest double lies below 1.305
        (-0.36, 1, "−0.4"),
        (-0.001, 2, "0.00"),
        (None, 2, "–"),
        (math.nan, 2, "–"),
        (pd.NA, 2, "–"),
    ],
)
def test_decimal(value: float | None, digits: int, text: str):
    assert numerals.decimal(value, digits) == text


@pytest.mark.parametrize(
    ("value", "text"), [(1.26, "+1.3"), (-1.26, "−1.3"), (0.01, "0.0"), (-0.01, "0.0"), (None, "–")]
)
def test_signed(value: float | None, text: str):
    assert numerals.signed(value, 1) == text


@pytest.mark.parametrize(
    ("low", "high", "text"),
    [(0.7123, 0.88, "71.2 to 88.0"), (None, 0.88, "–"), (0, 1, "0.0 to 100.0")],
)
def test_percent_interval(low: float | None, high: float | None, text: str):
    assert numerals.percent_interval(low, high) == text


@pytest.mark.parametrize(
    ("number", "text"), [(1, "1 finding"), (0, "0 findings"), (1234, "1,234 findings")]
)
def test_plural(number: int, text: str):
    assert numerals.plural(number, "finding") == text


@pytest.mark.parametrize(("value", "text"), [(1600.0, "1600"), (0.25, "0.25"), (-90, "−90")])
def test_plain(value: float, text: str):
    assert numerals.plain(value) == text
