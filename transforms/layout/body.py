"""The cells below a heading: what is empty, what an error, what one cell over several rows."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from transforms.layout.headings import heading_form
from transforms.layout.stretches import Stretch
from transforms.reading import Sheet, cell_text
from transforms.reading.workbook import Cell
from transforms.records import UNSTORED_FORMULA

_NUMBER = re.compile(r"[+-]?\d+([.,]\d+)?")


@dataclass(frozen=True)
class Body:
    """Values of a stretch, labelled by sheet row and column.

    `covered` names, for cells that a merged cell above covers and whose value is its, the cell that
    holds it. `is_filled` tells which cells hold something themselves.
    """

    values: pd.DataFrame
    is_filled: pd.DataFrame
    covered: dict[Cell, Cell]


def body_of(
    sheet: Sheet, stretch: Stretch, mapped: Collection[int], missing: tuple[str, ...]
) -> Body:
    """The rows of a stretch; in mapped columns the crosswalk's words for missing are empty.

    Error cells, and formulas whose value was not stored, stand as a text of their own, so that they
    are no silent gaps. A cell merged over several rows of one column stands in all of them.
    """
    rows = [row for first, last in stretch.rows for row in range(first, last + 1)]
    values = sheet.values.loc[rows, list(stretch.columns)].copy()
    _put_marks(values, {**dict.fromkeys(sheet.uncached, UNSTORED_FORMULA), **sheet.errors})
    is_missing = _MissingWords(missing)
    for column in mapped:
        values[column] = values[column].mask(values[column].map(is_missing).astype(bool), None)
    is_filled = values.notna()
    return Body(values, is_filled, _spread_down(values, sheet, mapped))


def _put_marks(values: pd.DataFrame, marks: Mapping[Cell, str]) -> None:
    """Puts texts into cells, a column at a time."""
    by_column: dict[int, dict[int, str]] = {}
    for (row, column), text in marks.items():
        by_column.setdefault(column, {})[row] = text
    for column, texts in by_column.items():
        rows = values.index.intersection(list(texts))
        if column in values.columns and len(rows):
            values.loc[rows, column] = [texts[row] for row in rows]


class _MissingWords:
    """The centre's words for a missing value."""

    def __init__(self, words: tuple[str, ...]) -> None:
        self._forms = {"", *(heading_form(word) for word in words)}
        self._numbers = {
            float(form.replace(",", ".")) for form in self._forms if _NUMBER.fullmatch(form)
        }

    def __call__(self, value: object) -> bool:
        if value is None:
            return True
        if isinstance(value, str):
            return heading_form(value) in self._forms
        if isinstance(value, float | int) and not isinstance(value, bool):
            return value in self._numbers
        return heading_form(cell_text(value)) in self._forms


def _spread_down(values: pd.DataFrame, sheet: Sheet, mapped: Collection[int]) -> dict[Cell, Cell]:
    """Puts the value of a cell that is merged over several rows into all of them.

    Of merged cells that lie over each other, which no spreadsheet program makes, the upper counts.
    """
    covered: dict[Cell, Cell] = {}
    for first_row, column, last_row, last_column in sorted(sheet.merged):
        holder = (first_row, column)
        if column != last_column or column not in mapped or holder in covered:
            continue
        if first_row == last_row or first_row not in values.index:
            continue
        begin, end = values.index.searchsorted([first_row, last_row], side="right")
        below = values.index[begin:end]
        empty = below[values[column].iloc[begin:end].isna()]
        held: Any = values.at[first_row, column]
        values.loc[empty, column] = [held] * len(empty)
        covered |= {(int(row), column): holder for row in empty}
    return covered
