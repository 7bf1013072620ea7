"""Words by which spreadsheets head their columns, by codebook field, kind of record and language.

The words stand in `schemas/vocabularies/headings/`: `case.toml` for what every kind of record has,
one file for each kind, and files for what is no field: `unread` (columns that the codebook has no
field for), `neutral` (words that add nothing) and `visit_time`. The codebook's own names and
titles, and their translations, are words too.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import files

from schemas.codebook import RecordKind, upload_fields
from schemas.crosswalk import LANGUAGES
from schemas.translation import translated
from schemas.vocabulary import Vocabulary, normal_form, read_vocabulary

_FOLDER = ("vocabularies", "headings")


@cache
def heading_words(name: str) -> Vocabulary:
    """The words of one file. Raises FileNotFoundError, and ValueError as `read_vocabulary`."""
    source = files("schemas").joinpath(*_FOLDER, f"{name}.toml")
    return read_vocabulary(name, source.read_text(encoding="utf-8"))


@cache
def field_words(kind: RecordKind) -> Vocabulary:
    """Words for the fields of one kind of record: listed ones first, then the codebook's titles.

    Raises ValueError where a file names a field that the codebook has not.
    """
    known = upload_fields(kind)
    words: dict[str, dict[str, str]] = {}
    for name in ("case", kind):
        for word, by_language in heading_words(name).words.items():
            words.setdefault(word, {}).update(by_language)
    if strange := {field for codes in words.values() for field in codes.values()} - known.keys():
        raise ValueError(f"headings of {kind}: '{min(strange)}' is no field of the codebook")
    for name, field in known.items():
        words.setdefault(normal_form(name), {}).setdefault("en", name)
        for language in LANGUAGES:
            title = normal_form(translated(field.spec.title, language))
            words.setdefault(title, {}).setdefault(language, name)
    return Vocabulary(kind, words)
