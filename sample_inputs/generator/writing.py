"""How values are written: each function gives the cell's text or number beside what it means."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from datetime import date

from sample_inputs.generator.records import Cell, Written

# 1 disc diameter is 1500 micrometres by convention.
DISC_UM = 1500
# logMAR of the set `measured_2009`, which study.toml names.
OFF_CHART = {"counting_fingers": 1.98, "hand_motion": 2.28}

FEET = (20, 25, 30, 40, 50, 60, 70, 80, 100, 125, 150, 200, 250, 300, 400, 500, 600, 800)
METRES = ("6/6", "6/7.5", "6/9", "6/12", "6/15", "6/18", "6/24", "6/30", "6/36", "6/48", "6/60",
          "5/60", "4/60", "3/60", "2/60")  # fmt: skip
DECIMALS = (1.0, 0.8, 0.63, 0.5, 0.4, 0.32, 0.25, 0.2, 0.16, 0.125, 0.1, 0.08, 0.05, 0.04, 0.03,
            0.02)  # fmt: skip
TENTHS = ("10/10", "8/10", "6/10", "5/10", "4/10", "3/10", "2.5/10", "2/10", "1.6/10", "1/10",
          "1/12", "1/16", "1/20", "1/30", "1/50")  # fmt: skip


def with_comma(number: float, places: int | None = None) -> str:
    """The number as text with a decimal comma."""
    return (str(number) if places is None else f"{number:.{places}f}").replace(".", ",")


def _of_fraction(text: str) -> float:
    above, below = text.replace(",", ".").split("/")
    return -math.log10(float(above) / float(below))


def chart_lines(notation: str) -> dict[str, float]:
    """The lines of a chart as written, with their logMAR, for notations written as text."""
    if notation == "snellen_feet":
        return {f"20/{feet}": _of_fraction(f"20/{feet}") for feet in FEET}
    if notation == "snellen_metres":
        return {line: _of_fraction(line) for line in METRES}
    if notation == "tenths":
        return {line.replace(".", ","): _of_fraction(line) for line in TENTHS}
    return {with_comma(v): -math.log10(v) for v in DECIMALS}


def _acuity(written: Written, logmar: float, notation: str, off_chart: str | None = None) -> Cell:
    return Cell(written, {
        "acuity_logmar": logmar,
        "acuity_notation": "decimal" if notation == "tenths" else notation,
        "acuity_off_chart": off_chart,
        "acuity_imputed": off_chart is not None,
    })  # fmt: skip


def acuity(
    logmar: float, notation: str, off_chart_words: Mapping[str, str], suffix: str = ""
) -> Cell:
    """The nearest line of the centre's chart, or its word for what no chart measures.

    `suffix` marks letters read beyond the line, which do not count.
    """
    code = "hand_motion" if logmar > 2.12 else "counting_fingers" if logmar > 1.8 else None
    if code is not None and code in off_chart_words:
        return _acuity(off_chart_words[code], OFF_CHART[code], notation, code)
    if notation == "logmar":
        rounded = round(logmar * 50) / 50
        return _acuity(rounded, rounded, notation)
    if notation == "letters":
        letters = max(round(85 - 50 * logmar), 2)
        return _acuity(letters, 1.7 - 0.02 * letters, notation)
    lines = chart_lines(notation)
    line = min(lines, key=lambda text: abs(lines[text] - logmar))
    return _acuity(line + suffix, lines[line], notation)


def as_text(cell: Cell, places: int | None = None) -> Cell:
    """The same number as text with a decimal comma."""
    if not isinstance(cell.written, int | float):
        return cell
    return Cell(with_comma(cell.written, places), cell.means)


def number(column: str, value: float | int | None) -> Cell:
    """A plain number in the codebook's unit."""
    return Cell(value, {column: value})


def length(column: str, micrometres: float | None, unit: str, unit_in_cell: str = "") -> Cell:
    """A length in the unit of the centre, as a number, or as text where the cell names a unit."""
    if micrometres is None:
        return Cell(None, {column: None})
    if unit == "um":
        written: int | float = round(micrometres)
        means = float(written)
    elif unit == "mm":
        written = round(micrometres / 1000, 2)
        means = written * 1000
    else:
        written = round(micrometres / DISC_UM, 2)
        means = written * DISC_UM
    return Cell(f"{written}{unit_in_cell}" if unit_in_cell else written, {column: means})


def nominal(cell: Cell) -> Cell:
    """Marks a minimum diameter in disc diameters, which decides no size class."""
    return Cell(cell.written, {**cell.means, "hole_size_class": None, "hole_size_band": None})


def coded(column: str, code: str | None, words: Mapping[str, Sequence[str]],
          rng: random.Random) -> Cell:  # fmt: skip
    """One of the centre's words for a code."""
    if code is None:
        return Cell(None, {column: None})
    return Cell(rng.choice(list(words[code])), {column: code})


def yes_no(column: str, value: bool | None, words: tuple[str, str]) -> Cell:
    """`words` for yes and no."""
    return Cell(None if value is None else words[0 if value else 1], {column: value})


def dated(on: date | None, style: str) -> Cell:
    """A date: "cell" a date of the spreadsheet, else text in the style `%d.%m.%Y` and the like."""
    if on is None or style == "cell":
        return Cell(on)
    return Cell(on.strftime(style))
