"""A cell taken apart: its acuities, and the marks that say how they were taken.

"20/60 cc PH 20/40" holds two acuities, with correction and through a pinhole. Marks stand before or
behind an acuity; between two of them the mark of a pinhole is that of the second.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Iterator
from functools import cache
from typing import NamedTuple

from schemas.vocabulary import vocabulary
from transforms.harmonise.acuity.words import Lookup
from transforms.harmonise.acuity.written import (
    OTHER_NOTATION,
    UNREADABLE,
    Habits,
    Written,
    read_measured,
    read_written,
    with_partial_word,
)
from transforms.harmonise.numerals import LONGEST_VALUE, SOFT_HYPHEN, plain_text
from transforms.reading import PerCent

BECAME_DATE = "acuity_became_date"
NEAR = "acuity_near"

# What may have been the minus of "PL-", and is dropped where words are compared.
_LOST_SIGN = re.compile(f"[{SOFT_HYPHEN}\ufffd]")
# Sizes of near charts: J1+, N8, P2 (Jaeger, points of print, Parinaud).
_NEAR_SIZE = re.compile(r"(?:^|[ ,;(])[JNP]\.? ?\d{1,2}(?:[.,]\d)?[+-]?(?:$|[ ,;)])", re.I)
_WORD = re.compile(r"[^\W\d_]+(?:\.(?!\d))?")
_WITHIN_PHRASE = re.compile(r"[ .'/-]*")
_EDGES = " ,;:=()[]→"
_MARKS = ("acuity_correction", "acuity_remark", "partial_line")
# Phrases with words of a mark in them that are none: "CF near face", Spanish "cerca de" (about).
_WHOLE = ("off_chart", "inexact")
_PART_OF_TEXT = ""


class Cell(NamedTuple):
    """What a cell says: an acuity, one through a pinhole, both, or why it is neither.

    `correction` is a code of `schemas.codes.ACUITY_CORRECTION` as the cell marks it, `no_gain`
    whether it says that nothing, or no pinhole, made the acuity better.
    """

    acuity: Written | None = None
    pinhole: Written | None = None
    correction: str | None = None
    no_gain: bool = False
    problem: str | None = None


def read_cell(value: object, habits: Habits) -> Cell:
    """What one typed value of an acuity's column says."""
    if isinstance(value, str):
        return _read_text(plain_text(value), habits)
    if isinstance(value, dt.date | dt.time | dt.timedelta):
        return Cell(problem=BECAME_DATE)
    if isinstance(value, PerCent):
        return Cell(problem=OTHER_NOTATION)
    if isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value):
        return Cell(Written(float(value)))
    return Cell(problem=UNREADABLE)


def _read_text(text: str, habits: Habits) -> Cell:
    if len(text) > LONGEST_VALUE or _LOST_SIGN.search(text):
        return Cell(problem=UNREADABLE)
    if measured := read_measured(text, habits):
        return Cell(measured) if measured.is_acuity else Cell(problem=measured.problem)
    if _NEAR_SIZE.search(text):
        return Cell(problem=NEAR)
    if marked := _read_marked(text, habits):
        return marked
    word = read_written(text, habits)
    return Cell(word) if word.is_acuity else Cell(problem=word.problem)


class _Piece(NamedTuple):
    """A mark's code, or a text between marks under the code `_PART_OF_TEXT`."""

    code: str
    text: str = ""


def _read_marked(text: str, habits: Habits) -> Cell | None:
    """A cell with marks; None for one without any."""
    pieces = list(_pieces(text, habits.lookup))
    marks = {piece.code for piece in pieces} - {_PART_OF_TEXT}
    if not marks:
        return None
    if "near" in marks:
        return Cell(problem=NEAR)
    shape, said = _acuities(pieces, habits)
    if refused := next((each for each in said if not each.is_acuity), None):
        return Cell(problem=refused.problem)
    return _in_shape(shape, said)


def _pieces(text: str, lookup: Lookup) -> Iterator[_Piece]:
    """Texts and marks in their order; the longest phrase that is known wins."""
    words = list(_WORD.finditer(text))
    forms = [lookup.form(word[0]) for word in words]
    phrases, first_words = _phrases(lookup.language)
    begin, place = 0, 0
    while place < len(words):
        code, last = _PART_OF_TEXT, place
        for end in range(place, min(place + first_words.get(forms[place], 0), len(words))):
            gap = text[words[end - 1].end() : words[end].start()] if end > place else ""
            if not _WITHIN_PHRASE.fullmatch(gap):
                break
            if (found := phrases.get(" ".join(forms[place : end + 1]))) is not None:
                code, last = found, end
        if code != _PART_OF_TEXT:
            yield _Piece(_PART_OF_TEXT, text[begin : words[place].start()])
            yield _Piece(code)
            begin = words[last].end()
        place = last + 1
    yield _Piece(_PART_OF_TEXT, text[begin:])


@cache
def _phrases(language: str) -> tuple[dict[str, str], dict[str, int]]:
    """Code of every phrase in normal form that a language understands, and the most words of a
    phrase by its first.

    Phrases that are no marks have the code `_PART_OF_TEXT`.
    """
    found: dict[str, str] = {}
    longest: dict[str, int] = {}
    for concept in (*_MARKS, *_WHOLE):
        words = vocabulary(concept)
        for phrase in words.words:
            if code := words.code_of(phrase, language):
                found.setdefault(phrase, code if concept in _MARKS else _PART_OF_TEXT)
                first, *others = phrase.split()
                longest[first] = max(longest.get(first, 1), 1 + len(others))
    return found, longest


_OF_MARK = {
    "corrected": "c", "uncorrected": "u", "pinhole": "p", "no_improvement": "i", "acuity": "",
    "eccentric": "",
}  # fmt: skip
_OF_CORRECTION = {letter: code for code, letter in _OF_MARK.items() if letter in ("c", "u")}
# Without and with correction in one cell: which of the two is the acuity with.
_BOTH_WAYS = {"uVcV": 1, "VuVc": 1, "cVuV": 0, "VcVu": 0}


class _Order(NamedTuple):
    """Which acuity of a cell is one, and which is through a pinhole."""

    acuity: int | None = None
    pinhole: int | None = None
    no_gain: bool = False


_ORDERS = {
    "V": _Order(0),
    "pV": _Order(pinhole=0),
    "Vp": _Order(pinhole=0),
    "VpV": _Order(0, 1),
    "VVp": _Order(0, 1),
    **dict.fromkeys(("Vi", "Vpi", "Vip"), _Order(0, no_gain=True)),
    **dict.fromkeys(("i", "pi", "ip"), _Order(no_gain=True)),
}
_DIGIT = re.compile(r"\d")
_JOINED_FIRST = re.compile(r"(?:[.,-]| ?- | ,)\d")
_BEHIND_ACUITY = re.compile("V[cu]?$")
_JOINED = re.compile(r" [-+>]+$")
_ONE_IN_BRACKETS = re.compile(r"(.*[^ (]) ?\((.*)")


def _acuities(pieces: list[_Piece], habits: Habits) -> tuple[str, list[Written]]:
    """The order of acuities (V) and marks, and the acuities."""
    shape = ""
    said: list[Written] = []
    for code, text in pieces:
        if code == _PART_OF_TEXT:
            found = _between_marks(text, habits)
            shape, said = shape + "V" * len(found), said + found
        elif code in _OF_MARK:
            shape += _OF_MARK[code]
        elif _BEHIND_ACUITY.search(shape):
            said[-1] = with_partial_word(said[-1], code)
        else:
            said.append(Written(problem=UNREADABLE))
    return shape, said


def _between_marks(text: str, habits: Habits) -> list[Written]:
    """The acuity of a text between marks; two where one is in brackets, "6/60 (6/36 PH)"."""
    inner = text.strip(_EDGES)
    if _JOINED.search(inner):
        if not _DIGIT.search(inner):  # "PL -" is none, or a dash before what follows
            return [Written(problem=UNREADABLE)]
        inner = _JOINED.sub("", inner)
    if "/" in inner:
        inner = inner.lstrip("-. ")
    elif _JOINED_FIRST.match(text):  # part of the number or of what stands before it
        return [Written(problem=UNREADABLE)]
    if not inner:
        return []
    written = read_written(inner, habits)
    if not written.is_acuity and (two := _ONE_IN_BRACKETS.fullmatch(inner)):
        parts = [read_written(part, habits) for part in two.groups()]
        return parts if all(part.is_acuity for part in parts) else [written]
    return [written]


def _in_shape(shape: str, said: list[Written]) -> Cell:
    if shape in _BOTH_WAYS:
        return Cell(said[_BOTH_WAYS[shape]], correction="corrected")
    corrections = {_OF_CORRECTION[letter] for letter in shape if letter in _OF_CORRECTION}
    order = _ORDERS.get(re.sub("[cu]", "", shape))
    if order is None or len(corrections) > 1:
        return Cell(problem=UNREADABLE)
    correction = "pinhole" if order == _Order(pinhole=0) else next(iter(corrections), None)
    acuity, pinhole = (None if at is None else said[at] for at in (order.acuity, order.pinhole))
    return Cell(acuity, pinhole, correction, order.no_gain)
