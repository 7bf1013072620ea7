"""Vocabularies: the words by which spreadsheets name the codebook's codes, by language.

One TOML file a concept under `schemas/vocabularies/`, named as the code list:

    [autologous_retina]                 # a code
    en = ["ART", "retinal autograft"]   # its words, by language
    es = ["trasplante autologo de retina"]

Adding a word is one line there. A word of one language is understood in the others too, unless it
is as short as an abbreviation: AM is amniotic membrane in English and the hole itself in Spanish.
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

_INNER_MARKS = re.compile(r"(?<=\w)[-_/.’'](?=\w)")
_OTHER_MARKS = re.compile(r"[^\w+\-%<>=?]+")

LONGEST_OF_ONE_LANGUAGE = 2  # letters of an abbreviation that counts only where it is listed


def normal_form(text: str) -> str:
    """The form in which words are compared: no case, accents or punctuation, single spaces.

    Plus and minus signs are kept unless they join two words: `PL-` and `PL+` differ. So is the
    question mark: `closed?` is not the word `closed`.
    """
    plain = text.casefold()
    if not plain.isascii():
        letters = unicodedata.normalize("NFKD", plain.replace("ß", "ss"))
        plain = "".join(char for char in letters if not unicodedata.combining(char))
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
        return self.code_of(normal_form(text), language)

    def code_of(self, word: str, language: str) -> str | None:
        """The code that a word in normal form stands for, see `code`."""
        by_language = self.words.get(word)
        if not by_language:
            return None
        if language in by_language:
            return by_language[language]
        codes = set(by_language.values())
        if len(word) <= LONGEST_OF_ONE_LANGUAGE or len(codes) > 1:
            return None
        return codes.pop()


@cache
def vocabulary(concept: str) -> Vocabulary:
    """The vocabulary of a concept.

    Raises FileNotFoundError where no file has its name, and ValueError where one word of a
    language stands for two codes or for nothing but punctuation.
    """
    source = files("schemas").joinpath("vocabularies", f"{concept}.toml")
    return read_vocabulary(concept, source.read_text(encoding="utf-8"))


def read_vocabulary(concept: str, toml: str) -> Vocabulary:
    """The vocabulary that `toml` writes out. Raises ValueError, see `vocabulary`."""
    words: dict[str, dict[str, str]] = {}
    for code, by_language in tomllib.loads(toml).items():
        for language, entries in by_language.items():
            for entry in (code.replace("_", " "), *entries):
                known = words.setdefault(normal_form(entry), {})
                if known.setdefault(language, code) != code:
                    raise ValueError(
                        f"{concept}.toml: '{entry}' ({language}) stands for {known[language]} and "
                        f"for {code}; leave it under one, or under none"
                    )
    if "" in words:
        raise ValueError(f"{concept}.toml: an entry is nothing but punctuation; take it out")
    return Vocabulary(concept, words)


def look_up(words: Vocabulary, phrase: str, language: str | None) -> tuple[str, bool] | None:
    """The code of a phrase in normal form, and whether its own language lists it.

    Without a language any will do, as long as the phrase stands for one thing.
    """
    by_language = words.words.get(phrase)
    if not by_language:
        return None
    if language in by_language:
        return by_language[str(language)], True
    if language is None:
        codes = set(by_language.values())
        return (codes.pop(), True) if len(codes) == 1 else None
    code = words.code(phrase, language)
    return (code, False) if code else None
