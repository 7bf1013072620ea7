"""Words of headings that say in which notation an acuity is written."""

from __future__ import annotations

from collections.abc import Iterable

from schemas.vocabulary import normal_form

# In normal form. Common practice, no source.
_NOTATION = {
    "logmar": "logmar", "letters": "letters", "letras": "letters", "lettres": "letters",
    "buchstaben": "letters", "letter": "letters", "etdrs": "letters", "decimal": "decimal",
    "decimale": "decimal", "dezimal": "decimal",
}  # fmt: skip
# Snellen fractions are of feet or of metres, and decimal acuity is called so as well.
_ABOUT = frozenset({*_NOTATION, "snellen", "score", "equivalent"})


def said_by(heading: str) -> str | None:
    """The one notation that a heading names."""
    named = {_NOTATION[word] for word in normal_form(heading).split() if word in _NOTATION}
    return named.pop() if len(named) == 1 else None


def is_about_notation(words: Iterable[str]) -> bool:
    """True where every word, in normal form, is about notations."""
    return all(word in _ABOUT for word in words)
