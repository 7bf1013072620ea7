"""The notation of acuities, told from headings and from the values of all acuity columns together.

A centre writes acuity in one way throughout a table, and poor sight after failed surgery spreads
over few values in one column, so columns whose headings name the same notation, or none, are looked
at as one.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from transforms.draft.column_values import MOSTLY, ColumnValues
from transforms.draft.notation_words import ANY_LETTERS
from transforms.harmonise.acuity_notations import SCALES
from transforms.harmonise.numerals import plain_text

_FRACTION = re.compile(r"(\d+(?:[.,]\d+)?) ?/ ?(\d+(?:[.,]\d+)?) ?(?:\(?[+-] ?\d\)?)?")

# Steps of decimal charts that no logMAR chart has (its steps are 0.02 or 0.1): 0.125 is 1/8, 0.32
# and 0.63 stand between tenths, 0.05 and 0.03 would be better than 20/20 by logMAR in eyes that
# had failed surgery. Common practice, no source.
_DECIMAL_STEPS = frozenset(
    {0.01, 0.015, 0.016, 0.02, 0.025, 0.03, 0.032, 0.04, 0.05, 0.06, 0.063, 0.08, 0.125, 0.15,
     0.16, 0.25, 0.32, 0.63, 0.67}
)  # fmt: skip
_BEST_DECIMAL = 1.3  # above it hardly any acuity is decimal; logMAR from there on is common here
_WORST_LOGMAR = 3.0
_NAMED_SCALES = ("letters", "letters_100")
_OFTEN = 0.15
_HARDLY = 0.05


@dataclass(frozen=True)
class NotationFound:
    """A notation, whether it is certain, and why."""

    notation: str
    is_certain: bool
    reason: str


def notation_of(said: str | None, columns: Sequence[ColumnValues]) -> NotationFound | None:
    """The notation of acuity columns whose headings say `said`; None where no value shows one."""
    texts = [plain_text(str(value)) for column in columns for value in column.distinct]
    fractions = [match for text in texts if (match := _FRACTION.fullmatch(text))]
    numbers = [number for column in columns for number in column.plain_numbers]
    if not fractions and not numbers:
        return _by_heading(said) if said else None
    found = (
        _of_fractions(fractions) if len(fractions) > len(numbers) else _of_numbers(numbers, said)
    )
    if said and said != found.notation and found.is_certain:
        return NotationFound(found.notation, False, f"heading says {said}, but {found.reason}")
    return found


def _by_heading(said: str) -> NotationFound:
    """What a heading alone says: neither a score without a scale nor a distance is certain."""
    is_certain = said in ("decimal", "logmar", *_NAMED_SCALES)
    notation = "letters" if said == ANY_LETTERS else said
    return NotationFound(notation, is_certain, f"heading says {said}; no value yet")


def _of_fractions(fractions: Sequence[re.Match[str]]) -> NotationFound:
    pairs = [(float(a.replace(",", ".")), float(b.replace(",", "."))) for a, b in
             (match.groups() for match in fractions)]  # fmt: skip
    shares = {
        "snellen_feet": sum(top == 20 for top, _ in pairs),
        "decimal": sum(bottom == 10 or top == 1 for top, bottom in pairs),
        "snellen_metres": sum(2 <= top <= 6 and bottom != 10 for top, bottom in pairs),
    }
    best = max(shares, key=lambda name: shares[name])
    looks = {"snellen_feet": "20/40", "decimal": "5/10 or 1/20", "snellen_metres": "6/12"}[best]
    share = shares[best] / len(pairs)
    return NotationFound(
        best, share >= MOSTLY, f"{shares[best]} of {len(pairs)} fractions look like {looks}"
    )


def _of_numbers(numbers: Sequence[float], said: str | None) -> NotationFound:
    count = len(numbers)
    if sum(number > _WORST_LOGMAR for number in numbers) >= MOSTLY * count:
        return _of_letters(numbers, said)
    poor = sum(number > _BEST_DECIMAL or number < 0 for number in numbers)
    steps = sum(round(number, 3) in _DECIMAL_STEPS for number in numbers)
    counted = f"{steps} of {count} numbers are steps of decimal charts, {poor} are above 1.3"
    if said in ("decimal", "logmar"):
        return NotationFound(said, True, f"heading says {said}")
    if steps >= _OFTEN * count and poor <= _HARDLY * count:
        return NotationFound("decimal", True, counted)
    if poor >= _OFTEN * count and steps <= _HARDLY * count:
        return NotationFound("logmar", True, counted)
    return NotationFound("logmar" if poor > steps else "decimal", False, counted)


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
