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
from transforms.harmonise.inexact import inexact_rule
from transforms.harmonise.numerals import (
    AMBIGUOUS,
    LONGEST_VALUE,
    SOFT_HYPHEN,
    UNSIGNED,
    plain_text,
    read_numeral,
)
from transforms.reading import PerCent

_FRACTION = re.compile(r"([\d.,\u066b]+) ?/ ?([\d.,\u066b]+) ?(?:\(?[+-] ?\^?\d\)?)?")
# A notation that a cell names itself, as "0.3 logMAR"; the group has the notation's code.
_NAMED = re.compile(
    r"(.*\d) ?(?:(?P<logmar>logmar)|(?P<letters>letters?|letras?|lettres?|buchstaben))", re.I
)
# Where fingers or a hand were seen: "CF@1m", "FZ in 30 cm", "CF (2')", "1 m CF".
_LENGTH_UNIT = r"(?:m|mts?|met(?:er|re|ro)s?|mètres?|cm|ft|foot|feet|pies?|pés?|pieds?|')"
_LENGTH = rf"{UNSIGNED}(?: ?[-/] ?{UNSIGNED})? ?{_LENGTH_UNIT}"
_DISTANCE = re.compile(
    rf"[ ,@]*\(?(?:(?<!\w)(?:at|a|à|en|em|in|auf|aus|bei|de) )?(?:{_LENGTH}|\d+(?:[.,]\d+)?)\)?$"
    rf"|^{_LENGTH} ",
    re.IGNORECASE,
)
_SIGNS_AROUND = " <>≤≥=~∼≈±?"
# What may have been the minus of "PL-", and is dropped where words are compared.
_LOST_SIGN = re.compile(f"[{SOFT_HYPHEN}\ufffd]")
BEST_DECIMAL = 2.5
LETTER_SCALE = (0.0, 100.0)

UNREADABLE = "acuity_unreadable"
OTHER_NOTATION = "acuity_notation_differs"
BECAME_DATE = "acuity_became_date"


def read_acuity(values: pd.Series, context: Context) -> pd.DataFrame:
    """logMAR of distinct acuity cells in the notation that the crosswalk declares.

    Returns, labelled as `values`: acuity_logmar, acuity_notation, acuity_off_chart,
    acuity_imputed, and `problem`, the rule that a cell breaks. The only problem that comes with a
    value is a decimal mark other than the centre's.
    """
    rows = [_read_one(value, context) for value in values]
    return pd.DataFrame(rows, index=values.index, columns=[*_COLUMNS, PROBLEM])


_COLUMNS = ("acuity_logmar", "acuity_notation", "acuity_off_chart", "acuity_imputed")
_Row = tuple[float | None, str | None, str | None, bool | None, str | None]
_Fraction = tuple[float, float] | None


def _read_one(value: object, context: Context) -> _Row:
    if isinstance(value, str):
        return _read_text(plain_text(value), context)
    if isinstance(value, dt.date | dt.time | dt.timedelta):
        return _refused(BECAME_DATE)
    if isinstance(value, PerCent):
        return _refused(OTHER_NOTATION)
    if isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value):
        return _in_notation(float(value), None, None, context)
    return _refused(UNREADABLE)


def _read_text(text: str, context: Context) -> _Row:
    if len(text) > LONGEST_VALUE or _LOST_SIGN.search(text):
        return _refused(UNREADABLE)
    if (off_chart := _off_chart_code(text, context.language)) is not None:
        return context.off_chart[off_chart], context.source.notation, off_chart, True, None
    if named := _NAMED.fullmatch(text):
        if named.lastgroup != context.source.notation:
            return _refused(OTHER_NOTATION)
        text = named[1]
    return _read_measured(text, context)


def _read_measured(text: str, context: Context) -> _Row:
    if match := _FRACTION.fullmatch(text):
        top, bottom = (read_numeral(part, context.decimal) for part in match.groups())
        if top.value is not None and bottom.value is not None:
            problem = top.problem or bottom.problem
            return _in_notation(None, (top.value, bottom.value), problem, context)
        return _refused(AMBIGUOUS if AMBIGUOUS in (top.problem, bottom.problem) else UNREADABLE)
    number = read_numeral(text, context.decimal)
    if number.value is not None:
        return _in_notation(number.value, None, number.problem, context)
    return _refused(AMBIGUOUS if number.problem == AMBIGUOUS else _rule_of(text, context.language))


def _rule_of(text: str, language: str) -> str:
    """The rule for a text that is neither an acuity nor a word for one."""
    words = text.strip(_SIGNS_AROUND)
    if _off_chart_code(words, language) is not None:
        text = text.replace(words, "1")  # "<CF": as much a bound as "<1"
    return inexact_rule(text) or UNREADABLE


def _in_notation(
    number: float | None, fraction: _Fraction, problem: str | None, context: Context
) -> _Row:
    notation = str(context.source.notation)
    logmar = _NOTATIONS[notation](number, fraction)
    if logmar is None:
        return _refused(OTHER_NOTATION)
    return logmar, notation, None, False, problem


def _refused(rule: str) -> _Row:
    return None, None, None, None, rule


def _off_chart_code(text: str, language: str) -> str | None:
    if text.strip(_SIGNS_AROUND) != text:
        return None
    words = vocabulary("off_chart")
    return words.code(text, language) or words.code(_DISTANCE.sub("", text), language)


def _from_snellen(number: float | None, fraction: _Fraction) -> float | None:
    if fraction is None or min(fraction) <= 0:
        return None
    return math.log10(fraction[1] / fraction[0])


def _from_decimal(number: float | None, fraction: _Fraction) -> float | None:
    """Decimals, tenths (5/10) and unit fractions (1/20), which all are the plain quotient."""
    if fraction and min(fraction) > 0 and (fraction[1] == 10 or fraction[0] == 1):
        number = fraction[0] / fraction[1]
    if number is None or not 0 < number <= BEST_DECIMAL:
        return None
    return -math.log10(number)


def _from_logmar(number: float | None, fraction: _Fraction) -> float | None:
    return number


def _from_letters(number: float | None, fraction: _Fraction) -> float | None:
    """Letters are counted: 0.3 in their column is a logMAR."""
    if number is None or number % 1 or not LETTER_SCALE[0] <= number <= LETTER_SCALE[1]:
        return None
    return 1.7 - 0.02 * number


_NOTATIONS: dict[str, Callable[[float | None, _Fraction], float | None]] = {
    "snellen_feet": _from_snellen,
    "snellen_metres": _from_snellen,
    "decimal": _from_decimal,
    "logmar": _from_logmar,
    "letters": _from_letters,
}
