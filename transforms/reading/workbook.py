"""What a spreadsheet is once read: sheets of typed values, each with its place."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Literal

import pandas as pd

from schemas.decimal_mark import DecimalMark
from transforms.reading.addresses import address

# A table of 5,000 rows by 60 columns has 300,000 cells. Readers hold the whole rectangle from A1 to
# the last filled cell in memory, filled or not.
MOST_CELLS = 2_000_000

# A sheet of current spreadsheet programs ends at XFD1048576 ("Excel specifications and limits",
# support.microsoft.com; from memory).
MOST_ROWS = 1_048_576
MOST_COLUMNS = 16_384

# What a spreadsheet shows where a formula fails: the values that a workbook may store (ECMA-376
# part 1, 18.18.11), and those of newer functions, which occur in exports.
STORED_ERRORS = frozenset({"#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!"})
ERROR_VALUES = STORED_ERRORS | {
    "#SPILL!", "#CALC!", "#GETTING_DATA", "#FIELD!", "#BLOCKED!", "#CONNECT!", "#UNKNOWN!", "#BUSY!"
}  # fmt: skip
OTHER_ERROR = "#ERROR!"

Kind = Literal["xlsx", "xls", "ods", "csv"]
Epoch = Literal[1900, 1904]
SheetState = Literal["visible", "hidden", "very_hidden"]
Cell = tuple[int, int]
Range = tuple[int, int, int, int]


class UnreadableUpload(Exception):
    """An upload that cannot be taken; `reason` is one line that says why and how to mend it.

    It never holds a value of the upload, nor a path.
    """

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


class PerCent(float):
    """A number that its cell shows as per cent: 14.0 where the sheet shows 14 %."""


@dataclass(frozen=True)
class Sheet:
    """One sheet. All places are (row, column) of the sheet, counted from 1, as in R1C1.

    `values` has one row and one column for each of the sheet's, from A1 to the last cell in use:
    its index and columns are the sheet's numbers. Values are str, int or float (a whole number in a
    workbook is a float), PerCent, bool, date, datetime, time or timedelta; a date that its cell
    shows without a day is the text of year and month. They are None where the cell is empty, holds
    only white space or an error, or where a formula has no stored result.

    `merged` holds (first row, first column, last row, last column). `long_rows` are rows of a text
    table with more cells, empty ones counted, than most of its rows have.
    """

    name: str
    values: pd.DataFrame
    state: SheetState
    hidden_rows: frozenset[int]
    hidden_columns: frozenset[int]
    merged: tuple[Range, ...]
    errors: Mapping[Cell, str]
    uncached: frozenset[Cell]
    long_rows: frozenset[int] = frozenset()


@dataclass(frozen=True)
class Workbook:
    """A spreadsheet file: its sheets in order. A text file is one sheet named "csv".

    `epoch` is the year from whose beginning the file counts days; it is not known of text. Of text
    alone are known the encoding, whether another fits as well, the delimiter, and the decimal mark
    of its numbers where they show one.
    """

    sheets: tuple[Sheet, ...]
    kind: Kind
    epoch: Epoch | None = None
    encoding: str | None = None
    encoding_is_certain: bool = True
    delimiter: str | None = None
    decimal: DecimalMark | None = None


@dataclass(frozen=True)
class Structure:
    """What a sheet's own bytes say beside the values; rows and columns as (first, last) spans.

    `extent` is the last row and column in use, (0, 0) where none is. `per_cent` are cells shown as
    per cent, `dayless` those that show a date without its day, `sixties` those that hold the number
    60, and `texts` what the reader of values would give with some of its marks left out.
    """

    extent: Cell = (0, 0)
    hidden_rows: Iterable[tuple[int, int]] = ()
    hidden_columns: Iterable[tuple[int, int]] = ()
    merged: tuple[Range, ...] = ()
    errors: Mapping[Cell, str] = field(default_factory=dict)
    uncached: frozenset[Cell] = frozenset()
    per_cent: frozenset[Cell] = frozenset()
    dayless: frozenset[Cell] = frozenset()
    sixties: frozenset[Cell] = frozenset()
    texts: Mapping[Cell, str] = field(default_factory=dict)


@dataclass(frozen=True)
class BookStructure:
    """What a file's own bytes say beside the values; `sheets` in the file's order, charts too."""

    kind: Kind
    epoch: Epoch
    sheets: tuple[Structure, ...]


def sheet_number(place: int) -> str:
    """How a reason names a sheet: its name may be a patient's."""
    return f"sheet {place} of the workbook (hidden ones counted)"


def is_within(last_row: int, last_column: int) -> bool:
    """Whether a table that reaches so far can be held."""
    return (
        last_row <= MOST_ROWS
        and last_column <= MOST_COLUMNS
        and last_row * last_column <= MOST_CELLS
    )


def refuse_extent(last_row: int, last_column: int, table: str) -> None:
    """Raise UnreadableUpload where a table reaches further out than can be held."""
    if is_within(last_row, last_column):
        return
    limit = f"{MOST_CELLS:,} cells"
    if last_row > MOST_ROWS:
        limit = f"{MOST_ROWS:,} rows"
    if last_column > MOST_COLUMNS:
        limit = f"{MOST_COLUMNS:,} columns"
    raise UnreadableUpload(
        f"{table} is in use as far as row {last_row} and column {last_column} "
        f"({address(last_row, last_column)}), more than {limit}; "
        "delete the rows and columns beyond the table, save and send it again"
    )


def error_value(text: str) -> str:
    """The error that a cell shows; anything that is no known error becomes #ERROR!."""
    return text if text in ERROR_VALUES else OTHER_ERROR
