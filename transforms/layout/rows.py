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


def sort_rows(
    table: pd.DataFrame, mapped: list[int], record_number: int, identifying: list[int]
) -> SortedRows:
    """Sorts the rows below the heading.

    `table` holds the sheet's values below the heading, missing words already taken for empty;
    `mapped` the columns that the crosswalk names, `identifying` those that say whose row it is,
    `record_number` the one of the record number. A row with a record number and another
    identifying cell is a record, unless the number is a word for a total; of other rows those that
    begin like a total are none.
    """
    is_filled = table.notna()
    with_number = is_filled[record_number]
    has_identity = with_number & (is_filled[identifying].sum(axis=1) > 1)
    enough = is_filled[mapped].sum(axis=1) >= FILLED_CELLS_OF_A_RECORD
    first_filled = is_filled.to_numpy().argmax(axis=1)
    records: list[int] = []
    left_out: dict[int, int] = {}
    for position, row in enumerate(table.index):
        if not is_filled.iat[position, first_filled[position]]:
            continue
        if has_identity.iat[position]:
            number = cell_text(table.at[row, record_number])
            is_record = normal_form(number) not in vocabulary("footer").words
        else:
            begins = cell_text(table.iat[position, first_filled[position]])
            likely = bool(with_number.iat[position] or enough.iat[position])
            is_record = likely and not _begins_like_footer(begins)
        if is_record:
            records.append(int(row))
        else:
            left_out[int(row)] = int(table.columns[first_filled[position]])
    return SortedRows(records, left_out)


def _begins_like_footer(text: str) -> bool:
    """True for texts that begin with words under which people total or explain a table."""
    words = normal_form(text).split()
    known = vocabulary("footer").words
    return any(" ".join(words[:length]) in known for length in (1, 2, 3) if len(words) >= length)
