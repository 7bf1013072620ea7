"""How acuities are written: the cell's text or number beside what it means."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping
from dataclasses import dataclass, field

from sample_inputs.generator.records import Cell, Written
from sample_inputs.generator.writing import with_comma

# logMAR of the set `measured_2009`, which study.toml names.
FINGERS, HAND, LIGHT = "counting_fingers", "hand_motion", "light_perception"
OFF_CHART = {FINGERS: 1.98, HAND: 2.28, LIGHT: 2.7}
# A finger at 60 m is as large as a letter of 20/20.
FINGER_M = 60.0
# A letter of a chart with five letters a line.
LETTER = 0.02

FEET = (20, 25, 30, 40, 50, 60, 70, 80, 100, 125, 150, 200, 250, 300, 400, 500, 600, 800)
METRES = ("6/6", "6/7.5", "6/9", "6/12", "6/15", "6/18", "6/24", "6/30", "6/36", "6/48", "6/60",
          "5/60", "4/60", "3/60", "2/60")  # fmt: skip
DECIMALS = (1.0, 0.8, 0.63, 0.5, 0.4, 0.32, 0.25, 0.2, 0.16, 0.125, 0.1, 0.08, 0.05, 0.04, 0.03,
            0.02)  # fmt: skip
TENTHS = ("10/10", "8/10", "6/10", "5/10", "4/10", "3/10", "2.5/10", "2/10", "1.6/10", "1/10",
          "1/12", "1/16", "1/20", "1/30", "1/50")  # fmt: skip


@dataclass(frozen=True)
class Chart:
    """How a centre writes acuities.

    `partial` gives the marks behind a line, most often none, each with the letters read beyond the
    line, negative for those missed on it, None where the mark gives no number. They count where
    the crosswalk names the `letters_a_line` of the chart. `fingers_at` gives the distances at which
    fingers are counted, as written and in metres. Where no crosswalk names the notation, words
    have none: it is told from lines alone.
    """

    notation: str
    partial: tuple[tuple[str, int | None], ...] = (("", 0),)
    letters_a_line: int | None = None
    fingers_at: Mapping[str, float] = field(default_factory=dict)
    correction: str | None = None
    is_named: bool = True


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


def acuity(
    logmar: float, chart: Chart, off_chart_words: Mapping[str, str], rng: random.Random
) -> Cell:
    """The nearest line of the centre's chart, or its word for what no chart measures."""
    mark, letters = rng.choice(chart.partial)
    code = HAND if logmar > 2.12 else FINGERS if logmar > 1.8 else None
    if code is not None and not chart.fingers_at:
        return off_chart(code, chart, off_chart_words)
    if chart.notation == "logmar":
        rounded = round(logmar * 50) / 50
        return acuity_cell(rounded, chart, rounded)
    if chart.notation.startswith("letters"):
        return letter_score(max(round(85 - 50 * logmar), 2), chart)
    lines, fingers = chart_lines(chart.notation), _fingers(chart)
    nearest = min(lines | fingers, key=lambda text: abs((lines | fingers)[text] - logmar))
    if nearest in lines:
        return _partial(nearest, mark, letters, chart)
    written = f"{off_chart_words[FINGERS]} {nearest}"
    return _word(written, FINGERS, chart, fingers[nearest], chart.fingers_at[nearest])


def off_chart(code: str, chart: Chart, words: Mapping[str, str]) -> Cell:
    """The centre's word for what no chart measures, without a distance."""
    return _word(words[code], code, chart, OFF_CHART[code])


def _fingers(chart: Chart) -> dict[str, float]:
    """logMAR of fingers counted at each distance at which the centre shows them."""
    return {
        text: min(max(math.log10(FINGER_M / metres), 1.0), OFF_CHART[HAND])
        for text, metres in chart.fingers_at.items()
    }


def pinhole(logmar: float, chart: Chart) -> Cell:
    """The nearest line as it stands in a column of acuities through a pinhole."""
    lines = chart_lines(chart.notation)
    line = min(lines, key=lambda text: abs(lines[text] - logmar))
    return Cell(line, {"acuity_pinhole_logmar": lines[line]})


def acuity_cell(
    written: Written, chart: Chart, logmar: float, means: Mapping[str, object] | None = None
) -> Cell:
    """An acuity on the chart as written, `means` aside."""
    return Cell(written, {
        "acuity_logmar": logmar,
        "acuity_line_logmar": logmar,
        "acuity_partial": None,
        "acuity_partial_letters": None,
        "acuity_distance_m": None,
        "acuity_correction": chart.correction,
        "acuity_notation": "decimal" if chart.notation == "tenths" else chart.notation,
        "acuity_off_chart": None,
        "acuity_imputed": False,
        **(means or {}),
    })  # fmt: skip


def _partial(line: str, mark: str, letters: int | None, chart: Chart) -> Cell:
    """A line with the mark of letters missed on it, or read on the next."""
    logmar = chart_lines(chart.notation)[line]
    if not mark:
        return acuity_cell(line, chart, logmar)
    is_beyond = letters is not None and letters > 0
    counts = chart.letters_a_line == 5 and letters is not None
    return acuity_cell(line + mark, chart, logmar, {
        "acuity_logmar": logmar - LETTER * letters if counts and letters else logmar,
        "acuity_line_logmar": logmar,
        "acuity_partial": "beyond_line" if is_beyond else "short_of_line",
        "acuity_partial_letters": letters,
    })  # fmt: skip


def _word(
    written: str, code: str, chart: Chart, logmar: float, distance_m: float | None = None
) -> Cell:
    """A word for what no chart measures."""
    return acuity_cell(written, chart, logmar, {
        "acuity_line_logmar": None,
        "acuity_distance_m": distance_m,
        "acuity_off_chart": code,
        "acuity_imputed": True,
        **({} if chart.is_named else {"acuity_notation": None}),
    })  # fmt: skip


def letter_score(score: int, chart: Chart) -> Cell:
    """A letter score on the scale where 20/20 is 85, or as it is read: letters at 4 m, and where
    they are under 20 those at 1 m behind a plus."""
    logmar = 1.7 - LETTER * score
    if chart.notation == "letters":
        return acuity_cell(score, chart, logmar)
    at_4m = max(score - 30, 0)
    return acuity_cell(at_4m if at_4m >= 20 else f"{at_4m}+{score - at_4m}", chart, logmar)
