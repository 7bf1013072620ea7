"""Rows below a heading: which are records, and which are totals, legends and notes."""

from __future__ import annotations

import re
from dataclasses import dataclass

from schemas.vocabulary import normal_form, vocabulary
from transforms.layout.body import Body
from transforms.reading import cell_text

# A row without a record number is taken for a record when at least this many mapped cells of it
# are filled: a person would see a patient there whose number was forgotten.
FILLED_CELLS_OF_A_RECORD = 3
# A cell that stands alone in its row and begins with such a mark, or has more words than a record
# number has, is a note below the table.
FOOTNOTE_MARKS = ("*", "†", "‡", "§", "¶")
MOST_WORDS_OF_A_NUMBER = 3
_YEAR = re.compile(r"(19|20)\d\d\b")
_COUNT = re.compile(r"[nN]\s*=|[ΣØ∑⌀]")


@dataclass(frozen=True)
class SortedRows:
    """Sheet rows by what they are; `left_out` gives the column of each row's first filled cell."""

    records: list[int]
    left_out: dict[int, int]


def sort_rows(
    body: Body, mapped: list[int], record_number: int, identifying: list[int]
) -> SortedRows:
    """Sorts the rows below the heading.

    `mapped` are the columns that the crosswalk names, `identifying` those that say whose row it is,
    `record_number` the one of the record number. A row with a record number and another
    identifying cell is a record, unless the number is a word for a total; of other rows those that
    begin like a total are none. A row of which every filled cell belongs to a merged cell that
    began above is empty.
    """
    values = body.values
    has_value = values.notna()
    with_number = has_value[record_number].to_numpy()
    has_identity = with_number & (has_value[identifying].sum(axis=1) > 1).to_numpy()
    enough = (has_value[mapped].sum(axis=1) >= FILLED_CELLS_OF_A_RECORD).to_numpy()
    is_filled = body.is_filled.to_numpy()
    first_filled = is_filled.argmax(axis=1) if is_filled.size else []
    records: list[int] = []
    left_out: dict[int, int] = {}
    for position, row in enumerate(values.index):
        first = first_filled[position] if len(values.columns) else 0
        if not is_filled[position, first]:
            continue
        if has_identity[position]:
            number = cell_text(values.at[row, record_number])
            is_total = normal_form(number) in vocabulary("footer").words
            counts = [values.at[row, column] for column in identifying if column != record_number]
            # Beside "Total eyes" an eye or a date is a bare number.
            is_count = any(cell_text(value).strip().isdigit() for value in counts)
            is_record = not is_total and not (is_count and _begins_like_footer(number))
        else:
            begins = cell_text(values.iat[position, first])
            likely = bool(with_number[position] or enough[position])
            is_alone = is_filled[position].sum() == 1
            is_note = _begins_like_footer(begins) or (is_alone and _is_footnote(begins))
            is_record = likely and not is_note
        if is_record:
            records.append(int(row))
        else:
            left_out[int(row)] = int(values.columns[first])
    return SortedRows(records, left_out)


def _begins_like_footer(text: str) -> bool:
    """True for texts that begin with words under which people total or explain a table."""
    if _COUNT.match(text):
        return True
    words = normal_form(text).split()
    known = vocabulary("footer").words
    return any(" ".join(words[:length]) in known for length in (1, 2, 3) if len(words) >= length)


def _is_footnote(text: str) -> bool:
    """True for a text alone in its row that is no record number: it has no figure, is a year, has
    many words or begins with a mark."""
    has_figure = any(char.isdigit() for char in text)
    is_long = len(text.split()) > MOST_WORDS_OF_A_NUMBER
    return not has_figure or is_long or text.startswith(FOOTNOTE_MARKS) or bool(_YEAR.match(text))
