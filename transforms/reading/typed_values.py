"""Typed values of a workbook's sheets, as frames that start at A1."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from contextlib import contextmanager
from io import BytesIO

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
from transforms.reading.workbook import (
    Cell,
    Kind,
    Range,
    Sheet,
    SheetState,
    Structure,
    UnreadableUpload,
    Workbook,
    refuse_extent,
)

Cells = NDArray[np.object_]

_STATES: dict[str, SheetState] = {
    str(SheetVisibleEnum.Visible): "visible",
    str(SheetVisibleEnum.Hidden): "hidden",
    str(SheetVisibleEnum.VeryHidden): "very_hidden",
}


def read_sheets(content: bytes, kind: Kind, structure_of: Callable[[str], Structure]) -> Workbook:
    """The workbook, its values read by calamine and completed by `structure_of(sheet name)`.

    Sheets that hold no cells (charts, macros) are left out.
    """
    with _damage_told():
        book = CalamineWorkbook.from_filelike(BytesIO(content))
        sheets = tuple(
            _sheet(book.get_sheet_by_name(found.name), _STATES[str(found.visible)], structure_of)
            for found in book.sheets_metadata
            if found.typ == SheetTypeEnum.WorkSheet
        )
    if not sheets:
        raise UnreadableUpload("the workbook has no sheet of cells; send the one with the tables")
    return Workbook(sheets, kind)


@contextmanager
def _damage_told() -> Iterator[None]:
    """Turns calamine's complaints into refusals; their own words may hold a value."""
    try:
        yield
    except PasswordError:
        raise UnreadableUpload(PASSWORD) from None
    except CalamineError:
        raise UnreadableUpload(DAMAGED) from None
    except BaseException as stopped:
        # A failed assertion inside calamine comes as a class that cannot be imported, and that
        # derives from BaseException alone. All others pass.
        if type(stopped).__name__ != "PanicException":
            raise
        raise UnreadableUpload(DAMAGED) from None


def _sheet(
    source: CalamineSheet, state: SheetState, structure_of: Callable[[str], Structure]
) -> Sheet:
    structure = structure_of(source.name)
    last_row, last_column = source.end or (-1, -1)
    refuse_extent(last_row + 1, last_column + 1, source.name)
    rows = source.to_python(skip_empty_area=False)
    errors = structure.errors or {}
    values = frame_of(rows, without_value=[*errors, *structure.uncached])
    merged = structure.merged or _merged_ranges(source)
    return Sheet(
        name=source.name,
        values=values,
        state=state,
        hidden_rows=_within(structure.hidden_rows, len(values.index)),
        hidden_columns=_within(structure.hidden_columns, len(values.columns)),
        merged=merged,
        errors=errors,
        uncached=structure.uncached,
    )


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
    filled = [
        [None if type(value) is str and not value.strip() else value for value in row]
        for row in rows
    ]
    cells = np.empty((len(rows), len(rows[0]) if rows else 0), dtype=object)
    if cells.size:
        cells[:] = filled
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
