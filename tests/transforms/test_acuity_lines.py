"""Lines of charts: real ones are never asked about, slips of the keys are."""

import numpy as np
import pytest
from acuity_cells import read

from transforms.harmonise.acuity.lines import is_line

# Denominators by numerator.
ON_CHARTS = {
    20: [10, 12.5, 13, 15, 16, 20, 25, 30, 32, 35, 40, 50, 60, 63, 64, 70, 80, 100, 120, 125, 150,
         160, 200, 250, 300, 320, 400, 500, 600, 630, 640, 800, 1000, 1250, 1600, 2000],
    6: [3, 3.8, 4, 4.5, 4.8, 5, 6, 7.5, 9, 9.5, 12, 15, 18, 19, 24, 30, 36, 38, 48, 60, 75, 95, 120,
        240, 1200],
    5: [4, 5, 6, 7.5, 10, 12.5, 15, 20, 25, 30, 35, 40, 50, 60, 70, 100, 200, 400],
    4: [4, 5, 6, 8, 10, 12, 12.5, 12.6, 16, 20, 25, 32, 40, 50, 60, 63, 80, 100, 160, 200],
    3: [9, 18, 24, 36, 50, 60, 200],
    2: [36, 40, 50, 60, 200],
    1: [1, 2, 15, 20, 24, 30, 35, 36, 40, 50, 60, 200],
    0.5: [10, 60],
    8: [200], 10: [200, 400],
}  # fmt: skip
# Decimal lines in tenths, and turned into feet or metres as people round.
DECIMAL = {
    **{tenths: [10] for tenths in (1, 1.5, 2, 2.5, 3, 4, 5, 6, 6.3, 7, 8, 9, 10, 12, 15, 16)},
    20: [17, 22, 28, 28.6, 29, 33, 33.3, 66.7, 67],
    6: [6.7, 8.6, 20],
}
ON_NONE = {
    20: [41, 42, 43, 61, 92, 201, 390, 402], 6: [11, 61, 92], 5: [11, 61], 4: [61], 5.5: [10],
}  # fmt: skip


def known(fractions):
    top, bottom = np.array(
        [(top, bottom) for top, bottoms in fractions.items() for bottom in bottoms], dtype=float
    ).T
    return dict(zip(zip(top, bottom, strict=True), is_line(top, bottom), strict=True))


@pytest.mark.parametrize("fractions", [ON_CHARTS, DECIMAL])
def test_lines_of_charts_are_known(fractions):
    assert [fraction for fraction, is_known in known(fractions).items() if not is_known] == []


def test_fractions_that_no_chart_has_are_not():
    assert [fraction for fraction, is_known in known(ON_NONE).items() if is_known] == []


@pytest.mark.parametrize("notation", ["snellen_feet", "snellen_metres"])
def test_an_unknown_line_is_used_and_asked_about(notation):
    found = read("6/92", notation)
    assert found["acuity_logmar"] == pytest.approx(1.1856, abs=1e-4)
    assert found["problem"] == "acuity_line_unknown"


def test_a_column_filled_downwards_is_asked_about():
    filled = [read(f"20/{size}", "snellen_feet")["problem"] for size in (40, 41, 42, 43)]
    assert filled == [None, *["acuity_line_unknown"] * 3]
