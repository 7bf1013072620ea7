"""Tokens of an operation note: its words and numbers, and what stands between them."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum
from typing import TypeVar

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

    @property
    def is_sign(self) -> bool:
        """True for a sign that denies or doubts, or a word that has one before it."""
        return MINUS in self.mark or self.text in (DENIED, DOUBTED, APPROXIMATE)


MOST_WORDS = 12  # of a phrase: more than any vocabulary has
DENIED = "(-)"  # a minus behind a word: "laser (-)"
APPROXIMATE = "~"
DOUBTED = "?"
MINUS = "\u2296"  # a minus that is a sign, not a dash: "ART +PFCL -blood"

_DASHES = str.maketrans("\u2010\u2011\u2012\u2013\u2014\u2212", "------")
_ARROWS = re.compile(r"-+>|=+>|\u2192")
# "PFCL +/- laser": done or not, there is no telling; before a number it is a spread.
_EITHER_WORD = re.compile(r"(?:\+\s?/\s?-|\u00b1)\s?(?=[^\W\d_])")
_EITHER = re.compile(r"\+\s?/\s?-(?!\s?\d)|\u00b1(?!\s?\d)")
_NEGATIVE = re.compile(r"(?<!\w)-\s?ve\b", re.IGNORECASE)
# A minus glued to a word is a sign where a plus is glued to one in the same way, and right behind a
# comma or bracket; else it is a dash, or the bullet of a list.
_PLUS_BEFORE, _MINUS_BEFORE = (
    re.compile(rf"(?<![^\s,;:(\[]){sign}(?=[^\W\d_])") for sign in (r"\+", "-")
)
_PLUS_BEHIND = re.compile(r"(?<=\w)\+(?=[\s,;)]|$)")
_MINUS_BEHIND = re.compile(r"(?<=\w)-(?=\s)")
_MINUS_ALONE = re.compile(r"(?<=[,(])[ ]?-[ ]?(?=[^\W\d_])")
_INNER_DOT = re.compile(r"(?<=\w)\u00b7(?=\w)")  # mPa\u00b7s
# Capitals and small letters of other alphabets that look like Latin ones: "\u04213F8".
_LOOK_ALIKES = str.maketrans(
    "\u0410\u0412\u0415\u041a\u041c\u041d\u041e\u0420\u0421\u0422\u0425\u0430\u0435\u043e\u0440\u0441\u0445"
    "\u0391\u0392\u0395\u0397\u0399\u039a\u039c\u039d\u039f\u03a1\u03a4\u03a7\u03bf\u00d7",
    "ABEKMHOPCTXaeopcxABEHIKMNOPTXox",
)
# A viscosity may be written with a space for thousands, or without one behind its oil ("SO5000");
# a time as "D7" or "x5".
_TOKEN = re.compile(
    r"""(?P<denied>\(\s*-\s*\)|(?<=\w)\s?-(?=\s*(?:[,;)\n]|$)))
    |(?P<number>[1-9]\d?[ ]\d00(?=\s*(?:c[sS]t?|mPa))|\d+(?:[.,]\d+)?)(?P<percent>\s*%)?
    |(?P<word>[^\W\d_]+(?=\d{4}(?!\d))|[dDjJxX](?=\d{1,2}(?!\w))|[^\W\d_]\w*)
    |(?P<mark>.)""",
    re.VERBOSE | re.DOTALL,
)
_THOUSANDS = re.compile(r"[1-9]\d?[., ]\d00")
_JOINING = set("-/'\u2019`\u00b4\"\u201c\u201d\u201e\u00ae\u2122_ .\t\u00a0")
_CLAUSE = {*",:=+&()[]{}|-", MINUS}
_SENTENCE = set(";\n\r\u2022\u00b7")
_ABOUT = set("~\u2248<>\u2264\u2265\u00b1")


def note_tokens(text: str) -> list[Token]:
    """The tokens of a text, in order. Decimal points and commas are both read as such."""
    plain = unicodedata.normalize("NFKC", text.strip()).translate(_DASHES).translate(_LOOK_ALIKES)
    plain = _with_signs(_INNER_DOT.sub(".", _ARROWS.sub(", ", plain)))
    tokens: list[Token] = []
    between = ""
    for match in _TOKEN.finditer(plain):
        if match["mark"] is not None and _is_separator(match["mark"]):
            between += match["mark"]
            continue
        place = (_break(between, match.group() != match.group().lower()), between.replace(" ", ""))
        tokens.append(_token(match, *place))
        between = ""
    return tokens


def _with_signs(plain: str) -> str:
    """The text in which a minus that is no dash is told apart."""
    plain = _NEGATIVE.sub(f" {DENIED}", plain)
    plain = _EITHER.sub(f", {DOUBTED}", _EITHER_WORD.sub(MINUS, plain))
    if _PLUS_BEHIND.search(plain):
        plain = _MINUS_BEHIND.sub(f" {DOUBTED},", plain)
    if _PLUS_BEFORE.search(plain):
        plain = _MINUS_BEFORE.sub(MINUS, plain)
    return _MINUS_ALONE.sub(MINUS, plain)


def _token(match: re.Match[str], before: Break, mark: str) -> Token:
    if match["denied"] is not None:
        return Token(DENIED, Break.JOINED, "")
    if match["number"] is not None:
        is_percent = match["percent"] is not None
        return Token(match["number"], before, mark, _value(match["number"], is_percent), is_percent)
    if match["word"] is not None:
        return Token(normal_form(match["word"]), before, mark)
    return Token(APPROXIMATE if match["mark"] in _ABOUT else DOUBTED, before, mark)


def _value(numeral: str, is_percent: bool) -> float:
    """Marks and spaces before full hundreds part thousands: nothing here is given to 0.001."""
    if _THOUSANDS.fullmatch(numeral) and not is_percent:
        return float(re.sub("[., ]", "", numeral))
    return float(numeral.replace(",", "."))


_Meaning = TypeVar("_Meaning")


def longest_phrase(
    tokens: Sequence[Token], at: int, known: Mapping[str, _Meaning]
) -> tuple[int, _Meaning] | None:
    """The longest run of joined tokens from `at` that is known: its length and what it means.

    A plus joins too where the phrase is known with it: "bleb + scissors".
    """
    end, words = at + 1, [tokens[at].text]
    while end < min(len(tokens), at + MOST_WORDS):
        token = tokens[end]
        if token.before is not Break.JOINED and token.mark != "+":
            break
        words.append(token.text if token.before is Break.JOINED else f"+ {token.text}")
        end += 1
    for stop in range(end, at, -1):
        meaning = known.get(" ".join(words[: stop - at]))
        if meaning is not None:
            return stop - at, meaning
    return None


def _is_separator(mark: str) -> bool:
    return mark in _JOINING or mark in _CLAUSE or mark in _SENTENCE or mark.isspace()


def _break(between: str, has_capital: bool) -> Break:
    """A full stop ends a sentence before a word with a capital only: "intraop. PFCL" is one phrase,
    and so is "C3F8. 14": there is no telling, and one phrase is what a reader checks."""
    marks = set(between)
    if marks & _SENTENCE or ("." in marks and has_capital and between.endswith(" ")):
        return Break.SENTENCE
    if marks & (_CLAUSE - {"-"}) or ("-" in marks and between.strip() != between):
        return Break.CLAUSE
    return Break.JOINED
