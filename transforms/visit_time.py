"""When a visit was, in words: "3 months", "M3", "6/52", "preop", in headings and in cells."""

from __future__ import annotations

import re
from dataclasses import dataclass

from schemas.headings import heading_words
from schemas.units import DAYS_OF
from schemas.visit_names import BASELINE, UNSCHEDULED, Windows
from schemas.vocabulary import look_up, normal_form

LONGEST_PHRASE = 4

# 3/12 and 6/52 are months and weeks in British notes.
_TWELFTHS = re.compile(r"\b(\d{1,2})/(12|52)\b")
_NUMBER_FIRST = re.compile(r"(\d{1,3})([^\W\d_]+)")
_NUMBER_LAST = re.compile(r"([^\W\d_]+)(\d{1,3})")


@dataclass(frozen=True)
class VisitTime:
    """Which visit is named: before the operation, so many days after it, or one of a row of
    visits of which only the date can say when they were."""

    label: str
    days: float | None = None

    @property
    def is_baseline(self) -> bool:
        return self.label == BASELINE


def time_of_visit(text: str, language: str) -> VisitTime | None:
    """The visit that a cell names with all of its words, or None."""
    rest, time = without_time(normal_form(spelt_out(text)).split(), language)
    return None if rest else time


def window_of_time(time: VisitTime, windows: Windows) -> str | None:
    """The study's window that holds the time; unscheduled where none does, None where it cannot be
    told from words."""
    if time.is_baseline:
        return BASELINE
    if time.days is None:
        return None
    day = round(time.days)
    return next((name for name, (low, _, high) in windows.items() if low <= day <= high),
                UNSCHEDULED)  # fmt: skip


def spelt_out(text: str) -> str:
    """The text with 3/12 and 6/52 as months and weeks."""
    return _TWELFTHS.sub(lambda m: f"{m[1]} {'month' if m[2] == '12' else 'week'} ", text)


def without_time(words: list[str], language: str | None) -> tuple[list[str], VisitTime | None]:
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
