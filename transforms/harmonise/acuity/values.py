"""Values of acuities as they are written: the notation of each, its line, its letters, its rule."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any, Self

import numpy as np
import numpy.typing as npt
import pandas as pd

from schemas.conversions import FINGERS_AT_DISTANCE, acuity_rule, off_chart_rule
from transforms.harmonise.acuity.lines import Numbers, Truths, is_line
from transforms.harmonise.acuity.notation_found import notation_of_fractions, notation_of_numbers
from transforms.harmonise.acuity.notations import (
    LETTER_LOGMAR,
    LETTER_SCORES,
    LETTERS_A_LINE,
    lines_of,
)
from transforms.harmonise.acuity.off_chart import by_distance, off_chart_logmar
from transforms.harmonise.acuity.written import OTHER_NOTATION, UNREADABLE, Written
from transforms.harmonise.context import Context

UNNAMED = "acuity_notation_unnamed"
NO_LETTERS = "acuity_no_letters"
LINE_UNKNOWN = "acuity_line_unknown"
LACKS_1_M = "acuity_letters_at_4m"
BEYOND_CHARTS = "acuity_beyond_charts"

# Of no letter at 1 m on the scale of 85 letters, and of decimal 0.02; numbers behind it are mostly
# what somebody else gave to words (project choice).
WORST_ON_CHARTS = 1.7
_PLAIN_NUMBERS = frozenset({"decimal", "logmar"})

Texts = npt.NDArray[np.object_]


@dataclass(frozen=True)
class Acuities:
    """Acuities in arrays of one length, missing values as NaN or None.

    `line` is logMAR without the letters of a partial line. Where `logmar` is missing, `problem`
    refuses the acuity; else it asks.
    """

    logmar: Numbers
    line: Numbers
    partial: Texts
    letters: Numbers
    distance_m: Numbers
    notation: Texts
    off_chart: Texts
    rule: Texts
    problem: Texts

    @property
    def refusal(self) -> Texts:
        """The rule by which each is refused, None where it has a value."""
        rules = self.problem.copy()
        rules[~np.isnan(self.logmar)] = None
        return rules

    def at(self, places: Sequence[int], chosen: slice, count: int) -> Self:
        """The chosen acuities at their places among `count`, the others missing."""
        spread = {}
        for each in fields(self):
            of_all = getattr(self, each.name)
            is_number = of_all.dtype == np.float64
            spread[each.name] = np.full(count, np.nan if is_number else None, dtype=of_all.dtype)
            spread[each.name][list(places)] = of_all[chosen]
        return type(self)(**spread)


def valued(written: Sequence[Written], context: Context) -> Acuities:
    """Values of all acuities of one column, in their order."""
    said = _Said(**_arrays(written))
    notation = _notations(said, context.source.notation)
    line, problem = _lines(said, notation)
    problem[_is_beyond_charts(said, notation, line, context)] = BEYOND_CHARTS
    is_by_letter = ~np.isnan(said.letters) & ~np.isnan(line)
    if context.source.letters_a_line != LETTERS_A_LINE:
        is_by_letter[:] = False
    logmar = line - LETTER_LOGMAR * np.where(is_by_letter, said.letters, 0.0)
    rule = _rules(notation, line, is_by_letter)
    if (is_word := filled(said.off_chart)).any():
        codes, distances = pd.Series(said.off_chart), pd.Series(said.distance_m)
        values = off_chart_logmar(codes, distances, context.off_chart).to_numpy()
        logmar = np.where(is_word, values, logmar)
        rule[is_word] = off_chart_rule(context.off_chart.name)
        rule[by_distance(codes, distances).to_numpy()] = FINGERS_AT_DISTANCE
    return Acuities(
        logmar, line, said.partial, said.letters, said.distance_m, notation, said.off_chart, rule,
        problem,
    )  # fmt: skip


def filled(texts: Texts) -> Truths:
    """Where an array says something."""
    return np.fromiter((text is not None for text in texts), dtype=bool, count=len(texts))


@dataclass(frozen=True)
class _Said:
    """The fields of `Written`, each as an array."""

    top: Numbers
    bottom: Numbers
    at_1_m: Numbers
    partial: Texts
    letters: Numbers
    named: Texts
    off_chart: Texts
    distance_m: Numbers
    problem: Texts

    @property
    def is_measured(self) -> Truths:
        return ~np.isnan(self.top)


_NUMBERS = frozenset({"top", "bottom", "at_1_m", "letters", "distance_m"})


def _arrays(written: Sequence[Written]) -> dict[str, Any]:
    columns = zip(*written, strict=True) if written else ([] for _ in Written._fields)
    return {
        name: np.array(column, dtype="float64" if name in _NUMBERS else "object")
        for name, column in zip(Written._fields, columns, strict=True)
    }


def _notations(said: _Said, declared: str | None) -> Texts:
    """The notation of each measured acuity: the crosswalk's, its own, or the one that the column
    allows. None where there is none."""
    notations = np.full(len(said.top), None, dtype="object")
    if declared is not None:
        notations[said.is_measured] = declared
        return notations
    is_fraction = ~np.isnan(said.bottom)
    is_number = said.is_measured & ~is_fraction
    notations[is_fraction] = notation_of_fractions(said.top[is_fraction], said.bottom[is_fraction])
    notations[is_number & np.isnan(said.at_1_m)] = notation_of_numbers(said.top[is_number])
    notations[said.named == "logmar"] = "logmar"
    return notations


def _lines(said: _Said, notations: Texts) -> tuple[Numbers, Texts]:
    """Line and problem of each acuity."""
    line, problem = np.full(len(said.top), np.nan), said.problem.copy()
    problem[said.is_measured & ~filled(notations)] = UNNAMED
    for notation in set(notations) - {None}:
        places = np.flatnonzero(notations == notation)
        line[places], problem[places] = _lines_of(notation, said, places)
    return line, problem


def _lines_of(notation: str, said: _Said, places: npt.NDArray[np.intp]) -> tuple[Numbers, Texts]:
    top, bottom, named = said.top[places], said.bottom[places], said.named[places]
    lines, problem = lines_of(notation, top, bottom, said.at_1_m[places]), said.problem[places]
    if lines.lacks_1_m is not None:
        problem[lines.lacks_1_m] = LACKS_1_M
    fractions = np.flatnonzero(~np.isnan(bottom) & lines.fits)
    problem[fractions[~is_line(top[fractions], bottom[fractions])]] = LINE_UNKNOWN
    is_score = notation in LETTER_SCORES
    is_named_other = (named == "logmar") & (notation != "logmar")
    is_named_other |= (named == "letters") & (not is_score)
    refused = {
        UNREADABLE: filled(said.partial[places]) & is_score,
        OTHER_NOTATION: ~lines.fits | is_named_other,
        NO_LETTERS: lines.is_none & ~is_named_other,
    }
    for rule, where in refused.items():
        problem[where] = rule
    is_refused = np.logical_or.reduce(list(refused.values()))
    return np.where(is_refused, np.nan, lines.logmar + 0.0), problem  # no -0.0


def _is_beyond_charts(said: _Said, notations: Texts, line: Numbers, context: Context) -> Truths:
    """Which are numbers worse than charts measure, and possible: others are refused later.

    A fraction or a score tells how it was measured.
    """
    worst = context.field.spec.hard.high if context.field.spec.hard else np.inf
    is_plain = np.isin(notations, list(_PLAIN_NUMBERS)) & np.isnan(said.bottom)
    is_beyond: Truths = is_plain & (line > WORST_ON_CHARTS) & (line <= worst)
    return is_beyond


def _rules(notations: Texts, line: Numbers, is_by_letter: Truths) -> Texts:
    rules = np.full(len(line), None, dtype="object")
    for notation in set(notations) - {None}:
        is_read = (notations == notation) & ~np.isnan(line)
        rules[is_read] = acuity_rule(notation)
        rules[is_read & is_by_letter] = acuity_rule(notation, by_letter=True)
    return rules
