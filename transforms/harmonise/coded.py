"""Words to codes: the centre's own codes first, then the vocabulary of the field."""

from __future__ import annotations

from collections.abc import Callable

import pandas as pd

from schemas.vocabulary import vocabulary
from transforms.harmonise.context import PROBLEM, Context
from transforms.harmonise.technique import read_tamponade, read_technique
from transforms.reading import cell_text

UNKNOWN = "word_unknown"


def read_code(values: pd.Series, context: Context) -> pd.DataFrame:
    """Codes of distinct cells; returns the field's column and `problem`, labelled as `values`."""
    spec = context.field.spec
    assert spec.codes is not None
    codes = _look_up(values, spec.codes.name, context)
    return pd.DataFrame({context.column: codes, PROBLEM: _unknown(codes)})


def read_yes_no(values: pd.Series, context: Context) -> pd.DataFrame:
    """Truth of distinct cells; the spreadsheet's own TRUE and FALSE are words like others."""
    codes = _look_up(values, "yes_no", context)
    read = codes.map({"yes": True, "no": False}).astype("boolean")
    return pd.DataFrame({context.column: read, PROBLEM: _unknown(read)})


def read_technique_words(values: pd.Series, context: Context) -> pd.DataFrame:
    """Technique text to its coded fields; the centre's own codes stand for graft materials."""
    return _codes_or_words(values, context, read_technique)


def read_tamponade_words(values: pd.Series, context: Context) -> pd.DataFrame:
    """Tamponade text to agent and concentration; the centre's own codes stand for agents."""
    return _codes_or_words(values, context, read_tamponade)


def _codes_or_words(
    values: pd.Series, context: Context, read_words: Callable[[pd.Series, str], pd.DataFrame]
) -> pd.DataFrame:
    own = _own_codes(values, context).dropna()
    words = pd.Series(values.map(cell_text).to_numpy(), index=values.index)
    read = read_words(words, context.language)
    read.loc[own.index, context.column] = own
    read.loc[own.index, PROBLEM] = None
    return read


def _own_codes(values: pd.Series, context: Context) -> pd.Series:
    return values.map(lambda value: context.source.own_code(cell_text(value))).astype("str")


def _look_up(values: pd.Series, concept: str, context: Context) -> pd.Series:
    words = vocabulary(concept)
    general = values.map(lambda value: words.code(cell_text(value), context.language))
    return _own_codes(values, context).fillna(general.astype("str"))


def _unknown(read: pd.Series) -> pd.Series:
    return pd.Series(UNKNOWN, index=read.index, dtype="object").where(read.isna(), None)
