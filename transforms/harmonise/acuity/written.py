"""What a text says an acuity is: a fraction or a number with its partial line, or a word."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import NamedTuple

from schemas.decimal_mark import DecimalMark
from transforms.harmonise.acuity.words import SIGNS_AROUND, Lookup, off_chart_word
from transforms.harmonise.context import Context
from transforms.harmonise.inexact import ESTIMATE, inexact_rule
from transforms.harmonise.numerals import AMBIGUOUS, Numeral, read_numeral

UNREADABLE = "acuity_unreadable"
OTHER_NOTATION = "acuity_notation_differs"
DISTANCE_UNREAD = "acuity_distance_unread"

SHORT, BEYOND = "short_of_line", "beyond_line"
LETTERS_AT_4_M = "letters_4m"

_LETTERS = r"letters?|letras?|lettres?|buchstaben"
# "-2", "(+1)", "-^2" where it was raised, "-2 letters". A sign alone counts behind fractions.
_PARTIAL = rf"(?: ?\(?(?P<sign>[+-]) ?(?P<raised>\^?)(?P<letters>\d)(?: ?(?:{_LETTERS}))?\)?)"
_FRACTION = re.compile(
    rf"(?P<top>\d[\d.,\u066b]*) ?/ ?(?P<bottom>\d[\d.,\u066b]*)(?:{_PARTIAL}|(?P<alone>[+-]))?",
    re.I,
)
_WITH_PARTIAL = re.compile(rf"(?P<number>.*?\S){_PARTIAL}", re.I)
_AT_4_AND_1_M = re.compile(r"(\d{1,2}) ?\+ ?(\d{1,2})")
# A notation that a cell names itself, as "0.3 logMAR"; the group has the notation's code.
_NAMED_BEHIND = re.compile(
    rf"(?P<number>[^a-z]*\d) ?(?:(?P<logmar>logmar)|(?P<letters>{_LETTERS}))", re.I
)
# Behind an acuity: circa or cum, estimated or estenopeico.
_ESTIMATE_OR_CORRECTION = re.compile(r"\d ?(?:c|est)\b", re.I)
_NAMED_BEFORE = re.compile(r"(?P<logmar>logmar)[ :=]*(?P<number>[^a-z]*\d)", re.I)


class Written(NamedTuple):
    """One acuity as it is written, before a notation gives it a value.

    `top` is a number, or with `bottom` a fraction; letters at 4 m with `at_1_m` those at 1 m.
    `partial` is a code of `schemas.codes.PARTIAL_LINE`, `letters` are negative where missed.
    `named` is the notation that the text names. Without `top` and `off_chart` it is no acuity, and
    `problem` says why; with them `problem` only asks.
    """

    top: float | None = None
    bottom: float | None = None
    at_1_m: float | None = None
    partial: str | None = None
    letters: int | None = None
    named: str | None = None
    off_chart: str | None = None
    distance_m: float | None = None
    problem: str | None = None

    @property
    def is_acuity(self) -> bool:
        return self.top is not None or self.off_chart is not None


@dataclass(frozen=True)
class Habits:
    """How the acuities of a column are written. `notation` is None where none is declared."""

    decimal: DecimalMark
    notation: str | None
    letters_a_line: int | None
    lookup: Lookup
    numerals: dict[str, Numeral] = field(default_factory=dict)

    @classmethod
    def of(cls, context: Context) -> Habits:
        source = context.source
        return cls(
            context.decimal, source.notation, source.letters_a_line, Lookup(context.language)
        )

    def numeral(self, text: str) -> Numeral:
        """The number that a text is, read once."""
        if text not in self.numerals:
            self.numerals[text] = read_numeral(text, self.decimal)
        return self.numerals[text]


def read_written(text: str, habits: Habits) -> Written:
    """The one acuity that a plain text is, without marks of correction around it."""
    measured = read_measured(text, habits)
    if measured is not None:
        return measured
    if (word := off_chart_word(text, habits.lookup, habits.decimal)) is not None:
        problem = DISTANCE_UNREAD if word.is_unread else word.problem
        return Written(off_chart=word.code, distance_m=word.distance_m, problem=problem)
    return Written(problem=_rule_of(text, habits))


def with_partial_word(written: Written, code: str) -> Written:
    """The acuity with a word for a partial line behind it, which it may not have twice."""
    if written.top is None or written.partial is not None:
        return Written(problem=UNREADABLE)
    return written._replace(partial=code)


def read_measured(text: str, habits: Habits) -> Written | None:
    """A fraction or a number; None for what is neither."""
    if fraction := _FRACTION.fullmatch(text):
        return _fraction(fraction, habits)
    if habits.notation in (LETTERS_AT_4_M, None) and (both := _AT_4_AND_1_M.fullmatch(text)):
        return Written(float(both[1]), at_1_m=float(both[2]))
    number = habits.numeral(text)
    if number.value is not None:
        return Written(number.value, problem=number.problem)
    if number.problem == AMBIGUOUS:
        return Written(problem=AMBIGUOUS)
    return _number_with_partial(text, habits) or _in_named_notation(text, habits)


def _in_named_notation(text: str, habits: Habits) -> Written | None:
    named = _NAMED_BEHIND.fullmatch(text) or _NAMED_BEFORE.fullmatch(text)
    if named is None:
        return None
    written = read_measured(named["number"].strip(), habits)
    return written and written._replace(named="logmar" if named["logmar"] else "letters")


def _fraction(said: re.Match[str], habits: Habits) -> Written:
    top = habits.numeral(said["top"])
    bottom = habits.numeral(said["bottom"])
    if top.value is None or bottom.value is None:
        return Written(problem=_worse(top, bottom))
    written = Written(top.value, bottom.value, problem=top.problem or bottom.problem)
    if said["alone"]:
        return written._replace(partial=_side(said["alone"]))
    return _partly(written, said, habits) if said["sign"] else written


def _number_with_partial(text: str, habits: Habits) -> Written | None:
    """A number with letters behind it, "0.3 -2".

    It might be a range, unless the letters are raised or the crosswalk says how many a line has.
    """
    said = _WITH_PARTIAL.fullmatch(text)
    if said is None or not (said["raised"] or habits.letters_a_line):
        return None
    number = habits.numeral(said["number"])
    if number.value is None:
        return None
    return _partly(Written(number.value, problem=number.problem), said, habits)


def _partly(written: Written, said: re.Match[str], habits: Habits) -> Written:
    """The line with the letters said behind it, which are fewer than a line has."""
    letters = int(said["sign"] + said["letters"])
    if habits.letters_a_line is not None and abs(letters) >= habits.letters_a_line:
        return Written(problem=UNREADABLE)
    return written._replace(partial=_side(said["sign"]) if letters else None, letters=letters)


def _side(sign: str) -> str:
    return BEYOND if sign == "+" else SHORT


def _worse(*parts: Numeral) -> str:
    return AMBIGUOUS if AMBIGUOUS in {part.problem for part in parts} else UNREADABLE


def _rule_of(text: str, habits: Habits) -> str:
    """The rule for a text that is neither an acuity nor a word for one."""
    words = text.strip(SIGNS_AROUND)
    if off_chart_word(words, habits.lookup, habits.decimal) is not None:
        text = text.replace(words, "1")  # "<CF": as much a bound as "<1"
    rule = inexact_rule(text) or UNREADABLE
    is_either = rule == ESTIMATE and _ESTIMATE_OR_CORRECTION.search(text)
    return UNREADABLE if is_either else rule
