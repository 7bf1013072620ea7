"""Rows below a heading: which are records, and which are totals, legends and notes."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from schemas.vocabulary import normal_form, vocabulary
from transforms.reading import cell_text

# A row without a record number is taken for a record when at least this many mapped cells of it
# are filled: a person would see a patient there whose number was forgotten.
FILLED_CELLS_OF_A_RECORD = 3


@dataclass(frozen=True)
class SortedRows:
    """Sheet rows by what they are; `left_out` gives the column of each row's first filled cell."""

    records: list[int]
    left_out: dict[int, int]


def sort_rows(table: pd.DataFrame, mapped: list[int], record_number: int) -> SortedRows:
    """Sorts the rows below the heading.

    `table` holds the sheet's values below the heading, missing words already taken for empty;
    `mapped` the columns that the crosswalk names, `record_number` the one of the record number.
    """
    is_filled = table.notna()
    with_number = is_filled[record_number]
    enough = is_filled[mapped].sum(axis=1) >= FILLED_CELLS_OF_A_RECORD
    first_filled = is_filled.to_numpy().argmax(axis=1)
    records: list[int] = []
    left_out: dict[int, int] = {}
    for position, row in enumerate(table.index):
        if not is_filled.iat[position, first_filled[position]]:
            continue
        first_text = cell_text(table.iat[position, first_filled[position]])
        if (with_number.iat[position] or enough.iat[position]) and not _is_footer(first_text):
            records.append(int(row))
        else:
            left_out[int(row)] = int(table.columns[first_filled[position]])
    return SortedRows(records, left_out)


def _is_footer(text: str) -> bool:
    """True for words under which people total, average or explain a table."""
    words = normal_form(text).split()
    known = vocabulary("footer").words
    return any(" ".join(words[:length]) in known for length in (1, 2, 3) if len(words) >= length)
