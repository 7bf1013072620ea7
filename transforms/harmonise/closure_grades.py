"""Grades of published gradings of the hole: numbers and letters, which mean nothing by themselves.

"Type 2" is flat open in one grading and closed with graft in another: it is read where the
crosswalk names the grading, and ambiguous where it does not.
"""

from __future__ import annotations

import re
from functools import cache

import pandas as pd

from schemas.codes import CLOSED_BROAD, CLOSED_STRICT, CLOSURE
from schemas.conventions import CLOSURE_GRADINGS
from schemas.vocabulary import normal_form, vocabulary
from transforms.harmonise.context import TOLD, Context
from transforms.reading import cell_text

STATE = "state"

# The words for a grade in the five languages, and those that join them to other words.
_TYPED = re.compile(r"(.*?)\b(?:type|typ|tipo|grade|grad|grado|grau) ?(\w+)\b(.*)")
_JOINING = frozenset({"de", "do", "of", "vom"})

_Read = tuple[str | None, str | None]
_NO_GRADE: _Read = (None, None)


def read_grades(values: pd.Series, context: Context) -> pd.DataFrame:
    """Columns `state` of each distinct cell that holds a grade, and `told` of each whose grade may
    be one of several states: both missing for all other cells, and for fields other than a closure.
    """
    is_closure = context.field.spec.codes == CLOSURE
    rows = [_read(cell_text(value), context) if is_closure else _NO_GRADE for value in values]
    return pd.DataFrame(rows, columns=[STATE, TOLD], index=values.index, dtype="object")


def _read(text: str, context: Context) -> _Read:
    plain = normal_form(text)
    typed = _TYPED.fullmatch(plain)
    before, grade, after = typed.groups() if typed else ("", plain, "")
    beside = " ".join(word for word in (before + after).split() if word not in _JOINING)
    word = vocabulary(CLOSURE.name).code_of(beside, context.language) if beside else None
    if beside and word is None:
        return _NO_GRADE
    if context.source.scheme:
        return _by_scheme(_states(context.source.scheme).get(grade), word)
    states = {_states(name)[grade] for name in CLOSURE_GRADINGS if grade in _states(name)}
    if typed and len(states) > 1 and word in (None, "closed_unspecified"):
        return None, _quoted(states)
    return _NO_GRADE


def _by_scheme(state: str | None, word: str | None) -> _Read:
    """The grade's state, unless the words beside it name another."""
    if state is None or word is None or _agree(state, word):
        return state, None
    return None, _quoted({state, word})


def _agree(state: str, word: str) -> bool:
    """A grading may call a flat open hole closed."""
    if word == "closed_unspecified":
        return state in CLOSED_BROAD
    if word == "open_unspecified":
        return state not in CLOSED_STRICT
    return state == word


@cache
def _states(scheme: str) -> dict[str, str]:
    grades = CLOSURE_GRADINGS[scheme].grades
    return {normal_form(grade): state for grade, state in grades.items()}


def _quoted(states: set[str]) -> str:
    return ", ".join(state for state in CLOSURE if state in states)
