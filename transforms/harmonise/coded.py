"""Words to codes: the centre's own codes first, then the vocabulary of the field."""

from __future__ import annotations

from collections.abc import Callable

import pandas as pd

from schemas.conversions import (
    OWN_CODE,
    POSTURE_TEXT,
    TAMPONADE_TEXT,
    TECHNIQUE_TEXT,
    grading_rule,
    words_rule,
)
from schemas.vocabulary import vocabulary
from transforms.harmonise.closure_grades import STATE, read_grades
from transforms.harmonise.context import PROBLEM, RULE, TOLD, Context
from transforms.harmonise.notes.technique import read_posture, read_tamponade, read_technique
from transforms.reading import cell_text

UNKNOWN = "word_unknown"
AMBIGUOUS = "word_ambiguous"


def read_code(values: pd.Series, context: Context) -> pd.DataFrame:
    """Codes of distinct cells, labelled as `values`: the field's column, `rule`, `problem` and
    `told`. The centre's own codes go first, then grades of a published grading, then words."""
    spec = context.field.spec
    assert spec.codes is not None
    own = _own_codes(values, context)
    graded = read_grades(values, context)
    words = _look_up(values, spec.codes.name, context).where(graded[TOLD].isna())
    codes = own.fillna(graded[STATE]).fillna(words)
    rule = pd.Series(words_rule(spec.codes.name), index=values.index, dtype="object")
    rule = rule.mask(graded[STATE].notna(), grading_rule(str(context.source.scheme)))
    problem = _unknown(codes).mask(codes.isna() & graded[TOLD].notna(), AMBIGUOUS)
    return pd.DataFrame(
        {
            context.column: codes,
            RULE: rule.mask(own.notna(), OWN_CODE),
            PROBLEM: problem,
            TOLD: graded[TOLD],
        }
    )


def read_yes_no(values: pd.Series, context: Context) -> pd.DataFrame:
    """Truth of distinct cells; the spreadsheet's own TRUE and FALSE are words like others."""
    own = _own_codes(values, context)
    codes = own.fillna(_look_up(values, "yes_no", context))
    read = codes.map({"yes": True, "no": False}).astype("boolean")
    rule = _by_rule(own, words_rule("yes_no"))
    return pd.DataFrame({context.column: read, RULE: rule, PROBLEM: _unknown(read)})


def read_technique_words(values: pd.Series, context: Context) -> pd.DataFrame:
    """Technique text to its coded fields; the centre's own codes stand for graft materials."""
    return _codes_or_words(values, context, read_technique, TECHNIQUE_TEXT)


def read_tamponade_words(values: pd.Series, context: Context) -> pd.DataFrame:
    """Tamponade text to agent, concentration and viscosity; own codes stand for agents."""
    return _codes_or_words(values, context, read_tamponade, TAMPONADE_TEXT)


def read_posture_words(values: pd.Series, context: Context) -> pd.DataFrame:
    """Posture text to posture and days; the centre's own codes stand for postures."""
    return _codes_or_words(values, context, read_posture, POSTURE_TEXT)


def _codes_or_words(
    values: pd.Series, context: Context, read_words: Callable[[pd.Series, str], pd.DataFrame],
    rule: str,
) -> pd.DataFrame:  # fmt: skip
    own = _own_codes(values, context)
    words = pd.Series(values.map(cell_text).to_numpy(), index=values.index)
    read = read_words(words.mask(own.notna()), context.language)
    read[context.column] = own.fillna(read[context.column])
    return read.assign(**{RULE: _by_rule(own, rule)})


def _by_rule(own: pd.Series, otherwise: str) -> pd.Series:
    """The rule of each cell: the crosswalk's codes, or another."""
    return pd.Series(otherwise, index=own.index, dtype="object").mask(own.notna(), OWN_CODE)


def _own_codes(values: pd.Series, context: Context) -> pd.Series:
    return values.map(lambda value: context.source.own_code(cell_text(value))).astype("str")


def _look_up(values: pd.Series, concept: str, context: Context) -> pd.Series:
    words = vocabulary(concept)
    found = values.map(lambda value: words.code(cell_text(value), context.language))
    return found.astype("str")


def _unknown(read: pd.Series) -> pd.Series:
    return pd.Series(UNKNOWN, index=read.index, dtype="object").where(read.isna(), None)
