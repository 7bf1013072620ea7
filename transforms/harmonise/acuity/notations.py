"""logMAR of acuities in each notation.

    logMAR = -log10(V), V the decimal acuity or Snellen quotient          (DICOM PS3.17, RR.2.2)
    logMAR = 1.7 - 0.02 L, L letters on the scale where 20/20 is 85       (Retina 2010, "Novel
        method for analyzing Snellen visual acuity measurements": L = 85 - 50 logMAR)
    logMAR = 2.0 - 0.02 L on the scale where 20/20 is 100                 (DICOM PS3.17, RR.2.2)
    letters at 4 m: L is 30 more where these are 20 and over, when none is read at 1 m, else letters
        at 4 m and at 1 m (protocols of the early treatment studies, from memory)

The letter scales differ by 15 and are told apart by declaration alone. No letter at all is a bound:
the acuity is worse than the chart can say. On the scale of 100 that is 15, which is 0 on the scale
of 85; a score below it was not counted but worked out from something else.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Numbers = npt.NDArray[np.float64]
Truths = npt.NDArray[np.bool_]

# On charts with five letters a line and lines 0.1 apart.
LETTERS_A_LINE = 5
LETTERS_A_LOGMAR = 10 * LETTERS_A_LINE
LETTER_LOGMAR = 1 / LETTERS_A_LOGMAR
# What numbers can be in a notation that has bounds of its own. 120 of 100 is decimal 2.5.
SCALES: dict[str, tuple[float, float]] = {
    "decimal": (0.0, 2.5),
    "letters": (0.0, 100.0),
    "letters_100": (0.0, 120.0),
    "letters_4m": (0.0, 70.0),
    "letters_1m": (0.0, 30.0),
}
LETTER_SCORES = frozenset(SCALES) - {"decimal"}
NO_LETTER_OF_100 = 15
FEWEST_AT_4_M_ALONE = 20
CREDITED_AT_1_M = 30  # all of its letters


@dataclass(frozen=True)
class Lines:
    """logMAR of acuities in one notation: `fits` where they can be of it, `is_none` where they say
    that nothing was read, `lacks_1_m` where letters at 1 m should have been given."""

    logmar: Numbers
    fits: Truths
    is_none: Truths
    lacks_1_m: Truths | None = None


def _from_snellen(top: Numbers, bottom: Numbers, at_1_m: Numbers) -> Lines:
    return Lines(np.log10(bottom / top), (top > 0) & (bottom > 0), (top == 0) & (bottom > 0))


def _from_decimal(top: Numbers, bottom: Numbers, at_1_m: Numbers) -> Lines:
    """Decimals, tenths (5/10) and unit fractions (1/20), which all are the plain quotient."""
    is_fraction = ((bottom == 10) | (top == 1)) & (bottom > 0)
    value = np.where(np.isnan(bottom), top, np.where(is_fraction, top / bottom, np.nan))
    return Lines(-np.log10(value), (value > 0) & (value <= SCALES["decimal"][1]), value == 0)


def _from_logmar(top: Numbers, bottom: Numbers, at_1_m: Numbers) -> Lines:
    return Lines(top, np.isnan(bottom), np.zeros(len(top), dtype=bool))


def _from_letters(top: Numbers, bottom: Numbers, at_1_m: Numbers) -> Lines:
    fits = _is_counted(top, bottom, "letters")
    return Lines((85 - top) / LETTERS_A_LOGMAR, fits, fits & (top == 0))


def _from_letters_100(top: Numbers, bottom: Numbers, at_1_m: Numbers) -> Lines:
    fits = _is_counted(top, bottom, "letters_100")
    return Lines((100 - top) / LETTERS_A_LOGMAR, fits, fits & (top <= NO_LETTER_OF_100))


def _from_letters_4m(top: Numbers, bottom: Numbers, at_1_m: Numbers) -> Lines:
    has_1_m = ~np.isnan(at_1_m)
    fits = _is_counted(top, bottom, "letters_4m")
    is_alone = top >= FEWEST_AT_4_M_ALONE
    fits &= ~has_1_m | _is_counted(at_1_m, bottom, "letters_1m")
    fits &= ~(is_alone & has_1_m) | (at_1_m == CREDITED_AT_1_M)  # "45+30", as some write it
    by_both = ~is_alone & has_1_m
    logmar = (85 - top - np.where(by_both, at_1_m, CREDITED_AT_1_M)) / LETTERS_A_LOGMAR
    is_none = fits & (top == 0) & ~(at_1_m > 0)
    return Lines(logmar, fits, is_none, fits & ~is_alone & ~has_1_m)


def _from_letters_1m(top: Numbers, bottom: Numbers, at_1_m: Numbers) -> Lines:
    fits = _is_counted(top, bottom, "letters_1m")
    return Lines((85 - top) / LETTERS_A_LOGMAR, fits, fits & (top == 0))


def _is_counted(letters: Numbers, bottom: Numbers, notation: str) -> Truths:
    """Letters are counted: 0.3 in their column is a logMAR."""
    fewest, most = SCALES[notation]
    is_whole: Truths = np.isnan(bottom) & (letters % 1 == 0)
    return is_whole & (letters >= fewest) & (letters <= most)


_NOTATIONS: dict[str, Callable[[Numbers, Numbers, Numbers], Lines]] = {
    "snellen_feet": _from_snellen,
    "snellen_metres": _from_snellen,
    "decimal": _from_decimal,
    "logmar": _from_logmar,
    "letters": _from_letters,
    "letters_100": _from_letters_100,
    "letters_4m": _from_letters_4m,
    "letters_1m": _from_letters_1m,
}


def lines_of(notation: str, top: Numbers, bottom: Numbers, at_1_m: Numbers) -> Lines:
    """logMAR of numbers, or of fractions where `bottom` is no NaN; `at_1_m` are letters at 1 m
    beside those at 4 m. All have one length."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return _NOTATIONS[notation](top, bottom, at_1_m)
