"""Numbers that were not measured: what tells an estimate, a bound and a range."""

from __future__ import annotations

import re

from schemas.vocabulary import normal_form, vocabulary
from transforms.harmonise.numerals import UNSIGNED

ESTIMATE = "value_estimate"
BOUND = "value_bound"
RANGE = "value_range"

_NUMBER = re.compile(rf"{UNSIGNED}(?: ?/ ?{UNSIGNED})?")
_WORD = re.compile(r"[^\W\d_]+")
_BOUND_SIGN = re.compile("[<>≤≥≦≧⩽⩾≮≯≲≳]")
# A question mark within a word stands for a letter that an export lost: "450 ?m".
_ABOUT_SIGN = re.compile(r"[~∼≈≃≅≒±∓]|\+ ?/? ?-|\?(?!\w)")
_JOINING_SIGN = re.compile(r"(?<![+/])(-|\.+|[~∼])\s*$")
_MOST_WORDS = 8


def inexact_rule(text: str) -> str | None:
    """The rule for a plain text that says a number (or fraction) is no measurement, or None.

    Signs and words of all five languages count, whichever the centre writes.
    """
    around = _NUMBER.split(text, maxsplit=3)
    match around:
        case [before, between, _] if _is_range(before, between):
            return RANGE
        case [before, after] if _BOUND_SIGN.search(text) or "bound" in _said(before, after):
            return BOUND
        case [before, *_, after] if len(around) <= 3:
            is_about = _ABOUT_SIGN.search(" ".join(around)) or "estimate" in _said(before, after)
            return ESTIMATE if is_about else None
    return None


def _is_range(before: str, between: str) -> bool:
    if _JOINING_SIGN.search(between) or "range" in _said(before):
        return True
    return bool({"range", "bound"} & _said(between))


def _said(*texts: str) -> set[str]:
    return {code for text in texts if (code := _code_of_longest_phrase(text)) is not None}


def _code_of_longest_phrase(text: str) -> str | None:
    """The code of the longest run of words that is listed: "más o menos" goes before "o menos"."""
    known = vocabulary("inexact").words
    words = _WORD.findall(normal_form(text))
    if len(words) > _MOST_WORDS:
        return None
    for length in range(len(words), 0, -1):
        for start in range(len(words) - length + 1):
            codes = set(known.get(" ".join(words[start : start + length]), {}).values())
            if len(codes) == 1:
                return codes.pop()
    return None
