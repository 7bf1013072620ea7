"""Words for acuities off the chart, and the distance from which fingers or a hand were seen."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import NamedTuple

from schemas.decimal_mark import DecimalMark
from schemas.vocabulary import normal_form, vocabulary
from transforms.harmonise.acuity.off_chart import FINGERS, HAND
from transforms.harmonise.numerals import UNSIGNED, Numeral, read_numeral

_LETTER = re.compile(r"[^\W\d_]")
SIGNS_AROUND = " <>≤≥=~∼≈±?"
METRES = {"metre": 1.0, "centimetre": 0.01, "foot": 0.3048, "inch": 0.0254}
_UNIT_SIGNS = {"'": "foot", "''": "inch", '"': "inch", "″": "inch", "′′": "inch", "”": "inch"}

_MOST_PARTS = 4  # of a metre: CF 3/4 m

_UNIT = rf"[^\W\d_]+\.?|{'|'.join(sorted(_UNIT_SIGNS, key=len, reverse=True))}"
_ABOUT = "[~∼≈<>≤≥]"
# One number, a fraction (1/2 m), or two with a dash or a word between them, which are a range.
_LENGTH = (
    rf"(?P<about>{_ABOUT} ?)?(?P<first>{UNSIGNED})"
    rf"(?: ?(?P<joint>[-/]|[^\W\d_]+) ?(?P<second>{UNSIGNED}))? ?(?P<unit>{_UNIT})?"
)
# "CF@1m", "FZ in 30 cm", "CF (2')", "CF 2"; and "1 m CF".
_BEHIND = re.compile(rf"(?P<word>.*?)[ ,:;@(/]*{_LENGTH}\)?")
_BEFORE = re.compile(rf"{_LENGTH} (?P<word>[^\W\d_].*)")
# "CD a un metro", "CF (one metre)".
_IN_WORDS = re.compile(r"(?P<before>.*?)(?P<count>[^\W\d_]+) (?P<unit>[^\W\d_]+\.?)(?P<after>\)?)")


@dataclass(frozen=True)
class Lookup:
    """Codes of texts in a centre's language, each text looked up once."""

    language: str
    known: dict[tuple[str, str], str | None] = field(default_factory=dict)
    forms: dict[str, str] = field(default_factory=dict)

    def form(self, word: str) -> str:
        """The form in which a word is compared."""
        if word not in self.forms:
            self.forms[word] = normal_form(word)
        return self.forms[word]

    def code(self, concept: str, text: str) -> str | None:
        """The code of a vocabulary that a text stands for, or None."""
        if (concept, text) not in self.known:
            self.known[concept, text] = vocabulary(concept).code(text, self.language)
        return self.known[concept, text]


class OffChart(NamedTuple):
    """A code of `schemas.codes.OFF_CHART`; its distance in metres, and whether one is unread."""

    code: str
    distance_m: float | None = None
    is_unread: bool = False
    problem: str | None = None


def off_chart_word(text: str, lookup: Lookup, decimal: DecimalMark) -> OffChart | None:
    """The acuity off the chart that a plain text names, or None.

    A distance counts for fingers and a hand alone; one that is a range, about right or without a
    unit is unread.
    """
    if text.strip(SIGNS_AROUND) != text or not _LETTER.search(text):
        return None
    if (code := lookup.code("off_chart", text)) is not None:
        return OffChart(code)
    text = _in_digits(text, lookup)
    for pattern in (_BEHIND, _BEFORE):
        if (said := pattern.fullmatch(text)) and (found := _word(said["word"], lookup)):
            code, is_about = found
            return _seen_from(code, is_about or said["about"] is not None, said, lookup, decimal)
    return None


def _in_digits(text: str, lookup: Lookup) -> str:
    """The text with a number in words before its last word, a unit, as digits."""
    said = _IN_WORDS.fullmatch(text)
    if said is None or lookup.code("sight_distance", said["unit"]) not in METRES:
        return text
    count = lookup.code("number_word", said["count"])
    return text if count is None else f"{said['before']}{count} {said['unit']}{said['after']}"


def _word(text: str, lookup: Lookup) -> tuple[str, bool] | None:
    """The code of a word to which a distance was joined, and whether by "about".

    What joins them is a word or a dash. A dash may be the minus of "PL-", so that it joins for
    fingers and a hand alone.
    """
    is_about = False
    while (code := lookup.code("off_chart", text)) is None:
        text, _, last = text.rpartition(" ")
        is_at = lookup.code("sight_distance", last) == "at"
        is_doubt = not is_at and lookup.code("inexact", last) in ("estimate", "bound")
        if not text or not (is_at or is_doubt):
            break
        is_about |= is_doubt
    else:
        return code, is_about
    code = lookup.code("off_chart", f"{text} {last}".rstrip(" -"))
    return (code, is_about) if code in (FINGERS, HAND) else None


def _seen_from(
    code: str, is_about: bool, said: re.Match[str], lookup: Lookup, decimal: DecimalMark
) -> OffChart | None:
    unit, joint = said["unit"] or "", said["joint"] or ""
    known = _UNIT_SIGNS.get(unit) or lookup.code("sight_distance", unit)
    is_range = joint == "-" or lookup.code("inexact", joint) in ("range", "bound")
    is_acuity = not unit and (joint == "/" or said.start("word") > 0)  # "CF 20/40", "0.5 CF"
    if is_acuity or (unit and known not in METRES) or not (is_range or joint in ("", "/")):
        return None
    length = None if is_about or is_range else _length(said, decimal)
    if known is None or length is None or length.value is None:
        return OffChart(code, is_unread=True)
    if code not in (FINGERS, HAND):
        return OffChart(code)
    return OffChart(code, length.value * METRES[known], problem=length.problem)


def _length(said: re.Match[str], decimal: DecimalMark) -> Numeral | None:
    """A number above zero, or a fraction of a few parts."""
    first = read_numeral(said["first"], decimal)
    parts = read_numeral(said["second"] or "1", decimal).value
    if not first.value or not parts or parts > _MOST_PARTS:
        return None
    return Numeral(first.value / parts, first.problem)
