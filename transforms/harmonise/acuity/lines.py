"""The lines that charts of acuity have, and fractions that none of them is."""

from __future__ import annotations

from functools import cache

import numpy as np
import numpy.typing as npt

from schemas.conventions import ACUITY_CHARTS

Numbers = npt.NDArray[np.float64]
Truths = npt.NDArray[np.bool_]

_SAME = 1e-6  # relative; fractions of one line in feet and in metres differ by less
_FRACTIONS_OF = 4  # a plain decimal acuity has no more digits behind its mark


def is_line(top: Numbers, bottom: Numbers) -> Truths:
    """Which fractions are a line of some chart.

    These are a size read from one of its chart's distances (true Snellen: 3/60, 1/50), any other
    fraction of the same acuity as a chart has at its own distance, and a decimal line as a fraction
    rounded as it is typed (0.6 as 20/33).
    """
    read_from = _as_pairs(top, bottom)
    is_read = np.isin(read_from, _as_pairs(*_sizes_at_distances()))
    quotient = bottom / top
    lines = line_quotients()
    nearest = lines[np.clip(np.searchsorted(lines, quotient * (1 - _SAME)), 0, len(lines) - 1)]
    is_same = np.abs(nearest - quotient) <= _SAME * quotient
    return is_read | is_same | _is_rounded(top, bottom)


@cache
def line_quotients() -> Numbers:
    """Denominator by numerator of every line at its chart's own distance, in order."""
    at_own = {size / chart.distances[0] for chart in ACUITY_CHARTS.values() for size in chart.sizes}
    return np.unique([*at_own, *(1 / decimal_lines())])


@cache
def decimal_lines() -> Numbers:
    """Every line that is declared as a decimal acuity, in order."""
    return np.unique([line for chart in ACUITY_CHARTS.values() for line in chart.decimals])


@cache
def _sizes_at_distances() -> tuple[Numbers, Numbers]:
    pairs = [
        (distance, size)
        for chart in ACUITY_CHARTS.values()
        for distance in chart.distances
        for size in chart.sizes
    ]
    distances, sizes = zip(*pairs, strict=True)
    return np.array(distances, dtype="float64"), np.array(sizes, dtype="float64")


def _as_pairs(top: Numbers, bottom: Numbers) -> npt.NDArray[np.complex128]:
    """Fractions as numbers that are equal where both parts are."""
    return top + 1j * bottom


def _is_rounded(top: Numbers, bottom: Numbers) -> Truths:
    """Which are a decimal line in the digits that are typed: 20/33, 6/6.7, 3.3/10."""
    decimals = decimal_lines()
    exact_bottom = top[:, None] / decimals
    exact_top = bottom[:, None] * decimals
    is_bottom = np.abs(bottom[:, None] - exact_bottom) <= _half_of_last_digit(bottom)[:, None]
    is_top = np.abs(top[:, None] - exact_top) <= _half_of_last_digit(top)[:, None]
    is_one: Truths = is_bottom.any(axis=1) | (is_top.any(axis=1) & (top % 1 != 0))
    return is_one


def _half_of_last_digit(numbers: Numbers) -> Numbers:
    digits = np.zeros(len(numbers), dtype=int)
    for _ in range(_FRACTIONS_OF):
        scaled = numbers * 10.0**digits
        digits += np.abs(scaled - scaled.round()) > _SAME
    return 0.5 * 10.0**-digits + _SAME
