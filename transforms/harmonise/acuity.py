"""Visual acuity to logMAR.

    logMAR = -log10(V), V the decimal acuity or Snellen quotient   (DICOM PS3.17, RR.2.2)
    logMAR = 1.7 - 0.02 L, L letters on the scale where 20/20 is 85
        (inverse of L = 85 - 50 logMAR, Retina 2010, "Novel method for analyzing Snellen visual
        acuity measurements"; the inverse from memory)

Acuities off the chart are words; their values come from the study's named set and are imputed.
A suffix such as 20/40-2 has no defined value on Snellen charts (DICOM PS3.17, RR.2.3): the line
counts.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Callable

import pandas as pd

from schemas.vocabulary import vocabulary
from transforms.harmonise.context import PROBLEM, Context
from transforms.harmonise.numerals import plain_text, to_number

_FRACTION = re.compile(r"(\d+(?:[.,]\d+)?) ?/ ?(\d+(?:[.,]\d+)?) ?(?:\(?[+-] ?\d\)?)?")
_DISTANCE = re.compile(r"[\s@]*\(?\b(at |a |à |in )?\d+([.,]\d+)? ?(m|cm|ft|feet|')?\)?$")
BEST_DECIMAL = 2.5
LETTER_SCALE = (0.0, 100.0)

UNREADABLE = "acuity_unreadable"
OTHER_NOTATION = "acuity_notation_differs"
BECAME_DATE = "acuity_became_date"


def read_acuity(values: pd.Series, context: Context) -> pd.DataFrame:
    """logMAR of distinct acuity cells in the notation that the crosswalk declares.

    Returns, labelled as `values`: acuity_logmar, acuity_notation, acuity_off_chart,
    acuity_imputed, and `problem`, the rule that a cell breaks.
    """
    rows = [_read_one(value, context) for value in values]
    return pd.DataFrame(rows, index=values.index, columns=[*_COLUMNS, PROBLEM])


_COLUMNS = ("acuity_logmar", "acuity_notation", "acuity_off_chart", "acuity_imputed")
_Row = tuple[float | None, str | None, str | None, bool | None, str | None]


def _read_one(value: object, context: Context) -> _Row:
    notation = context.source.notation
    assert notation is not None
    if isinstance(value, dt.date | dt.time):
        return _refused(BECAME_DATE)
    text = plain_text(str(value))
    if (off_chart := _off_chart_code(text, context.language)) is not None:
        return context.off_chart[off_chart], notation, off_chart, True, None
    number = (
        float(value)
        if isinstance(value, int | float) and not isinstance(value, bool)
        else to_number(text, context.decimal)
    )
    fraction = _FRACTION.fullmatch(text)
    if number is None and fraction is None:
        return _refused(UNREADABLE)
    logmar = _NOTATIONS[notation](number, _quotient(fraction))
    if logmar is None:
        return _refused(OTHER_NOTATION)
    return logmar, notation, None, False, None


def _refused(rule: str) -> _Row:
    return None, None, None, None, rule


def _off_chart_code(text: str, language: str) -> str | None:
    words = vocabulary("off_chart")
    return words.code(text, language) or words.code(_DISTANCE.sub("", text), language)


_Fraction = tuple[float, float] | None


def _quotient(match: re.Match[str] | None) -> _Fraction:
    if match is None:
        return None
    top, bottom = (float(part.replace(",", ".")) for part in match.groups())
    return (top, bottom) if top > 0 and bottom > 0 else None


def _from_snellen(number: float | None, fraction: _Fraction) -> float | None:
    return math.log10(fraction[1] / fraction[0]) if fraction else None


def _from_decimal(number: float | None, fraction: _Fraction) -> float | None:
    """Decimals, tenths (5/10) and unit fractions (1/20), which all are the plain quotient."""
    if fraction and (fraction[1] == 10 or fraction[0] == 1):
        number = fraction[0] / fraction[1]
    if number is None or not 0 < number <= BEST_DECIMAL:
        return None
    return -math.log10(number)


def _from_logmar(number: float | None, fraction: _Fraction) -> float | None:
    return number


def _from_letters(number: float | None, fraction: _Fraction) -> float | None:
    if number is None or not LETTER_SCALE[0] <= number <= LETTER_SCALE[1]:
        return None
    return 1.7 - 0.02 * number


_NOTATIONS: dict[str, Callable[[float | None, _Fraction], float | None]] = {
    "snellen_feet": _from_snellen,
    "snellen_metres": _from_snellen,
    "decimal": _from_decimal,
    "logmar": _from_logmar,
    "letters": _from_letters,
}
