"""The notation of a column that declares none, where its cells allow one alone.

A fraction is a quotient in any notation, so that fractions are always certain. A plain number is
decimal or logMAR only where all of a column's numbers can be the one and several cannot be the
other. What a logMAR column may hold is wide (letters, halves and tenths of a line, lines of other
charts, values given to words), and a computed one holds any hundredth: decimal are only columns of
nothing but lines of decimal charts. Letter scores are never found: their scales differ by 15 and
look alike.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

import numpy as np

from schemas.conventions import OFF_CHART_SETS
from transforms.harmonise.acuity.lines import Numbers, decimal_lines, line_quotients
from transforms.harmonise.acuity.notations import LETTER_LOGMAR

FEWEST_TELLING_LOGMAR = 3
# Of the hundredths of logMAR between 0.1 and 1 one in six is a decimal line too, and 0.63 alone of
# those that tell.
FEWEST_LINES, FEWEST_TELLING_DECIMAL = 4, 2
_PLACES = (1, 2, 3, 4)  # in which people round; a number with more places is compared by its first
_HALF_LINE = 0.05
_BEST_LOGMAR, _WORST_READ, _WORST_LOGMAR = -0.3, 1.7, 3.0
_TINY = 1e-6


def notation_of_fractions(top: Numbers, bottom: Numbers) -> str | None:
    """The notation of a column's fractions, None where there are none."""
    if not len(top):
        return None
    if (top == 20).all():
        return "snellen_feet"
    if ((bottom == 10) | (top == 1)).all():
        return "decimal"
    return "snellen_metres"


def notation_of_numbers(numbers: Iterable[float]) -> str | None:
    """decimal or logmar for the plain numbers of a column, None where they allow both or neither.

    Zero is a line by logMAR and no letter by decimals: it speaks for nothing.
    """
    distinct = {round(number, _PLACES[-1]) for number in numbers} - {0.0}
    no_decimals = distinct - decimal_values()
    if distinct <= logmar_values() and len(no_decimals) >= FEWEST_TELLING_LOGMAR:
        return "logmar"
    no_logmar = distinct - logmar_values()
    if len(distinct) < FEWEST_LINES or len(no_logmar) < FEWEST_TELLING_DECIMAL:
        return None
    return "decimal" if distinct <= frozenset(decimal_lines().tolist()) else None


@cache
def decimal_values() -> frozenset[float]:
    """What decimal acuities can be: lines of charts, and letter scores turned into decimals."""
    by_letters = 10 ** -_steps(LETTER_LOGMAR, _WORST_READ)
    return _rounded(1 / line_quotients()) | _rounded(decimal_lines()) | _rounded(by_letters)


@cache
def logmar_values() -> frozenset[float]:
    """What logMAR acuities are often: scores by letters, halves and tenths of a line, lines of
    charts, and values given to words."""
    given = [value for each in OFF_CHART_SETS.values() for value in each.values.values()]
    steps = [_steps(step, _WORST_LOGMAR) for step in (LETTER_LOGMAR, _HALF_LINE)]
    return frozenset().union(*map(_rounded, (*steps, np.array(given), np.log10(line_quotients()))))


def _steps(step: float, worst: float) -> Numbers:
    return np.arange(_BEST_LOGMAR, worst + step / 2, step)


def _rounded(values: Numbers) -> frozenset[float]:
    """The values as people round them, or cut them off: 0.176 is 0.18 and 0.17."""
    scaled = [(values * 10**places, 10**places) for places in _PLACES]
    typed = [each.round() / scale for each, scale in scaled]
    typed += [np.trunc(each + np.sign(each) * _TINY) / scale for each, scale in scaled]
    return frozenset(np.concatenate(typed).round(_PLACES[-1]).tolist())
