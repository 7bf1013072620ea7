"""Durations in an operation note: "7 days", "for one week", "day 7", "after 3 months"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from schemas.units import DAYS_OF
from schemas.vocabulary import vocabulary
from transforms.harmonise.notes.tokens import Break, Token, longest_phrase

_DAYS = {"hour": 1 / 24, **DAYS_OF}
_INEXACT = ("about", "range")
_BEFORE = ("for", "at", *_INEXACT)
# A unit as short as this counts in its own language alone: "sem" is short for weeks in Spanish and
# French, and means without in Portuguese.
_LONGEST_OF_ONE_LANGUAGE = 3


@dataclass(frozen=True)
class Duration:
    """A stretch of time in days, or with `is_point` the day at which something is done.

    `length` counts tokens; a range has the larger number, and is not exact, like an estimate.
    """

    length: int
    days: float
    is_exact: bool
    is_point: bool


def duration_at(tokens: Sequence[Token], at: int, language: str) -> Duration | None:
    """The duration that begins at a token, with the preposition before it, if one does."""
    roles = _roles(language)
    here, said = at, set[str]()
    while (found := longest_phrase(tokens, here, roles)) and found[1] in _BEFORE:
        here += found[0]
        said.add(found[1])
        if here >= len(tokens) or tokens[here].before is not Break.JOINED:
            return None
    read = _amount_and_unit(tokens, here, language) or _unit_and_number(tokens, here, language)
    if read is None:
        return None
    length, days, is_exact, is_point = read
    end = here + length
    while (found := _joined(tokens, end, language)) and found[1] == "lasting":
        end += found[0]
    is_point |= "at" in said and "for" not in said
    return Duration(end - at, days, is_exact and not said & {*_INEXACT}, is_point)


_Read = tuple[int, float, bool, bool]


def _amount_and_unit(tokens: Sequence[Token], at: int, language: str) -> _Read | None:
    """ "7 days", "one week", "5-7 days", "2 to 3 weeks"."""
    numbers = [number for number in (_number(tokens, at, language),) if number is not None]
    here = at + 1
    while numbers and here < len(tokens) and tokens[here].before is Break.JOINED:
        found = longest_phrase(tokens, here, _roles(language))
        if found and found[1] in _DAYS:
            days = round(max(numbers) * _DAYS[found[1]], 6)
            return here + found[0] - at, days, len(numbers) == 1, False
        if found and found[1] in (*_INEXACT, "at"):  # French "3 à 5 jours"
            here += found[0]
            continue
        number = _number(tokens, here, language)
        if number is None or len(numbers) > 1:
            return None
        numbers.append(number)
        here += 1
    return None


def _unit_and_number(tokens: Sequence[Token], at: int, language: str) -> _Read | None:
    """ "day 7"."""
    found = longest_phrase(tokens, at, _roles(language))
    if found is None or found[1] not in _DAYS:
        return None
    behind = at + found[0]
    if behind >= len(tokens) or tokens[behind].before is not Break.JOINED:
        return None
    number = tokens[behind]
    if number.number is None or number.is_percent:
        return None
    return found[0] + 1, round(number.number * _DAYS[found[1]], 6), True, True


def _number(tokens: Sequence[Token], at: int, language: str) -> float | None:
    token = tokens[at]
    if token.number is not None:
        return None if token.is_percent else token.number
    word = vocabulary("number_word").code_of(token.text, language)
    return float(word) if word else None


def _joined(tokens: Sequence[Token], at: int, language: str) -> tuple[int, str] | None:
    if at >= len(tokens) or tokens[at].before is not Break.JOINED:
        return None
    return longest_phrase(tokens, at, _roles(language))


@cache
def _roles(language: str) -> dict[str, str]:
    """What words around a number of days say: a unit, for how long, at what time, about, a rate."""
    rates = vocabulary("note_unit")
    roles = {word: "rate" for word in rates.words if rates.code_of(word, language) == "rate"}
    inexact = vocabulary("inexact")
    for word in inexact.words:
        if code := inexact.code_of(word, language):
            roles[word] = "range" if code == "range" else "about"
    words = vocabulary("duration")
    for word, by_language in words.words.items():
        is_short = len(word) <= _LONGEST_OF_ONE_LANGUAGE
        said = words.code_of(word, language)
        if said and (language in by_language or not is_short):
            roles[word] = said
    return roles
