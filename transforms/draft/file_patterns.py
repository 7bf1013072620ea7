"""Patterns by which a centre's files are told apart next week, without a name in them."""

from __future__ import annotations

import re
from collections.abc import Collection
from fnmatch import fnmatch

from schemas.codebook import RECORD_KINDS
from schemas.headings import field_words
from transforms.file_names import REMOVED, cleared_file_name

_CHANGING = re.compile(rf"[\d\[\]?*{REMOVED}]+")
_ENDS = " -_.,()"
_SHORTEST = 3


def file_patterns(names: Collection[str], with_table: Collection[str]) -> dict[str, str]:
    """A pattern for each file with a table that fits no other file; files without one are left out.

    People put patients' names, dates and weeks into file names: only words that stand in file names
    or over columns are kept.
    """
    if len(names) < 2:
        return {}
    phrases = [phrase for kind in RECORD_KINDS for phrase in field_words(kind).words]
    words = [form for word in " ".join(phrases).split() for form in (word, f"{word}s")]
    found = {}
    for name in with_table:
        for pattern in _patterns(name, words):
            if [other for other in names if fnmatch(other.casefold(), pattern.casefold())] == [
                name
            ]:
                found[name] = pattern
                break
    return found


def _patterns(name: str, words: list[str]) -> list[str]:
    """From the shortest: the first known words, all known words, the ending."""
    stem, dot, ending = cleared_file_name(name, words).rpartition(".")
    parts = [part.strip(_ENDS) for part in _CHANGING.split(stem)]
    known = [part for part in parts if len(part) >= _SHORTEST]
    begins = f"{parts[0]}*" if len(parts[0]) >= _SHORTEST else ""
    return [
        pattern
        for pattern in (
            begins, "*".join(["", *known, ""]) if known else "",
            f"{'*'.join([begins.rstrip('*'), *known[1:], ''])}{dot}{ending}" if begins else "",
            f"*{dot}{ending}",
        )
        if pattern
    ]  # fmt: skip
