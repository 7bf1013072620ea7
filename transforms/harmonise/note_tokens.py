"""Tokens of an operation note: its words and numbers, and what stands between them."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from enum import IntEnum

from schemas.vocabulary import normal_form


class Break(IntEnum):
    """How far a token is parted from the one before it."""

    JOINED = 0  # by a space, hyphen or slash: one phrase may run across it
    CLAUSE = 1  # by a comma, plus, colon, bracket or spaced dash
    SENTENCE = 2  # by a line break, semicolon or full stop


@dataclass(frozen=True)
class Token:
    """A word in normal form, a number, or a sign that says something by itself."""

    text: str
    before: Break
    mark: str  # the punctuation before it, without spaces
    number: float | None = None
    is_percent: bool = False


DENIED = "(-)"  # a minus behind a word: "laser (-)"
APPROXIMATE = "~"
DOUBTED = "?"

_DASHES = str.maketrans("\u2010\u2011\u2012\u2013\u2014\u2212", "------")
_ARROWS = re.compile(r"-+>|=+>|\u2192")
_TOKEN = re.compile(
    r"""(?P<denied>\(\s*-\s*\)|(?<=\w)\s?-(?=\s*(?:[,;)\n]|$)))
    |(?P<number>\d+(?:[.,]\d+)?)(?P<percent>\s*%)?
    |(?P<word>[^\W\d_]\w*)
    |(?P<mark>.)""",
    re.VERBOSE | re.DOTALL,
)
_JOINING = set("-/'\u2019`\u00b4\"\u201c\u201d\u201e\u00ae\u2122_ .\t\u00a0")
_CLAUSE = set(",:=+&()[]{}|-")
_SENTENCE = set(";\n\r\u2022\u00b7")
_ABOUT = set("~\u2248<>\u2264\u2265\u00b1")


def note_tokens(text: str) -> list[Token]:
    """The tokens of a text, in order. Decimal points and commas are both read as such."""
    plain = unicodedata.normalize("NFKC", text.strip()).translate(_DASHES)
    plain = _ARROWS.sub(", ", plain)
    tokens: list[Token] = []
    between = ""
    for match in _TOKEN.finditer(plain):
        if match["mark"] is not None and _is_separator(match["mark"]):
            between += match["mark"]
            continue
        place = (_break(between, match.group()[0].isupper()), between.replace(" ", ""))
        tokens.append(_token(match, *place))
        between = ""
    return tokens


def _token(match: re.Match[str], before: Break, mark: str) -> Token:
    if match["denied"] is not None:
        return Token(DENIED, Break.JOINED, "")
    if match["number"] is not None:
        value = float(match["number"].replace(",", "."))
        return Token(match["number"], before, mark, value, match["percent"] is not None)
    if match["word"] is not None:
        return Token(normal_form(match["word"]), before, mark)
    return Token(APPROXIMATE if match["mark"] in _ABOUT else DOUBTED, before, mark)


def _is_separator(mark: str) -> bool:
    return mark in _JOINING or mark in _CLAUSE or mark in _SENTENCE or mark.isspace()


def _break(between: str, is_capital: bool) -> Break:
    """A full stop ends a sentence before a capital only: "intraop. PFCL" is one phrase, and so
    is "C3F8. 14": there is no telling, and one phrase is what a reader checks."""
    marks = set(between)
    if marks & _SENTENCE or ("." in marks and is_capital and between.endswith(" ")):
        return Break.SENTENCE
    if marks & (_CLAUSE - {"-"}) or ("-" in marks and between.strip() != between):
        return Break.CLAUSE
    return Break.JOINED
