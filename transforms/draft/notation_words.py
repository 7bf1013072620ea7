"""Words of headings that say in which notation an acuity is written."""

from __future__ import annotations

import re
from collections.abc import Iterable

from schemas.vocabulary import normal_form

# Letters of a scale that the heading does not name: 20/20 is 85 on one and 100 on the other.
ANY_LETTERS = "letters of some scale"
LETTERS = (ANY_LETTERS, "letters")

# In normal form. Common practice, no source; a score of the early treatment studies' charts is one
# of the scale where 20/20 is 85.
_NOTATION = {
    "logmar": "logmar", "letters": ANY_LETTERS, "letras": ANY_LETTERS, "lettres": ANY_LETTERS,
    "buchstaben": ANY_LETTERS, "letter": ANY_LETTERS, "etdrs": "letters", "decimal": "decimal",
    "decimale": "decimal", "dezimal": "decimal",
}  # fmt: skip
# Snellen fractions are of feet or of metres, and decimal acuity is called so as well.
_ABOUT = frozenset({*_NOTATION, "snellen", "score", "equivalent"})

# The scale by what 20/20 is on it, "20/20 = 85", and the distance at which letters were read.
_SCALE = re.compile(r"= ?(85|100)\b")
_OF_SCALE = {"85": "letters", "100": "letters_100"}
_DISTANCE = re.compile(r"\b(?:(?:at|a|à|in|em) )?([14]) ?m(?:et(?:re|er)s?)?\b", re.IGNORECASE)
_AT_DISTANCE = {"4": "letters_4m", "1": "letters_1m"}


def said_by(heading: str) -> str | None:
    """The one notation that a heading names; `ANY_LETTERS` where it names no scale for a score."""
    named = {_NOTATION[word] for word in normal_form(heading).split() if word in _NOTATION}
    if "letters" in named:
        named.discard(ANY_LETTERS)
    if len(named) != 1:
        return None
    said = named.pop()
    scale = _SCALE.search(heading) if said in LETTERS else None
    return _OF_SCALE[scale[1]] if scale else said


def letters_at_distance(heading: str) -> tuple[str, str] | None:
    """The heading of a letter score without the distance that it names, and the notation of letters
    read there. "1 m" may be the distance or one month: who asks must try both."""
    distance = _DISTANCE.search(heading)
    if distance is None or said_by(heading) not in LETTERS:
        return None
    bare = f"{heading[: distance.start()]} {heading[distance.end() :]}"
    return bare, _AT_DISTANCE[distance[1]]


def is_about_notation(words: Iterable[str]) -> bool:
    """True where every word, in normal form, is about notations."""
    return all(word in _ABOUT for word in words)
