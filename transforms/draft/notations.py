"""The notation of acuities, told from headings and from the values of all acuity columns together.

A centre writes acuity in one way throughout a table, and poor sight after failed surgery spreads
over few values in one column, so columns whose headings name the same notation, or none, are looked
at as one. What is certain without a heading is what the reader of acuities would find itself.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from transforms.draft.column_values import MOSTLY, ColumnValues
from transforms.draft.notation_words import ANY_LETTERS
from transforms.harmonise.acuity.lines import Numbers, is_line
from transforms.harmonise.acuity.notation_found import (
    decimal_values,
    logmar_values,
    notation_of_fractions,
    notation_of_numbers,
)
from transforms.harmonise.acuity.notations import SCALES
from transforms.harmonise.numerals import plain_text

_FRACTION = re.compile(r"(\d+(?:[.,]\d+)?) ?/ ?(\d+(?:[.,]\d+)?) ?(?:\(?[+-] ?\d\)?)?")

_BEST_DECIMAL = 1.3  # hardly any eye that had a hole sees better: common practice, no source
_WORST_LOGMAR = 3.0
_NAMED_SCALES = ("letters", "letters_100")


@dataclass(frozen=True)
class NotationFound:
    """A notation, whether it is certain, why, and whether fractions show it."""

    notation: str
    is_certain: bool
    reason: str
    is_of_fractions: bool = False


def notation_of(said: str | None, columns: Sequence[ColumnValues]) -> NotationFound | None:
    """The notation of acuity columns whose headings say `said`; None where no value shows one."""
    texts = [plain_text(str(value)) for column in columns for value in column.distinct]
    fractions = _read([match for text in texts if (match := _FRACTION.fullmatch(text))])
    numbers = [number for column in columns for number in column.plain_numbers]
    by_fractions = _of_fractions(*fractions, numbers) if len(fractions[0]) > len(numbers) else None
    found = by_fractions or (_of_numbers(numbers, said) if numbers else None)
    if found is None:
        return _by_heading(said) if said else None
    if said and said != found.notation and found.is_certain:
        reason = f"heading says {said}, but {found.reason}"
        return NotationFound(found.notation, False, reason, found.is_of_fractions)
    return found


def _by_heading(said: str) -> NotationFound:
    """What a heading alone says: neither a score without a scale nor a distance is certain."""
    is_certain = said in ("decimal", "logmar", *_NAMED_SCALES)
    notation = "letters" if said == ANY_LETTERS else said
    return NotationFound(notation, is_certain, f"heading says {said}; no value yet")


def _read(fractions: Sequence[re.Match[str]]) -> tuple[Numbers, Numbers]:
    """Numerators and denominators, without those that divide by zero or are zero."""
    parts = [[float(part.replace(",", ".")) for part in match.groups()] for match in fractions]
    read = np.array([pair for pair in parts if all(pair)], dtype="float64").reshape(-1, 2)
    return read[:, 0], read[:, 1]


def _of_fractions(top: Numbers, bottom: Numbers, numbers: Sequence[float]) -> NotationFound | None:
    """The notation of fractions. It is certain where most are lines of charts, as pressures and
    dates are not, and of the numbers among them: those are few and no Snellen acuity, or decimal
    by themselves."""
    notation = notation_of_fractions(top, bottom)
    if notation is None:
        return None
    count, lines = len(top), int(is_line(top, bottom).sum())
    reason = f"{lines} of {count} fractions are lines of charts"
    if notation == "decimal":
        is_of_all = not numbers or notation_of_numbers(numbers) == "decimal"
    else:
        is_of_all = count >= MOSTLY * (count + len(numbers))
    if not is_of_all:
        reason += f", but {len(numbers)} plain numbers may be of another notation"
    return NotationFound(notation, is_of_all and lines >= MOSTLY * count, reason, True)


def _of_numbers(numbers: Sequence[float], said: str | None) -> NotationFound:
    """The notation of plain numbers: the one that they allow alone, or that the heading names.

    Where neither settles it, people do: numbers that are hardly of one notation suggest the other.
    """
    if sum(number > _WORST_LOGMAR for number in numbers) >= MOSTLY * len(numbers):
        return _of_letters(numbers, said)
    distinct = {round(number, 4) for number in numbers}
    no_decimals = {n for n in distinct if n > _BEST_DECIMAL or n not in decimal_values()}
    no_logmar = distinct - logmar_values()
    told = (
        f"of {len(distinct)} numbers {len(no_logmar)} are hardly logMAR and {len(no_decimals)} "
        "hardly decimals"
    )
    if alone := notation_of_numbers(numbers):
        return NotationFound(alone, True, told)
    if said in ("decimal", "logmar"):
        return NotationFound(said, True, f"heading says {said}")
    likelier = "logmar" if len(no_decimals) > len(no_logmar) else "decimal"
    return NotationFound(likelier, False, f"{told}: which of the two?")


def _of_letters(numbers: Sequence[float], said: str | None) -> NotationFound:
    """Letter scores are of a certain scale only where a heading names it: one whose 20/20 is 85
    ends at 100, where the other does not.
    """
    if said in _NAMED_SCALES and max(numbers) <= SCALES[said][1]:
        return NotationFound(said, True, "heading names the scale of the letters")
    if over := sum(SCALES["letters"][1] < n <= SCALES["letters_100"][1] for n in numbers):
        counted = f"{over} of {len(numbers)} numbers are above 100"
        return NotationFound("letters_100", False, f"{counted}: letters where 20/20 is 100")
    if said in ("letters_4m", "letters_1m"):
        return NotationFound(
            said, False, "heading names a distance: are the letters as read there?"
        )
    return NotationFound("letters", False, "letters, and no heading says if 20/20 is 85 or 100")
