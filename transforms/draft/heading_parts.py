"""Headings taken apart: what is measured, in which unit, at which visit, of which eye."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import product
from typing import Literal

from schemas.headings import heading_words
from schemas.units import UNITS, unit_named
from schemas.visit_names import BASELINE
from schemas.vocabulary import Vocabulary, normal_form, vocabulary

DAYS_OF = {"day": 1.0, "week": 7.0, "month": 365.25 / 12, "year": 365.25}
LONGEST_PHRASE = 4
MOST_REMEMBERED = 50_000

_GAP = re.compile(r"[\s_]+")
_BRACKET = re.compile(r"[(\[]([^)\]]*)[)\]]")
# 3/12 and 6/52 are months and weeks in British notes.
_TWELFTHS = re.compile(r"\b(\d{1,2})/(12|52)\b")
_DOTTED = re.compile(r"\b(?:[^\W\d_]\.){2,}")
_NUMBER_FIRST = re.compile(r"(\d{1,3})([^\W\d_]+)")
_NUMBER_LAST = re.compile(r"([^\W\d_]+)(\d{1,3})")


@dataclass(frozen=True)
class VisitTime:
    """Which visit a heading names: before the operation, so many days after it, or one of a row of
    visits of which only the date can say when they were."""

    label: str
    days: float | None = None

    @property
    def is_baseline(self) -> bool:
        return self.label == BASELINE


@dataclass(frozen=True)
class Parts:
    """`core` is what is left of a heading, in normal form, once the other parts are taken out."""

    core: str
    time: VisitTime | None = None
    eye: Literal["right", "left"] | None = None
    unit: str | None = None


def look_up(words: Vocabulary, phrase: str, language: str | None) -> tuple[str, bool] | None:
    """The code of a phrase in normal form, and whether its own language lists it.

    Without a language any will do, as long as the phrase stands for one thing.
    """
    by_language = words.words.get(phrase)
    if not by_language:
        return None
    if language in by_language:
        return by_language[str(language)], True
    if language is None:
        codes = set(by_language.values())
        return (codes.pop(), True) if len(codes) == 1 else None
    code = words.code(phrase, language)
    return (code, False) if code else None


@lru_cache(maxsize=MOST_REMEMBERED)
def is_unit(text: str) -> bool:
    """True for the name or a spelling of any unit."""
    return any(unit_named(text, base) for base in UNITS)


def ways_to_read(
    text: str, language: str | None, *, with_time: bool, with_eye: bool
) -> Iterator[Parts]:
    """The ways in which a heading can be taken apart, with the fewest parts taken out first."""
    for no_unit, no_time, no_eye in product((True, False), repeat=3):
        if (not no_time and not with_time) or (not no_eye and not with_eye):
            continue
        words, unit = (_words(text), None) if no_unit else _without_unit(text)
        if not no_unit and unit is None:
            continue
        eye, time = None, None
        if not no_eye:
            words, eye = _without_eye(words, language)
            if eye is None:
                continue
        if not no_time:
            words, time = _without_time(words, language)
            if time is None:
                continue
        if words:
            yield Parts(" ".join(words), time, eye, unit)


def unit_said(text: str) -> str | None:
    """The unit that a heading has in brackets or at its end."""
    return _without_unit(text)[1]


def _words(text: str) -> list[str]:
    return _normal_heading(text).split()


@lru_cache(maxsize=MOST_REMEMBERED)
def _normal_heading(text: str) -> str:
    """`normal_form`, with 3/12 and # spelt out, without the dots of D.O.B. and without a bracket
    that lists what stands below, as (Y/N).
    """
    text = _TWELFTHS.sub(lambda m: f"{m[1]} {'month' if m[2] == '12' else 'week'} ", text)
    text = _DOTTED.sub(lambda m: m[0].replace(".", ""), text.replace("#", " no "))
    about = vocabulary("unit_row").words
    return normal_form(
        _BRACKET.sub(lambda m: " " if "choice" in about.get(normal_form(m[1]), {}).values()
                     else m[0], text)
    )  # fmt: skip


def _without_unit(text: str) -> tuple[list[str], str | None]:
    """The words beside a unit in brackets or at the end."""
    for bracket in _BRACKET.finditer(text):
        if is_unit(bracket[1]):
            return _words(text[: bracket.start()] + " " + text[bracket.end() :]), bracket[1]
    pieces = _GAP.split(text.strip())
    for length in range(min(3, len(pieces) - 1), 0, -1):
        unit = " ".join(pieces[-length:])
        # One letter at the end is more often a side or a sex than a unit; "3 months" is a visit.
        is_letter = len(unit) == 1 and unit.isascii() and unit != "%"
        if is_unit(unit) and not is_letter and not pieces[-length - 1].isdigit():
            return _words(" ".join(pieces[:-length])), unit
    return _words(text), None


def _without_eye(
    words: list[str], language: str | None
) -> tuple[list[str], Literal["right", "left"] | None]:
    """The words beside a side that stands at the beginning or at the end."""
    for length in range(min(3, len(words) - 1), 0, -1):
        for phrase, rest in (
            (words[:length], words[length:]), (words[-length:], words[:-length]),
        ):  # fmt: skip
            found = look_up(vocabulary("eye"), " ".join(phrase), language)
            if found:
                return rest, "right" if found[0] == "right" else "left"
    return words, None


def _without_time(words: list[str], language: str | None) -> tuple[list[str], VisitTime | None]:
    """The words beside the one visit that the heading names; none where it names two."""
    found: list[tuple[int, int, VisitTime]] = []
    at = 0
    while at < len(words):
        length, time = _time_at(words, at, language)
        if time:
            found.append((at, length, time))
        at += max(length, 1)
    if len({time for *_, time in found if time.label != "after"}) > 1 or not found:
        return words, None
    taken = {place for start, length, _ in found for place in range(start, start + length)}
    times = [time for *_, time in found]
    said = next((time for time in times if time.label != "after"), times[0])
    return [word for place, word in enumerate(words) if place not in taken], said


def _time_at(words: list[str], at: int, language: str | None) -> tuple[int, VisitTime | None]:
    """How many words from `at` on name a visit, and which."""
    for length in range(min(LONGEST_PHRASE, len(words) - at), 0, -1):
        kind = _time_word(" ".join(words[at : at + length]), language)
        if kind == BASELINE:
            return length, VisitTime(BASELINE)
        if kind in ("last", "after"):
            return length, VisitTime(kind)
    if joined := _counted(words[at], language):
        return 1, joined
    if at + 1 < len(words) and not (at and words[at - 1].isdigit()):
        pair = words[at], words[at + 1]
        for number, word in (pair, pair[::-1]):
            time = _time_of(number, word, language) if number.isdigit() else None
            if time:
                return 2, time
    return 0, None


def _counted(word: str, language: str | None) -> VisitTime | None:
    if match := _NUMBER_FIRST.fullmatch(word):
        return _time_of(match[1], match[2], language)
    if match := _NUMBER_LAST.fullmatch(word):
        return _time_of(match[2], match[1], language)
    return None


def _time_of(number: str, word: str, language: str | None) -> VisitTime | None:
    kind = _time_word(word, language)
    if kind == "visit":
        return VisitTime(f"visit {int(number)}")
    if kind not in DAYS_OF:
        return None
    if int(number) == 0:
        return VisitTime(BASELINE)
    plural = "" if int(number) == 1 else "s"
    return VisitTime(f"{int(number)} {kind}{plural}", int(number) * DAYS_OF[str(kind)])


def _time_word(phrase: str, language: str | None) -> str | None:
    found = look_up(heading_words("visit_time"), phrase, language)
    return found[0] if found else None
