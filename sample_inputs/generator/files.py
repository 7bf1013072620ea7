"""Turns grids into the bytes of .xlsx, .csv and .ods files, the same bytes every time."""

from __future__ import annotations

import csv
import io
import zipfile
from datetime import date, datetime

import xlsxwriter
from odf import dc, meta, office, style, table, text
from odf.opendocument import OpenDocumentSpreadsheet

from sample_inputs.generator.grid import File, Grid
from sample_inputs.generator.records import ErrorValue, Formula, Written

MADE = datetime(2026, 11, 9, 8, 0, 0)
_ZIP_TIME = (2026, 11, 9, 8, 0, 0)


def file_bytes(file: File) -> bytes:
    """The file's content, by the ending of its name."""
    if file.name.endswith(".csv"):
        return _csv_bytes(file)
    return _ods_bytes(file) if file.name.endswith(".ods") else _xlsx_bytes(file)


def cut_short(content: bytes) -> bytes:
    """The first part of a file, as a broken transfer leaves it.

    The archive is stored without compression first: the bytes then hang on no library's version.
    """
    stored = _rezipped(content, zipfile.ZIP_STORED)
    return stored[: len(stored) * 3 // 5]


def _rezipped(content: bytes, compression: int) -> bytes:
    target = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as source, zipfile.ZipFile(target, "w") as archive:
        for name in source.namelist():
            info = zipfile.ZipInfo(name, _ZIP_TIME)
            info.compress_type = zipfile.ZIP_STORED if name == "mimetype" else compression
            info.create_system = 3
            archive.writestr(info, source.read(name))
    return target.getvalue()


def _csv_bytes(file: File) -> bytes:
    (grid,) = file.grids
    target = io.StringIO(newline="")
    writer = csv.writer(target, delimiter=";", lineterminator="\r\n")
    width = max(column for _, column in grid.values)
    for row in range(1, grid.last_row + 1):
        writer.writerow([_as_text(grid.values.get((row, c))) for c in range(1, width + 1)])
    mark = "\ufeff" if file.encoding == "utf-16-le" else ""
    return (mark + target.getvalue()).encode(file.encoding)


def _as_text(value: Written) -> str:
    if isinstance(value, date):
        return value.strftime("%d/%m/%Y")
    if isinstance(value, float):
        return str(value).replace(".", ",")
    return "" if value is None else str(value)


def _xlsx_bytes(file: File) -> bytes:
    target = io.BytesIO()
    book = xlsxwriter.Workbook(
        target,
        {
            "in_memory": True, "strings_to_formulas": False, "strings_to_urls": False,
            "date_1904": file.counts_from_1904,
        },
    )  # fmt: skip
    book.set_properties({"author": file.author, "created": MADE})
    for grid in file.grids:
        _write_xlsx_sheet(book, grid, file.author)
    book.close()
    return target.getvalue()


def _write_xlsx_sheet(book: xlsxwriter.Workbook, grid: Grid, author: str) -> None:
    sheet = book.add_worksheet(grid.name)
    as_date = book.add_format({"num_format": grid.date_format})
    fills = {colour: book.add_format({"bg_color": colour}) for colour in set(grid.fills.values())}
    for first_row, first_column, last_row, last_column in grid.merged:
        sheet.merge_range(
            first_row - 1, first_column - 1, last_row - 1, last_column - 1,
            grid.values[first_row, first_column],
            fills.get(grid.fills.get((first_row, first_column), "")),
        )  # fmt: skip
    spanned = {(first_row, first_column) for first_row, first_column, _, _ in grid.merged}
    for (row, column), value in grid.values.items():
        at = (row - 1, column - 1)
        if (row, column) in spanned:
            continue
        if isinstance(value, ErrorValue):
            sheet.write_formula(*at, "=1/0" if "DIV" in value.text else "=NA()", None, value.text)
        elif isinstance(value, Formula):
            sheet.write_formula(*at, value.text, None, "")
        elif isinstance(value, date):
            moment = datetime(value.year, value.month, value.day)
            sheet.write_datetime(*at, moment, as_date)
        elif isinstance(value, int | float):
            sheet.write_number(*at, value)
        else:
            sheet.write_string(*at, str(value), fills.get(grid.fills.get((row, column), "")))
    for (row, column), note in grid.comments.items():
        sheet.write_comment(row - 1, column - 1, note, {"author": author})
    for row in grid.hidden_rows:
        sheet.set_row(row - 1, None, None, {"hidden": True})
    for column in grid.hidden_columns:
        sheet.set_column(column - 1, column - 1, None, None, {"hidden": True})
    if grid.is_hidden:
        sheet.hide()


def _ods_bytes(file: File) -> bytes:
    document = OpenDocumentSpreadsheet()
    for element in list(document.meta.childNodes):
        document.meta.removeChild(element)
    document.meta.addElement(meta.InitialCreator(text=file.author))
    document.meta.addElement(dc.Creator(text=file.author))
    document.meta.addElement(meta.CreationDate(text=MADE.isoformat()))
    hidden = style.Style(name="hidden", family="table")
    hidden.addElement(style.TableProperties(display="false"))
    document.automaticstyles.addElement(hidden)
    for grid in file.grids:
        document.spreadsheet.addElement(_ods_table(grid))
    # The library keeps the namespaces of all that it ever wrote: an empty first document makes the
    # second one declare the same as every later one.
    OpenDocumentSpreadsheet().write(io.BytesIO())
    target = io.BytesIO()
    document.write(target)
    return _rezipped(target.getvalue(), zipfile.ZIP_DEFLATED)


def _ods_table(grid: Grid) -> object:
    options = {"stylename": "hidden"} if grid.is_hidden else {}
    sheet = table.Table(name=grid.name, **options)
    width = max(column for _, column in grid.values)
    sheet.addElement(table.TableColumn(numbercolumnsrepeated=str(width)))
    spans = {}
    for row, first, last_row, last in grid.merged:
        assert row == last_row, "cells merged over rows are written to .xlsx alone"
        spans[row, first] = last - first + 1
    for row in range(1, grid.last_row + 1):
        visibility = {"visibility": "collapse"} if row in grid.hidden_rows else {}
        line = table.TableRow(**visibility)
        column = 1
        while column <= width:
            span = spans.get((row, column), 1)
            line.addElement(_ods_cell(grid, row, column, span))
            for _ in range(span - 1):
                line.addElement(table.CoveredTableCell())
            column += span
        sheet.addElement(line)
    return sheet


def _ods_cell(grid: Grid, row: int, column: int, span: int) -> object:
    value = grid.values.get((row, column))
    options: dict[str, str] = {"numbercolumnsspanned": str(span)} if span > 1 else {}
    if isinstance(value, date):
        options |= {"valuetype": "date", "datevalue": value.isoformat()}
        shown = value.strftime("%d/%m/%Y")
    elif isinstance(value, int | float):
        options |= {"valuetype": "float", "value": repr(value)}
        shown = str(value).replace(".", ",")
    else:
        shown = "" if value is None else str(value)
        options |= {"valuetype": "string"} if shown else {}
    cell = table.TableCell(**options)
    if (row, column) in grid.comments:
        note = office.Annotation()
        note.addElement(text.P(text=grid.comments[row, column]))
        cell.addElement(note)
    if shown:
        cell.addElement(text.P(text=shown))
    return cell
