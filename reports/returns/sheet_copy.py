"""One sheet as it was read, written back with its flagged cells filled and commented."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping

import pandas as pd
from xlsxwriter.worksheet import Worksheet

from reports.returns.listing import Item
from reports.returns.marks import CellFormats, comment, gravest
from transforms.reading import PerCent, Sheet, cell_text

CELL_LENGTH = 32_767  # characters that a cell can hold
_FIRST_YEAR = 1900  # of the dates that a spreadsheet can hold
_LARGEST_MERGE = 1_000  # cells; a merge over a whole column is a habit, not a layout
_WIDTHS = (8, 40)
_ROWS_FOR_WIDTH = 200

Position = tuple[int, int]


def write_sheet(
    worksheet: Worksheet, sheet: Sheet, flagged: Mapping[Position, list[Item]], formats: CellFormats
) -> None:
    """Write the sheet's cells at their addresses, typed; hidden rows and columns stay hidden.

    `flagged` maps (row, column), from 1, to the findings about that cell, empty cells included.
    """
    cells = _cells(sheet)
    for position in sorted({*cells, *flagged}):
        items = flagged.get(position, [])
        _write_cell(worksheet, position, cells.get(position), formats, gravest(items))
        if items:
            _write_comment(worksheet, position, comment(items))
    _merge(worksheet, sheet, cells, flagged, formats)
    _set_columns(worksheet, sheet)
    for row in sheet.hidden_rows:
        if row <= max(sheet.values.index, default=0):
            worksheet.set_row(row - 1, None, None, {"hidden": True})
    worksheet.set_landscape()
    worksheet.fit_to_pages(1, 0)
    if sheet.state == "hidden":
        worksheet.hide()
    elif sheet.state == "very_hidden":
        worksheet.very_hidden()


def _cells(sheet: Sheet) -> dict[Position, object]:
    """The cells that hold something, errors of the spreadsheet as their text, by position."""
    cells: dict[Position, object] = dict(sheet.errors)
    columns = [int(column) for column in sheet.values.columns]
    rows = sheet.values.itertuples(index=False, name=None)
    for row, values in zip(sheet.values.index, rows, strict=True):
        for column, value in zip(columns, values, strict=True):
            if value is not None and value is not pd.NaT:
                cells[row, column] = value
    return cells


def _write_cell(
    worksheet: Worksheet,
    position: Position,
    value: object,
    formats: CellFormats,
    action: str | None,
) -> None:
    row, column = position[0] - 1, position[1] - 1
    if value is None:
        worksheet.write_blank(row, column, None, formats.of(action))
    elif isinstance(value, bool):
        worksheet.write_boolean(row, column, value, formats.of(action))
    elif isinstance(value, PerCent):
        shown = "0%" if value.is_integer() else "0.00%"
        worksheet.write_number(row, column, value / 100, formats.of(action, shown))
    elif isinstance(value, int | float) and math.isfinite(value):
        worksheet.write_number(row, column, value, formats.of(action))
    elif date_format := _date_format(value):
        worksheet.write_datetime(row, column, value, formats.of(action, date_format))
    else:
        worksheet.write_string(row, column, cell_text(value)[:CELL_LENGTH], formats.of(action))


def _date_format(value: object) -> str | None:
    """The number format of a date or time that a spreadsheet can hold, else None."""
    if isinstance(value, dt.timedelta):
        return "[h]:mm:ss" if value >= dt.timedelta(0) else None
    if isinstance(value, dt.time):
        return "hh:mm:ss"
    if not isinstance(value, dt.date) or value.year < _FIRST_YEAR:
        return None
    if isinstance(value, dt.datetime) and value.time() != dt.time():
        return "yyyy-mm-dd hh:mm:ss"
    return "yyyy-mm-dd"


def _write_comment(worksheet: Worksheet, position: Position, text: str) -> None:
    lines = sum(1 + len(paragraph) // 42 for paragraph in text.split("\n"))
    worksheet.write_comment(
        position[0] - 1, position[1] - 1, text[:CELL_LENGTH],
        {"author": "foveapool", "width": 260, "height": 24 + 14 * lines, "font_size": 9},
    )  # fmt: skip


def _merge(
    worksheet: Worksheet,
    sheet: Sheet,
    cells: Mapping[Position, object],
    flagged: Mapping[Position, list[Item]],
    formats: CellFormats,
) -> None:
    """Keep the merged ranges that hide nothing: no value or flag beyond the first cell."""
    kept: set[Position] = set()
    for first_row, first_column, last_row, last_column in sheet.merged:
        size = (last_row - first_row + 1) * (last_column - first_column + 1)
        if not 1 < size <= _LARGEST_MERGE:
            continue
        first = (first_row, first_column)
        covered = {
            (row, column)
            for row in range(first_row, last_row + 1)
            for column in range(first_column, last_column + 1)
        }
        inner = covered - {first}
        if covered & kept or any(position in cells or position in flagged for position in inner):
            continue
        kept |= covered
        action = gravest(flagged.get(first, []))
        worksheet.merge_range(
            first_row - 1, first_column - 1, last_row - 1, last_column - 1, "", formats.of(action)
        )
        # The range was just written as blanks; its value goes back on top.
        _write_cell(worksheet, first, cells.get(first), formats, action)


def _set_columns(worksheet: Worksheet, sheet: Sheet) -> None:
    """Width by what the first rows of the table hold; hidden columns stay hidden."""
    narrowest, widest = _WIDTHS
    # A row with one filled cell is a title, which may run on over its neighbours.
    first_rows = sheet.values[sheet.values.notna().sum(axis=1) > 1].head(_ROWS_FOR_WIDTH)
    for position, column in enumerate(int(name) for name in first_rows.columns):
        longest = max((len(cell_text(value)) for value in first_rows.iloc[:, position]), default=0)
        worksheet.set_column(
            column - 1, column - 1, min(max(longest + 1, narrowest), widest), None,
            {"hidden": column in sheet.hidden_columns},
        )  # fmt: skip
