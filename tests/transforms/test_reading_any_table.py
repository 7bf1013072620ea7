"""Any table, at any place, in any kind of workbook, comes back with its values and addresses."""

import io
from collections.abc import Callable, Mapping
from datetime import date, timedelta

import openpyxl
import xlsxwriter
import xlwt
from hypothesis import given, settings
from hypothesis import strategies as st
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P
from openpyxl.utils.datetime import CALENDAR_MAC_1904
from workbook_files import placed

from transforms.reading import PerCent, address, read_workbook

Cells = Mapping[tuple[int, int], object]

NUMBERS = st.floats(-1e6, 1e6, allow_nan=False).map(lambda number: round(number, 6))
VALUES = st.one_of(
    NUMBERS,
    NUMBERS.map(lambda number: PerCent(round(number, 4))),
    st.booleans(),
    st.dates(date(1950, 1, 1), date(2049, 12, 31)),
    st.from_regex(r"[A-Za-z0-9äéñç/,.;%<>&'\" -]{0,8}[A-Za-z0-9]", fullmatch=True),
    st.none(),
)
FORMATS = {date: "dd/mm/yyyy", PerCent: "0.00%"}


def share(value: object) -> object:
    """What is stored in a cell that shows the value."""
    return float(value) / 100 if type(value) is PerCent else value


def xlsx(cells: Cells) -> bytes:
    file = io.BytesIO()
    with xlsxwriter.Workbook(file) as book:
        fill_xlsx(book, cells)
    return file.getvalue()


def xlsm(cells: Cells) -> bytes:
    file = io.BytesIO()
    with xlsxwriter.Workbook(file, {"strings_to_numbers": False}) as book:
        book.add_vba_project(io.BytesIO(b"macros"), is_stream=True)
        fill_xlsx(book, cells)
    return file.getvalue()


def fill_xlsx(book: xlsxwriter.Workbook, cells: Cells) -> None:
    sheet = book.add_worksheet()
    formats = {kind: book.add_format({"num_format": code}) for kind, code in FORMATS.items()}
    for (row, column), value in cells.items():
        write = sheet.write_string if isinstance(value, str) else sheet.write
        write(row - 1, column - 1, share(value), formats.get(type(value)))


def xlsx_of_1904(cells: Cells) -> bytes:
    book = openpyxl.Workbook()
    book.epoch = CALENDAR_MAC_1904
    for (row, column), value in cells.items():
        cell = book.active.cell(row, column, share(value))
        cell.number_format = FORMATS.get(type(value), "General")
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def xls(cells: Cells) -> bytes:
    book = xlwt.Workbook()
    sheet = book.add_sheet("Log")
    formats = {kind: xlwt.easyxf(num_format_str=code) for kind, code in FORMATS.items()}
    for (row, column), value in cells.items():
        style = formats.get(type(value), xlwt.Style.default_style)
        sheet.write(row - 1, column - 1, share(value), style)
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def ods_cell(value: object) -> TableCell:
    match value:
        case None:
            return TableCell()
        case bool():
            cell = TableCell(valuetype="boolean", booleanvalue=str(value).lower())
        case PerCent():
            cell = TableCell(valuetype="percentage", value=repr(share(value)))
        case float():
            cell = TableCell(valuetype="float", value=repr(value))
        case date():
            cell = TableCell(valuetype="date", datevalue=value.isoformat())
        case _:
            cell = TableCell(valuetype="string")
    cell.addElement(P(text=str(value)))
    return cell


def ods(cells: Cells) -> bytes:
    document = OpenDocumentSpreadsheet()
    table = Table(name="Log")
    last_row = max((row for row, _ in cells), default=0)
    last_column = max((column for _, column in cells), default=0)
    for row in range(1, last_row + 1):
        line = TableRow()
        for column in range(1, last_column + 1):
            line.addElement(ods_cell(cells.get((row, column))))
        table.addElement(line)
    document.spreadsheet.addElement(table)
    file = io.BytesIO()
    document.save(file)
    return file.getvalue()


WRITERS: list[Callable[[Cells], bytes]] = [xlsx, xlsm, xlsx_of_1904, xls, ods]


@settings(max_examples=150, deadline=timedelta(seconds=5))
@given(
    rows=st.lists(st.lists(VALUES, min_size=1, max_size=4), min_size=1, max_size=4),
    first_row=st.integers(1, 40),
    first_column=st.integers(1, 60),
    write=st.sampled_from(WRITERS),
)
def test_any_table_at_any_place_is_read_back_at_the_same_addresses(
    rows: list[list[object]],
    first_row: int,
    first_column: int,
    write: Callable[[Cells], bytes],
):
    cells = {
        (row, column): value
        for row, values in enumerate(rows, start=first_row)
        for column, value in enumerate(values, start=first_column)
        if value is not None
    }
    found = placed(read_workbook("upload", write(cells)).sheets[0].values)
    expected = {address(*place): value for place, value in cells.items()}
    assert found == expected
    assert {place for place, value in found.items() if type(value) is PerCent} == {
        place for place, value in expected.items() if type(value) is PerCent
    }
