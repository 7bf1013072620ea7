"""Spreadsheet files for tests, made in memory, and what was read of them by address."""

import io
import zipfile

import openpyxl
import pandas as pd
import pytest
from odf.opendocument import OpenDocumentSpreadsheet

from transforms.reading import Sheet, UnreadableUpload, address, read_workbook

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"


def written(book: openpyxl.Workbook) -> bytes:
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def workbook_of(cells: dict[str, object]) -> bytes:
    book = openpyxl.Workbook()
    for place, value in cells.items():
        book.active[place] = value
    return written(book)


def with_parts(content: bytes, parts: dict[str, str | bytes]) -> bytes:
    """The archive with some parts replaced."""
    file = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(file, "w") as new:
        for name in {**dict.fromkeys(old.namelist()), **parts}:
            new.writestr(name, parts.get(name) or old.read(name), zipfile.ZIP_DEFLATED)
    return file.getvalue()


def xlsx_with_rows(rows: str, before: str = "", prolog: str = "") -> bytes:
    """A workbook whose one sheet has this XML for its rows."""
    sheet = (
        f'<?xml version="1.0" encoding="UTF-8"?>{prolog}<worksheet xmlns="{MAIN}">{before}'
        f"<sheetData>{rows}</sheetData></worksheet>"
    )
    return with_parts(workbook_of({}), {"xl/worksheets/sheet1.xml": sheet})


def ods_with(tables: str, styles: str = "") -> bytes:
    """An OpenDocument spreadsheet with this XML for its tables."""
    file = io.BytesIO()
    OpenDocumentSpreadsheet().save(file)
    spaces = "".join(
        f' xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
        for name in ("office", "table", "text", "style")
    )
    content = (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document-content{spaces} xmlns:calcext='
        '"urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0">'
        f"<office:automatic-styles>{styles}</office:automatic-styles><office:body>"
        f"<office:spreadsheet>{tables}</office:spreadsheet></office:body></office:document-content>"
    )
    return with_parts(file.getvalue(), {"content.xml": content})


def ods_cell(value: float, more: str = "") -> str:
    return (
        f'<table:table-cell office:value-type="float" office:value="{value}" {more}>'
        f"<text:p>{value}</text:p></table:table-cell>"
    )


def placed(values: pd.DataFrame) -> dict[str, object]:
    """Every filled cell of a sheet's values by its address."""
    return {
        address(row, column): values.loc[row, column]
        for row in values.index
        for column in values.columns
        if values.loc[row, column] is not None
    }


def only_sheet(content: bytes, name: str = "upload.xlsx") -> Sheet:
    (sheet,) = read_workbook(name, content).sheets
    return sheet


def reason_of(name: str, content: bytes) -> str:
    with pytest.raises(UnreadableUpload) as refused:
        read_workbook(name, content)
    assert "\n" not in refused.value.reason
    return refused.value.reason


def ods_row(cells: str) -> bytes:
    """An OpenDocument spreadsheet with this XML for its one row."""
    return ods_with(
        f'<table:table table:name="Log"><table:table-row>{cells}</table:table-row></table:table>'
    )
