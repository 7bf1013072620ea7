"""Workbooks of 5,000 rows and 60 columns, and one of formatted empty cells, for the benchmarks."""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Callable, Iterable
from datetime import date, timedelta
from html import escape

import xlsxwriter
import xlwt
from workbook_files import ods_with, xlsx_with_rows

from transforms.reading.addresses import column_letters

ROWS = 5_000
COLUMNS = 60
EMPTY_ROWS = 50_000
WORDS = ("SF6", "C3F8", "air", "silicone oil", "closed", "open")
Row = list[object]


def rows() -> list[Row]:
    """Headings, then an id, 20 measures, 15 whole numbers, 14 words and 10 dates a row."""
    draw = random.Random(1)
    first: Row = [f"Heading {number}" for number in range(COLUMNS)]
    return [
        first,
        *(
            [
                f"P{row:05}",
                *(draw.gauss(0, 1) for _ in range(20)),
                *(draw.randrange(100) for _ in range(15)),
                *(draw.choice(WORDS) for _ in range(14)),
                *(date(2020, 1, 1) + timedelta(draw.randrange(2000)) for _ in range(10)),
            ]
            for row in range(1, ROWS + 1)
        ),
    ]


def xlsx() -> bytes:
    file = io.BytesIO()
    with xlsxwriter.Workbook(file, {"default_date_format": "dd/mm/yyyy"}) as book:
        sheet = book.add_worksheet("Surgery log")
        for number, row in enumerate(rows()):
            sheet.write_row(number, 0, row)
    return file.getvalue()


def xls() -> bytes:
    book = xlwt.Workbook()
    sheet = book.add_sheet("Surgery log")
    style = xlwt.easyxf(num_format_str="dd/mm/yyyy")
    for number, row in enumerate(rows()):
        for column, value in enumerate(row):
            if isinstance(value, date):
                sheet.write(number, column, value, style)
            else:
                sheet.write(number, column, value)
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def ods() -> bytes:
    """Each cell as LibreOffice writes it; odfpy takes minutes for as many."""
    table = "".join(
        f'<table:table-row table:style-name="ro1">{"".join(map(_ods_cell, row))}</table:table-row>'
        for row in rows()
    )
    return ods_with(f'<table:table table:name="Surgery log">{table}</table:table>')


def _ods_cell(value: object) -> str:
    if isinstance(value, date):
        kind, told = "date", f' office:date-value="{value}"'
    elif isinstance(value, str):
        kind, told = "string", ""
    else:
        kind, told = "float", f' office:value="{value!r}"'
    return (
        f'<table:table-cell table:style-name="ce1" office:value-type="{kind}"{told} '
        f'calcext:value-type="{kind}"><text:p>{escape(str(value))}</text:p></table:table-cell>'
    )


def text() -> bytes:
    csv.writer(file := io.StringIO(), delimiter=";").writerows(rows())
    return file.getvalue().encode()


def formatted_empty() -> bytes:
    """20 filled rows, then 50,000 of cells that have a colour and no value."""
    letters = [column_letters(column) for column in range(1, COLUMNS + 1)]
    filled = (
        _xlsx_row(row, (f'<c r="{at}{row}"><v>1</v></c>' for at in letters)) for row in range(1, 21)
    )
    empty = (
        _xlsx_row(row, (f'<c r="{at}{row}" s="0"/>' for at in letters))
        for row in range(21, EMPTY_ROWS + 21)
    )
    return xlsx_with_rows("".join([*filled, *empty]))


def _xlsx_row(number: int, cells: Iterable[str]) -> str:
    return f'<row r="{number}">{"".join(cells)}</row>'


MAKERS: dict[str, Callable[[], bytes]] = {
    "wide.xlsx": xlsx,
    "wide.xls": xls,
    "wide.ods": ods,
    "empty.xlsx": formatted_empty,
}
