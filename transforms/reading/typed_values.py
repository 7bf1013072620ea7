"""Typed values of a workbook's sheets, as frames that start at A1."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from io import BytesIO
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from python_calamine import (
    CalamineError,
    CalamineSheet,
    CalamineWorkbook,
    PasswordError,
    SheetTypeEnum,
    SheetVisibleEnum,
)

from transforms.reading.archive import DAMAGED, PASSWORD
from transforms.reading.sheet_names import refuse_names
from transforms.reading.typed_text import SIGNIFICANT_DIGITS
from transforms.reading.workbook import (
    MOST_CELLS,
    BookStructure,
    Cell,
    PerCent,
    Range,
    Sheet,
    SheetState,
    Structure,
    UnreadableUpload,
    Workbook,
    refuse_extent,
    sheet_number,
)

Rows = list[list[Any]]
Cells = NDArray[np.object_]

_STATES: dict[str, SheetState] = {
    str(SheetVisibleEnum.Visible): "visible",
    str(SheetVisibleEnum.Hidden): "hidden",
    str(SheetVisibleEnum.VeryHidden): "very_hidden",
}

# Spreadsheets that count from 1900 call number 60 the 29th of February, a day that never was;
# calamine gives the day before, which is number 59 (ECMA-376 part 1, 18.17.4.1).
_DAY_BEFORE = date(1900, 2, 28)
_DAY_THAT_NEVER_WAS = "1900-02-29"

_ENDLESS_DURATION = (
    "a cell is formatted as a duration and holds more than a million years; format it as a number, "
    "save and send it again"
)


def read_sheets(content: bytes, structure: BookStructure) -> Workbook:
    """The workbook, its values read by calamine and completed by what its structure says.

    The structure comes first: calamine asks for memory by the extent of a sheet, and a far-out cell
    in a file of 5 KB would end the process. Sheets without cells (charts, macros) are left out.
    """
    _refuse_many_cells(structure)
    with _damage_told():
        book = CalamineWorkbook.from_filelike(BytesIO(content))
        found = book.sheets_metadata
        refuse_names([sheet.name for sheet in found], structure.kind)
        if len(found) != len(structure.sheets):
            raise UnreadableUpload(DAMAGED)
        sheets = tuple(
            _sheet(book.get_sheet_by_index(place), _STATES[str(sheet.visible)], said, place)
            for place, (sheet, said) in enumerate(zip(found, structure.sheets, strict=True))
            if sheet.typ == SheetTypeEnum.WorkSheet
        )
    if not sheets:
        raise UnreadableUpload("the workbook has no sheet of cells; send the one with the tables")
    return Workbook(sheets, structure.kind, structure.epoch)


def _refuse_many_cells(structure: BookStructure) -> None:
    cells = sum(sheet.extent[0] * sheet.extent[1] for sheet in structure.sheets)
    if cells > MOST_CELLS:
        raise UnreadableUpload(
            f"the sheets of the workbook hold more than {MOST_CELLS:,} cells together; "
            "send a workbook of the sheets with the tables alone"
        )


@contextmanager
def _damage_told() -> Iterator[None]:
    """Turns calamine's complaints into refusals; their own words may hold a value."""
    try:
        yield
    except PasswordError:
        raise UnreadableUpload(PASSWORD) from None
    except CalamineError:
        raise UnreadableUpload(DAMAGED) from None
    except OverflowError:
        raise UnreadableUpload(_ENDLESS_DURATION) from None
    except BaseException as stopped:
        # A failed assertion inside calamine comes as a class that cannot be imported, and that
        # derives from BaseException alone. All others pass.
        if type(stopped).__name__ != "PanicException":
            raise
        raise UnreadableUpload(DAMAGED) from None


def _sheet(source: CalamineSheet, state: SheetState, structure: Structure, place: int) -> Sheet:
    last_row, last_column = source.end or (-1, -1)
    refuse_extent(last_row + 1, last_column + 1, sheet_number(place + 1))
    rows = source.to_python(skip_empty_area=False)
    _mend(rows, structure)
    values = frame_of(rows, without_value=[*structure.errors, *structure.uncached])
    return Sheet(
        name=source.name,
        values=values,
        state=state,
        hidden_rows=_within(structure.hidden_rows, len(values.index)),
        hidden_columns=_within(structure.hidden_columns, len(values.columns)),
        merged=structure.merged or _merged_ranges(source),
        errors=structure.errors,
        uncached=structure.uncached,
    )


def _mend(rows: Rows, structure: Structure) -> None:
    """Puts in place what calamine cannot give."""
    for row, column in _inside(rows, structure.per_cent):
        if type(value := rows[row][column]) in (float, int):  # whole numbers of .xls are int
            rows[row][column] = PerCent(format(100 * value, SIGNIFICANT_DIGITS))
    for row, column in _inside(rows, structure.dayless):
        if isinstance(value := rows[row][column], date):
            rows[row][column] = f"{value:%Y-%m}"
    for row, column in _inside(rows, structure.sixties):
        if _is_day(rows[row][column], _DAY_BEFORE):
            rows[row][column] = _DAY_THAT_NEVER_WAS
    for row, column in _inside(rows, structure.texts):
        if type(rows[row][column]) is str:
            rows[row][column] = structure.texts[row + 1, column + 1]


def _inside(rows: Rows, places: Iterable[Cell]) -> Iterator[Cell]:
    """Places within the rows, counted from 0."""
    height, width = len(rows), len(rows[0]) if rows else 0
    return ((row - 1, column - 1) for row, column in places if row <= height and column <= width)


def _is_day(value: object, day: date) -> bool:
    if not isinstance(value, date):
        return False
    return (value.year, value.month, value.day) == (day.year, day.month, day.day)


def _merged_ranges(source: CalamineSheet) -> tuple[Range, ...]:
    return tuple(
        (first[0] + 1, first[1] + 1, last[0] + 1, last[1] + 1)
        for first, last in source.merged_cell_ranges or ()
    )


def _within(spans: Iterable[tuple[int, int]], last: int) -> frozenset[int]:
    """The numbers of all spans, as far as the table reaches."""
    return frozenset(number for first, end in spans for number in range(first, min(end, last) + 1))


def frame_of(rows: Sequence[Sequence[object]], without_value: Collection[Cell]) -> pd.DataFrame:
    """Rows of equal length, the first cell at A1, as a frame of objects labelled from 1.

    Cells of white space become None, and so do those `without_value`: what stands for an error is
    0 in some kinds of file. Rows and columns after the last cell in use are dropped.
    """
    width = len(rows[0]) if rows else 0
    flat = np.empty(len(rows) * width, dtype=object)
    flat[:] = [
        None if type(value) is str and (not value or value.isspace()) else value
        for row in rows
        for value in row
    ]
    cells = flat.reshape(len(rows), width)
    height = max([_filled(cells), *(row for row, _ in without_value)])
    width = max([_filled(cells.T), *(column for _, column in without_value)])
    cells = _resized(cells, height, width)
    for row, column in without_value:
        cells[row - 1, column - 1] = None
    return pd.DataFrame(
        cells,
        index=pd.RangeIndex(1, height + 1),
        columns=pd.RangeIndex(1, width + 1),
        dtype=object,
    )


def _filled(lines: Cells) -> int:
    """Number of lines up to the last that holds anything."""
    count = len(lines)
    while count and all(value is None for value in lines[count - 1]):
        count -= 1
    return count


def _resized(cells: Cells, height: int, width: int) -> Cells:
    if height <= cells.shape[0] and width <= cells.shape[1]:
        return cells[:height, :width]
    larger = np.full((height, width), None, dtype=object)
    rows, columns = min(height, cells.shape[0]), min(width, cells.shape[1])
    larger[:rows, :columns] = cells[:rows, :columns]
    return larger
