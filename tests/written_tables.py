"""Grids of cells written into files of every format that is read, for tests of the whole reading.

`write` takes cells by place, counted from 1, and what a person does to a sheet beside typing.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import xlsxwriter
import xlwt
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import CoveredTableCell, Table, TableCell, TableColumn, TableRow
from odf.text import P

Place = tuple[int, int]
Range = tuple[int, int, int, int]
WORKBOOKS = ("xlsx", "xlsm", "xls", "ods")
TEXTS = ("csv", "tsv")
FORMATS = WORKBOOKS + TEXTS


@dataclass
class Page:
    """One sheet: cells by (row, column), merged ranges, hidden rows and columns, formatted blanks.

    Cells are texts, numbers and datetimes.
    """

    cells: dict[Place, object]
    name: str = "Log"
    merged: list[Range] = field(default_factory=list)
    hidden_rows: set[int] = field(default_factory=set)
    hidden_columns: set[int] = field(default_factory=set)
    blanks: set[Place] = field(default_factory=set)
    is_hidden: bool = False
    freeze_below: int | None = None
    filter_over: Range | None = None

    @property
    def size(self) -> Place:
        places = [*self.cells, *self.blanks]
        return max(row for row, _ in places), max(column for _, column in places)


def page(*rows: Iterable[object], at: Place = (1, 1), **marks: object) -> Page:
    """A page whose cells are the given rows, from `at` on; None is an empty cell."""
    top, left = at
    cells = {
        (top + down, left + right): value
        for down, row in enumerate(rows)
        for right, value in enumerate(row)
        if value is not None
    }
    return Page(cells, **marks)  # type: ignore[arg-type]


def write(kind: str, *pages: Page, decimal: str = ".", encoding: str = "utf-8") -> bytes:
    """The bytes of a file of a kind; text files hold the first page alone."""
    if kind in TEXTS:
        return _write_text(pages[0], "\t" if kind == "tsv" else ";", decimal).encode(encoding)
    return {"xlsx": _write_xlsx, "xlsm": _write_xlsx, "xls": _write_xls, "ods": _write_ods}[kind](
        pages
    )


def as_read(kind: str, value: object, decimal: str = ".") -> object:
    """What a cell that was written with `value` is once read: text files hold texts alone."""
    if kind in TEXTS:
        return _text(value, decimal)
    if isinstance(value, dt.datetime):
        return value.date()
    return float(value) if isinstance(value, int) else value


def _text(value: object, decimal: str) -> str:
    if isinstance(value, dt.datetime):
        return value.date().isoformat()
    if isinstance(value, float):
        return f"{value:g}".replace(".", decimal)
    return str(value)


def _write_text(of: Page, delimiter: str, decimal: str) -> str:
    height, width = of.size
    file = io.StringIO(newline="")
    writer = csv.writer(file, delimiter=delimiter)
    for row in range(1, height + 1):
        cells = [of.cells.get((row, column)) for column in range(1, width + 1)]
        writer.writerow(["" if value is None else _text(value, decimal) for value in cells])
    return file.getvalue()


def _write_xlsx(pages: Iterable[Page]) -> bytes:
    file = io.BytesIO()
    with xlsxwriter.Workbook(file, {"strings_to_numbers": False}) as book:
        day = book.add_format({"num_format": "yyyy-mm-dd"})
        shaded = book.add_format({"bg_color": "#eeeeee"})
        for of in pages:
            sheet = book.add_worksheet(of.name)
            for row, column in of.blanks:
                sheet.write_blank(row - 1, column - 1, None, shaded)
            for (row, column), value in of.cells.items():
                if isinstance(value, dt.datetime):
                    sheet.write_datetime(row - 1, column - 1, value, day)
                elif isinstance(value, str):
                    sheet.write_string(row - 1, column - 1, value)
                else:
                    sheet.write(row - 1, column - 1, value)
            for top, left, bottom, right in of.merged:
                sheet.merge_range(
                    top - 1, left - 1, bottom - 1, right - 1, of.cells.get((top, left), "")
                )
            for row in of.hidden_rows:
                sheet.set_row(row - 1, None, None, {"hidden": True})
            for column in of.hidden_columns:
                sheet.set_column(column - 1, column - 1, None, None, {"hidden": True})
            if of.freeze_below:
                sheet.freeze_panes(of.freeze_below, 0)
            if of.filter_over:
                top, left, bottom, right = of.filter_over
                sheet.autofilter(top - 1, left - 1, bottom - 1, right - 1)
            if of.is_hidden:
                sheet.hide()
    return file.getvalue()


def _write_xls(pages: Iterable[Page]) -> bytes:
    book = xlwt.Workbook()
    day = xlwt.easyxf(num_format_str="yyyy-mm-dd")
    shaded = xlwt.easyxf("pattern: pattern solid, fore_colour gray25")
    for of in pages:
        sheet = book.add_sheet(of.name, cell_overwrite_ok=True)
        for row, column in of.blanks:
            sheet.write(row - 1, column - 1, "", shaded)
        for (row, column), value in of.cells.items():
            style = [day] if isinstance(value, dt.datetime) else []
            sheet.write(row - 1, column - 1, value, *style)
        for top, left, bottom, right in of.merged:
            sheet.merge(top - 1, bottom - 1, left - 1, right - 1)
        for row in of.hidden_rows:
            sheet.row(row - 1).hidden = True
        for column in of.hidden_columns:
            sheet.col(column - 1).hidden = True
        if of.is_hidden:
            sheet.visibility = 1
    if all(of.is_hidden for of in pages):
        raise ValueError("a workbook shows one sheet at least")
    book.set_active_sheet(next(n for n, of in enumerate(pages) if not of.is_hidden))
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def _write_ods(pages: Iterable[Page]) -> bytes:
    document = OpenDocumentSpreadsheet()
    for of in pages:
        height, width = of.size
        table = Table(name=of.name)
        for column in range(1, width + 1):
            hidden = {"visibility": "collapse"} if column in of.hidden_columns else {}
            table.addElement(TableColumn(**hidden))
        spans = {(top, left): (bottom, right) for top, left, bottom, right in of.merged}
        covered = {
            (row, column)
            for top, left, bottom, right in of.merged
            for row in range(top, bottom + 1)
            for column in range(left, right + 1)
        } - set(spans)
        for row in range(1, height + 1):
            line = TableRow(**({"visibility": "collapse"} if row in of.hidden_rows else {}))
            for column in range(1, width + 1):
                line.addElement(_ods_cell(of.cells, (row, column), spans, covered))
            table.addElement(line)
        document.spreadsheet.addElement(table)
    file = io.BytesIO()
    document.write(file)
    return file.getvalue()


def _ods_cell(
    cells: Mapping[Place, object], place: Place, spans: Mapping[Place, Place], covered: set[Place]
) -> TableCell:
    if place in covered:
        return CoveredTableCell()
    marks: dict[str, object] = {}
    if place in spans:
        bottom, right = spans[place]
        marks["numberrowsspanned"] = bottom - place[0] + 1
        marks["numbercolumnsspanned"] = right - place[1] + 1
    value = cells.get(place)
    if value is None:
        return TableCell(**marks)
    if isinstance(value, dt.datetime):
        cell = TableCell(valuetype="date", datevalue=value.date().isoformat(), **marks)
    elif isinstance(value, str):
        cell = TableCell(valuetype="string", **marks)
    else:
        cell = TableCell(valuetype="float", value=value, **marks)
    cell.addElement(P(text=str(value)))
    return cell
