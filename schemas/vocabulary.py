"""Vocabularies: the words by which spreadsheets name the codebook's codes, by language.

One TOML file a concept under `schemas/vocabularies/`, named as the code list:

    [autologous_retina]                 # a code
    en = ["ART", "retinal autograft"]   # its words, by language
    es = ["trasplante autologo de retina"]

Adding a word is one line there.
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

_INNER_MARKS = re.compile(r"(?<=\w)[-_/.’'](?=\w)")
_OTHER_MARKS = re.compile(r"[^\w+\-%<>=]+")


def normal_form(text: str) -> str:
    """The form in which words are compared: no case, accents or punctuation, single spaces.

    Plus and minus signs are kept unless they join two words: `PL-` and `PL+` differ.
    """
    plain = unicodedata.normalize("NFKD", text.casefold().replace("ß", "ss"))
    plain = "".join(char for char in plain if not unicodedata.combining(char))
    plain = plain.replace("\u2212", "-").replace("\u2013", "-")
    plain = _OTHER_MARKS.sub(" ", _INNER_MARKS.sub(" ", plain))
    return " ".join(plain.split())


@dataclass(frozen=True)
class Vocabulary:
    """Words of one concept: normal form to the codes it stands for, by language."""

    concept: str
    words: dict[str, dict[str, str]]

    def code(self, text: str, language: str) -> str | None:
        """The code that `text` stands for, or None.

        A word that stands for different codes in different languages is settled by `language`;
        if that does not settle it, it is no word for anything.
        """
        by_language = self.words.get(normal_form(text))
        if not by_language:
            return None
        if language in by_language:
            return by_language[language]
        codes = set(by_language.values())
        return codes.pop() if len(codes) == 1 else None


@cache
def vocabulary(concept: str) -> Vocabulary:
    """The vocabulary of a concept. Raises FileNotFoundError where no file has its name."""
    source = files("schemas").joinpath("vocabularies", f"{concept}.toml")
    words: dict[str, dict[str, str]] = {}
    for code, by_language in tomllib.loads(source.read_text(encoding="utf-8")).items():
        for language, entries in by_language.items():
            for entry in (code.replace("_", " "), *entries):
                words.setdefault(normal_form(entry), {})[language] = code
    return Vocabulary(concept, words)
