"""Vocabularies as they are written: words by code and language, and the note at the file's head.

`schemas.vocabulary` reads the same files for looking words up; here they are kept for showing.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from schemas.crosswalk import LANGUAGES, Language
from schemas.file_note import note_of

_ROOT = "vocabularies"
Words = dict[Language, tuple[str, ...]]


@dataclass(frozen=True)
class WordList:
    """A file of words. `codes` gives the words of each code, by language in the order of pages.

    Where a language lists a code at all, the code itself is a word too: `face_down`, `face down`.
    """

    name: str
    note: str
    codes: dict[str, Words]

    @property
    def count(self) -> int:
        """How many words are written in it."""
        return sum(
            len(words) for by_language in self.codes.values() for words in by_language.values()
        )


@cache
def word_list_names(folder: str = "") -> tuple[str, ...]:
    """Names of the files of words, in order; of those in a folder among them with its name."""
    place = files("schemas").joinpath(_ROOT, folder)
    found = sorted(path.name for path in place.iterdir() if path.name.endswith(".toml"))
    return tuple(f"{folder}/{name}".strip("/").removesuffix(".toml") for name in found)


@cache
def word_list(name: str) -> WordList:
    """The file of one name, as `closure` or `headings/visit`. Raises FileNotFoundError."""
    source = files("schemas").joinpath(_ROOT, *f"{name}.toml".split("/"))
    return read_word_list(name, source.read_text(encoding="utf-8"))


def read_word_list(name: str, toml: str) -> WordList:
    """The words that `toml` writes out."""
    codes: dict[str, Words] = {
        code: {lang: tuple(words[lang]) for lang in LANGUAGES if lang in words}
        for code, words in tomllib.loads(toml).items()
    }
    return WordList(name, note_of(toml), codes)
