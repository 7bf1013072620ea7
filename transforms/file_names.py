"""File names as they may be kept: people put patients' names into them."""

from __future__ import annotations

import re
from collections.abc import Iterable

from schemas.vocabulary import normal_form, vocabulary

_WORD = re.compile(r"\w+", re.UNICODE)
# Several numbers in a row may be a date of birth, whatever stands between them.
_NUMBERS = re.compile(r"\d+(?:[-._ /]+\d+)+")
_WEEK = re.compile(r"w\d{1,2}", re.IGNORECASE)
_LONGEST_NUMBER = 4
_ENDINGS = frozenset({"xlsx", "xlsm", "xls", "ods", "csv", "tsv", "txt", "tab"})
REMOVED = "…"


def cleared_file_name(name: str, known_words: Iterable[str]) -> str:
    """`name` with every word left out that is neither neutral nor known.

    Neutral are the words of the vocabulary `file_name` and numbers of up to four digits (years and
    weeks); `known_words` are texts of the centre's crosswalk.
    """
    neutral = set(vocabulary("file_name").words)
    for text in known_words:
        neutral |= set(normal_form(text).replace("-", " ").split())
    stem, dot, ending = name.rpartition(".")
    if ending.casefold() not in _ENDINGS:
        stem, dot, ending = name, "", ""

    def kept(match: re.Match[str]) -> str:
        parts = [part for part in match[0].split("_") if part]
        if all(_is_neutral(part, neutral) for part in parts):
            return match[0]
        return REMOVED

    return _WORD.sub(kept, _NUMBERS.sub(REMOVED, stem)) + dot + ending


def _is_neutral(word: str, neutral: set[str]) -> bool:
    if word.isdigit():
        return len(word) <= _LONGEST_NUMBER
    return normal_form(word) in neutral or bool(_WEEK.fullmatch(word))
