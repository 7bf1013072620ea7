"""Texts of the codebook, and of what centres are sent, in the languages of the centres.

One gettext file a language under `schemas/languages/`. A msgid is the English text as it stands in
the program; the entry of a code of a list is the code itself, with the list's name as msgctxt.
Adding a text is one entry in each file; a text without an entry is shown in English.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from schemas.codes import CodeList
from schemas.crosswalk import Language

Entry = tuple[str | None, str]


@cache
def catalogue(language: Language) -> Mapping[Entry, str]:
    """Translations of one language, by (msgctxt, msgid)."""
    from babel.messages.pofile import read_po

    source = files("schemas").joinpath("languages", f"{language}.po")
    with source.open("rb") as file:
        messages = read_po(file, locale=language)
    return MappingProxyType(
        {
            (message.context, str(message.id)): str(message.string)
            for message in messages
            if message.id and message.string
        }
    )


def translated(text: str, language: Language) -> str:
    """`text` in another language; English stays as it is."""
    return text if language == "en" else catalogue(language).get((None, text), text)


def list_word(code: str, codes: CodeList, language: Language) -> str:
    """The word for a code that lists offer: one that the vocabulary of `codes` reads back to it."""
    return catalogue(language).get((codes.name, code), code.replace("_", " "))
