"""Headings taken apart: what is measured, in which unit, at which visit, of which eye."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import product
from typing import Literal

from schemas.units import UNITS, unit_named
from schemas.vocabulary import look_up, normal_form, vocabulary
from transforms.visit_time import VisitTime, spelt_out, without_time

MOST_REMEMBERED = 50_000

_GAP = re.compile(r"[\s_]+")
_BRACKET = re.compile(r"[(\[]([^)\]]*)[)\]]")
_DOTTED = re.compile(r"\b(?:[^\W\d_]\.){2,}")


@dataclass(frozen=True)
class Parts:
    """`core` is what is left of a heading, in normal form, once the other parts are taken out.

    `notation` is what the heading says of it, see `notation_words`; its words stay in the core.
    """

    core: str
    time: VisitTime | None = None
    eye: Literal["right", "left"] | None = None
    unit: str | None = None
    notation: str | None = None


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
            words, time = without_time(words, language)
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
    text = _DOTTED.sub(lambda m: m[0].replace(".", ""), spelt_out(text).replace("#", " no "))
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
