"""Workbooks: every value at its address, the structure beside the values, and every refusal."""

import io
import zipfile
from datetime import date, datetime, time
from pathlib import Path

import openpyxl
import pandas as pd
import pytest
import xlsxwriter
from openpyxl.utils.datetime import CALENDAR_MAC_1904
from workbook_files import (
    MAIN,
    ods_cell,
    ods_with,
    only_sheet,
    placed,
    reason_of,
    with_parts,
    workbook_of,
    written,
    xlsx_with_rows,
)

from transforms.reading import PerCent, address, addresses, cell_text, read_workbook

OLD_WORKBOOK = Path(__file__).parent / "old_workbook.xls"  # written with xlwt 1.3


# --- addresses and text


@pytest.mark.parametrize(
    ("row", "column", "cell"),
    [
        (1, 1, "A1"),
        (7, 4, "D7"),
        (10, 26, "Z10"),
        (3, 27, "AA3"),
        (9, 702, "ZZ9"),
        (1048576, 16384, "XFD1048576"),
    ],
)
def test_an_address_is_what_the_spreadsheet_shows(row: int, column: int, cell: str):
    assert address(row, column) == cell


def test_addresses_of_a_column():
    assert addresses(pd.RangeIndex(9, 12), 28) == ["AB9", "AB10", "AB11"]


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, ""), (float("nan"), ""), (pd.NaT, ""), ("  007 ", "  007 "), (5.0, "5"),
        (-3.0, "-3"), (12, "12"), (0.1, "0.1"), (0.1 + 0.2, "0.3"), (1e-7, "0.0000001"),
        (123456.789, "123456.789"),
        (PerCent(14.0), "14%"), (PerCent(12.5), "12.5%"),
        (True, "TRUE"), (False, "FALSE"), (date(2024, 5, 1), "2024-05-01"),
        (datetime(2024, 5, 1), "2024-05-01"), (datetime(2024, 5, 1, 9, 30), "2024-05-01 09:30:00"),
        (time(9, 30), "09:30:00"), (pd.Timedelta(hours=30, minutes=5), "30:05:00"),
    ],
)  # fmt: skip
def test_the_text_of_a_value_is_what_a_person_would_have_typed(value: object, text: str):
    assert cell_text(value) == text


# --- values


def test_a_table_away_from_the_corner_keeps_its_addresses():
    content = workbook_of({"D7": "Hosp. no.", "E7": "MLD", "D8": "007", "E8": 612.5, "E9": 5})
    values = only_sheet(content).values
    assert placed(values) == {
        "D7": "Hosp. no.", "E7": "MLD", "D8": "007", "E8": 612.5, "E9": 5.0
    }  # fmt: skip
    assert (list(values.index), list(values.columns)) == (list(range(1, 10)), [1, 2, 3, 4, 5])
    assert {dtype.name for dtype in values.dtypes} == {"object"}


def test_values_keep_their_types():
    content = workbook_of({
        "A1": "0,5", "B1": 0.5, "C1": True, "D1": datetime(2024, 5, 1),
        "E1": datetime(2024, 5, 1, 9, 30), "F1": time(9, 30), "G1": "#N/A is text here",
    })  # fmt: skip
    values = only_sheet(content).values
    assert list(values.loc[1]) == [
        "0,5", 0.5, True, date(2024, 5, 1), datetime(2024, 5, 1, 9, 30), time(9, 30),
        "#N/A is text here",
    ]  # fmt: skip
    assert type(values.loc[1, 3]) is bool
    assert type(values.loc[1, 4]) is date


def test_dates_of_the_1904_system_are_the_same_days():
    book = openpyxl.Workbook()
    book.epoch = CALENDAR_MAC_1904
    book.active["B2"] = datetime(2024, 5, 1)
    assert placed(only_sheet(written(book)).values) == {"B2": date(2024, 5, 1)}


def test_white_space_is_empty_and_empty_rows_and_columns_at_the_end_are_dropped():
    content = workbook_of({"A1": "Eye", "B2": "  ", "C3": "\u00a0", "A2": "OD"})
    values = only_sheet(content).values
    assert placed(values) == {"A1": "Eye", "A2": "OD"}
    assert values.shape == (2, 1)


def test_a_sheet_with_nothing_has_an_empty_frame():
    assert only_sheet(workbook_of({})).values.empty


def test_formatted_empty_cells_out_to_the_edge_of_the_sheet_do_no_harm():
    content = xlsx_with_rows(
        '<row r="2"><c r="B2"><v>1</v></c></row>'
        '<row r="1048576"><c r="A1048576" s="0"/><c r="B1048576"></c>'
        '<c r="XFC1048576"><v></v></c><c r="XFD1048576"><v/></c></row>',
        before='<dimension ref="A1:XFD1048576"/>',
    )
    assert placed(only_sheet(content).values) == {"B2": 1.0}


def test_cells_that_do_not_say_where_they_stand_are_counted():
    sheet = only_sheet(
        xlsx_with_rows(
            '<row><c><v>1</v></c><c t="e"><v>#N/A</v></c></row>'
            '<row r="4"><c r="C4"><v>2</v></c><c><f>1+1</f></c></row><row hidden="1"><c/></row>'
            "<row><c><v>3</v></c></row>"
        )
    )
    assert placed(sheet.values) == {"A1": 1.0, "C4": 2.0, "A6": 3.0}
    assert sheet.errors == {(1, 2): "#N/A"}
    assert sheet.uncached == {(4, 4)}
    assert sheet.hidden_rows == {5}


# --- structure


def test_sheets_keep_their_order_and_tell_whether_they_are_hidden():
    book = openpyxl.Workbook()
    book.active.title = "Surgery log"
    book.create_sheet("Legend").sheet_state = "hidden"
    book.create_sheet("Lists").sheet_state = "veryHidden"
    book.create_chartsheet("Plot")
    book["Legend"]["B2"] = "red = no consent"
    sheets = read_workbook("upload.xlsx", written(book)).sheets
    assert [(sheet.name, sheet.state) for sheet in sheets] == [
        ("Surgery log", "visible"), ("Legend", "hidden"), ("Lists", "very_hidden")
    ]  # fmt: skip
    assert placed(sheets[1].values) == {"B2": "red = no consent"}


def test_each_sheet_has_its_own_structure():
    book = openpyxl.Workbook()
    second = book.create_sheet("Follow up & notes")
    book.active["A1"], book.active["A2"] = "x", "x"
    second["A1"], second["A2"] = "x", "=1+1"
    book.active.row_dimensions[2].hidden = True
    first, second = read_workbook("upload.xlsx", written(book)).sheets
    assert (first.hidden_rows, first.uncached) == ({2}, frozenset())
    assert (second.hidden_rows, second.uncached) == (frozenset(), {(2, 1)})


def test_hidden_rows_and_columns_within_the_table():
    book = openpyxl.Workbook()
    for row in range(3, 9):
        for column in range(2, 8):
            book.active.cell(row, column, row * column)
    book.active.row_dimensions[4].hidden = True
    book.active.row_dimensions.group(6, 7, hidden=True)
    book.active.column_dimensions["C"].hidden = True
    book.active.column_dimensions.group("E", "F", hidden=True)
    book.active.column_dimensions["Z"].hidden = True  # beyond the table
    sheet = only_sheet(written(book))
    assert sheet.hidden_rows == {4, 6, 7}
    assert sheet.hidden_columns == {3, 5, 6}


def test_rows_that_a_filter_hides_are_hidden():
    file = io.BytesIO()
    with xlsxwriter.Workbook(file) as book:
        sheet = book.add_worksheet()
        sheet.write_column("B2", ["Eye", "OD", "OS"])
        sheet.autofilter("B2:B4")
        sheet.filter_column("B", "x == OD")
        sheet.set_row(3, options={"hidden": True})
    assert only_sheet(file.getvalue()).hidden_rows == {4}


def test_merged_ranges_hold_their_value_at_the_first_cell():
    book = openpyxl.Workbook()
    book.active["C2"] = "Before surgery"
    book.active.merge_cells("C2:E3")
    sheet = only_sheet(written(book))
    assert sheet.merged == ((2, 3, 3, 5),)
    assert placed(sheet.values) == {"C2": "Before surgery"}


def test_error_cells_have_no_value_and_are_listed():
    book = openpyxl.Workbook()
    book.active["B2"] = 1
    for place, error in {"C3": "#DIV/0!", "D5": "#N/A"}.items():
        book.active[place].value = error
        book.active[place].data_type = "e"
    sheet = only_sheet(written(book))
    assert sheet.errors == {(3, 3): "#DIV/0!", (5, 4): "#N/A"}
    assert placed(sheet.values) == {"B2": 1.0}
    assert sheet.values.shape == (5, 4)


def test_an_error_that_a_formula_gave_is_an_error_and_not_uncached():
    content = xlsx_with_rows(
        '<row r="1"><c r="A1" s="0" t="e"><f>1/0</f><v>#DIV/0!</v></c>'
        "<c r=\"B1\" t='e'><v>#REF!</v></c></row>"
    )
    sheet = only_sheet(content)
    assert sheet.errors == {(1, 1): "#DIV/0!", (1, 2): "#REF!"}
    assert sheet.uncached == frozenset()


def test_a_formula_without_a_stored_result_is_listed():
    content = workbook_of({"A1": 1, "B4": "=A1+1"})
    sheet = only_sheet(content)
    assert sheet.uncached == {(4, 2)}
    assert placed(sheet.values) == {"A1": 1.0}
    assert sheet.values.shape == (4, 2)


def test_a_formula_with_a_stored_result_is_its_result():
    content = xlsx_with_rows(
        '<row r="1"><c r="A1"><f>1+1</f><v>2</v></c><c r="B1" t="str"><f>""</f><v></v></c>'
        '<c r="C1"><f t="shared" si="0"/><v>3</v></c><c r="D1"><f t="shared" si="0"/></c></row>'
    )
    sheet = only_sheet(content)
    assert placed(sheet.values) == {"A1": 2.0, "C1": 3.0}
    assert sheet.uncached == {(1, 4)}


def test_prefixes_comments_and_quotes_of_other_writers_are_understood():
    sheet = (
        f'<?xml version="1.0"?><x:worksheet xmlns:x="{MAIN}"><x:cols><x:col min="2" max="2" '
        "hidden='true'/></x:cols><x:sheetData><!-- <c r=\"XFD9\"><f>1</f></c> -->"
        "<x:row r='2' hidden = '1'><x:c s='0' r='b2' t = 'e'><x:v>#REF!</x:v></x:c>"
        '<x:c r="C2" t="inlineStr"><x:is><x:t><![CDATA[<c r="XFD1048576"><f>]]></x:t></x:is></x:c>'
        '<x:c r="D2"><x:f>1+1</x:f></x:c></x:row></x:sheetData></x:worksheet>'
    )
    read = only_sheet(with_parts(workbook_of({}), {"xl/worksheets/sheet1.xml": sheet}))
    assert placed(read.values) == {"C2": '<c r="XFD1048576"><f>'}
    assert (read.errors, read.uncached) == ({(2, 2): "#REF!"}, {(2, 4)})
    assert (read.hidden_rows, read.hidden_columns) == ({2}, {2})


# --- other kinds of workbook


def test_an_open_document_keeps_addresses_through_repeats():
    sheet = only_sheet(
        ods_with(
            '<table:table table:name="Log">'
            '<table:table-column table:number-columns-repeated="3"/>'
            '<table:table-column table:visibility="collapse"/>'
            '<table:table-row table:number-rows-repeated="2"><table:table-cell/></table:table-row>'
            '<table:table-row table:visibility="filter"><table:table-cell '
            f'table:number-columns-repeated="2"/>{ods_cell(7)}{ods_cell(8.5)}</table:table-row>'
            '<table:table-row><table:table-cell table:number-columns-repeated="3"/>'
            '<table:table-cell office:value-type="date" office:date-value="2024-05-01"/>'
            '</table:table-row><table:table-row table:number-rows-repeated="1048570">'
            '<table:table-cell table:number-columns-repeated="16384"/></table:table-row>'
            "</table:table>"
        ),
        "upload.ods",
    )
    assert placed(sheet.values) == {"C3": 7.0, "D3": 8.5, "D4": date(2024, 5, 1)}
    assert (sheet.hidden_rows, sheet.hidden_columns) == ({3}, {4})


def test_an_open_document_lists_errors_open_formulas_and_merged_cells():
    sheet = only_sheet(
        ods_with(
            '<table:table table:name="Log"><table:table-row>'
            + ods_cell(1, 'table:number-columns-spanned="2"')
            + "<table:covered-table-cell/>"
            '<table:table-cell table:formula="of:=1/0" office:value-type="float" office:value="0" '
            'calcext:value-type="error"><text:p>#DIV/0!</text:p></table:table-cell>'
            '<table:table-cell table:formula="of:=1/0" office:value-type="string">'
            "<text:p>#N/A</text:p></table:table-cell>"
            '<table:table-cell table:formula="of:=1+1"/><table:table-cell table:formula="of:=A"'
            ' office:value-type="float" office:value="0"><text:p>Err:502</text:p>'
            "</table:table-cell></table:table-row></table:table>"
        ),
        "upload.ods",
    )
    assert placed(sheet.values) == {"A1": 1.0}
    assert sheet.errors == {(1, 3): "#DIV/0!", (1, 4): "#N/A", (1, 6): "#ERROR!"}
    assert sheet.uncached == {(1, 5)}
    assert sheet.merged == ((1, 1, 1, 2),)


def test_a_table_inside_a_cell_of_an_open_document_counts_for_no_rows():
    inner = f"<table:table><table:table-row>{ods_cell(1) * 3}</table:table-row></table:table>"
    sheet = only_sheet(
        ods_with(
            '<table:table table:name="Log"><table:table-row><table:table-cell>'
            f"{inner}</table:table-cell>{ods_cell(4)}"
            '<table:table-cell table:formula="of:=1+1"/></table:table-row></table:table>'
        ),
        "upload.ods",
    )
    assert placed(sheet.values) == {"B1": 4.0}
    assert sheet.uncached == {(1, 3)}


def test_a_hidden_sheet_of_an_open_document():
    style = (
        '<style:style style:name="ta2" style:family="table">'
        '<style:table-properties table:display="false"/></style:style>'
    )
    rows = f"<table:table-row>{ods_cell(1)}</table:table-row>"
    content = ods_with(
        f'<table:table table:name="Log">{rows}</table:table>'
        f'<table:table table:name="Old" table:style-name="ta2">{rows}</table:table>',
        style,
    )
    workbook = read_workbook("upload.ods", content)
    assert [(sheet.name, sheet.state) for sheet in workbook.sheets] == [
        ("Log", "visible"), ("Old", "hidden")
    ]  # fmt: skip
    assert workbook.kind == "ods"


def test_an_old_workbook_is_read_with_its_structure():
    workbook = read_workbook("upload.xls", OLD_WORKBOOK.read_bytes())
    log, old = workbook.sheets
    assert placed(log.values) == {
        "B1": "Title", "B3": "Hosp. no.", "C3": "Date", "D3": "MLD", "B4": "007",
        "C4": date(2024, 5, 1), "D4": 612.5, "B5": "008", "C5": date(2023, 2, 28), "B6": "009",
    }  # fmt: skip
    assert log.errors == {(5, 4): "#DIV/0!"}
    assert (log.hidden_rows, log.hidden_columns) == ({4}, {3})
    assert log.merged == ((1, 2, 1, 4),)
    assert (old.name, old.state, placed(old.values)) == ("Old", "hidden", {"A1": 1.0})
    assert workbook.kind == "xls"


def test_the_signature_decides_and_not_the_ending():
    content = workbook_of({"B2": "Eye"})
    for name in ("upload.csv", "upload.xls", "upload"):
        assert read_workbook(name, content).kind == "xlsx"


# --- refusals


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("a.xlsx", b"", "empty"),
        ("a.csv", b" \r\n ", "empty"),
        ("a.xlsx", b"<html><table><tr><td>x</td></tr></table></html>", "web page"),
        ("a.xls", b'\xef\xbb\xbf<?xml version="1.0"?><Workbook/>', "web page or XML"),
        ("a.xlsx", b"Hosp. no.;Eye\r\n1;OD\r\n", "no workbook"),
        ("a.pdf", b"%PDF-1.7 ...", "no workbook"),
        ("a.xlsx", workbook_of({"A1": 1})[:-200], "cut short"),
        ("a.xlsx", workbook_of({"A1": 1})[:40], "cut short"),
        ("a.xls", OLD_WORKBOOK.read_bytes()[:600], "damaged"),
    ],
)
def test_a_file_that_is_no_workbook_is_refused_with_the_mend(name: str, content: bytes, words: str):
    assert words in reason_of(name, content)


def test_a_password_is_told_as_such():
    # The directory of an encrypted .xlsx, a compound file too, names this stream.
    locked = bytearray(OLD_WORKBOOK.read_bytes())
    name = locked.index("Workbook".encode("utf-16-le"))
    locked[name : name + 32] = "EncryptedPackage".encode("utf-16-le")
    locked[name + 64] = 34  # the length of the name, its end included
    assert "password" in reason_of("a.xlsx", bytes(locked))
    manifest = '<manifest><encryption-data checksum="x"/></manifest>'
    locked = with_parts(ods_with(""), {"META-INF/manifest.xml": manifest})
    assert "password" in reason_of("a.ods", locked)


@pytest.mark.parametrize("part", ["word/document.xml", "xl/workbook.bin"])
def test_other_zipped_documents_are_refused(part: str):
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as archive:
        archive.writestr(part, b"x")
    assert ".xlsx" in reason_of("a.xlsx", file.getvalue())


@pytest.mark.parametrize(
    "rows",
    [
        '<row r="1"><c r="A1"><v>1</v></c></row>'
        '<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>',
        '<row r="1"><c r="A1"><v>1</v></c><c r="XFD999999" t="e"><v>#N/A</v></c></row>',
        '<row r="99999999"><c r="A99999999"><v>1</v></c></row>',
        '<row r="1"><c><v>1</v></c></row><row r="1048575"/><row><c r="b1048576"><v>1</v></c></row>',
        '<row r="1"><y:c xmlns:y="urn:y" r="ZZ9999"><y:v>1</y:v></y:c></row>',
    ],
)
def test_a_cell_far_out_is_refused_before_memory_is_asked_for(rows: str):
    reason = reason_of("a.xlsx", xlsx_with_rows(rows))
    assert "delete the rows and columns beyond the table" in reason


def test_the_far_corner_is_named():
    rows = '<row r="1"><c r="A1"><v>1</v></c></row><row r="90000"><c r="AB90000"><v>1</v></c></row>'
    assert "(AB90000)" in reason_of("a.xlsx", xlsx_with_rows(rows))


def test_repeated_cells_of_an_open_document_are_counted_before_they_are_read():
    content = ods_with(
        '<table:table table:name="Log"><table:table-row table:number-rows-repeated="1048576">'
        + ods_cell(1, 'table:number-columns-repeated="1000"')
        + "</table:table-row></table:table>"
    )
    assert "sheet 1 of the workbook" in reason_of("a.ods", content)


def test_entity_declarations_are_refused():
    prolog = '<!DOCTYPE worksheet [<!ENTITY a "aaaaaaaaaa">]>'
    content = xlsx_with_rows('<row r="1"><c r="A1"><v>1</v></c></row>', prolog=prolog)
    assert "entities" in reason_of("a.xlsx", content)
    shared = {"xl/sharedStrings.xml": f'<?xml version="1.0"?>{prolog}<sst xmlns="{MAIN}"/>'}
    assert "entities" in reason_of("a.xlsx", with_parts(workbook_of({"A1": "x"}), shared))


def test_an_archive_that_unpacks_too_large_is_refused():
    content = with_parts(workbook_of({}), {"xl/media/image1.bin": bytes(300_000_001)})
    assert len(content) < 1_000_000
    assert "300 MB" in reason_of("a.xlsx", content)


@pytest.mark.parametrize("part", ["xl/worksheets/sheet1.xml", "xl/media/image1.bin"])
def test_an_archive_that_lies_about_a_size_is_refused(part: str):
    padded = f'<worksheet xmlns="{MAIN}"><sheetData/></worksheet>'.encode().ljust(5_000_000)
    content = with_parts(workbook_of({}), {part: padded})
    assert only_sheet(content).values.empty
    true_size, told = (5_000_000).to_bytes(4, "little"), (1_000).to_bytes(4, "little")
    assert content.count(true_size) == 2  # the local header and the directory
    assert "damaged" in reason_of("a.xlsx", content.replace(true_size, told))


def test_an_error_that_only_its_own_program_knows_is_refused_with_its_cell():
    content = xlsx_with_rows('<row r="3"><c r="D3" t="e"><v>#MUSTER!</v></c></row>')
    assert "cell D3" in reason_of("a.xlsx", content)
    assert "MUSTER" not in reason_of("a.xlsx", content)


@pytest.mark.parametrize(
    "parts",
    [
        {"xl/worksheets/sheet1.xml": "<worksheet><sheetData><row><c>"},
        {"xl/worksheets/sheet1.xml": '<worksheet><row r="x"><c/></row></worksheet>'},
        {"xl/worksheets/sheet1.xml": '<worksheet><row><c r="B"><v>1</v></c></row></worksheet>'},
        {"xl/worksheets/sheet1.xml": '<worksheet><row><c r="9B"><v>1</v></c></row></worksheet>'},
        {"xl/worksheets/sheet1.xml": f'<worksheet xmlns="{MAIN}"/>'.encode("utf-16")},
        {"xl/worksheets/sheet1.xml": "<worksheet><c><v>1</v></c></worksheet>"},
        {"xl/workbook.xml": "<workbook><sheets><sheet name='x' r:id='rId1'/>"},
        {"xl/_rels/workbook.xml.rels": "<Relationships/>"},
    ],
)
def test_damaged_parts_are_refused(parts: dict[str, str | bytes]):
    assert "damaged" in reason_of("a.xlsx", with_parts(workbook_of({"A1": 1}), parts))


@pytest.mark.parametrize(("position", "byte"), [(514, 0), (2120, 255)])
def test_damage_that_makes_calamine_panic_is_told_like_any_other(position: int, byte: int):
    content = bytearray(OLD_WORKBOOK.read_bytes())
    content[position] = byte
    assert "damaged" in reason_of("a.xls", bytes(content))


def test_a_reason_holds_no_value_of_the_upload():
    rows = (
        '<row r="1"><c r="A1" t="inlineStr"><is><t>MUSTER</t></is></c></row>'
        '<row r="999999"><c r="ZZ999999" t="inlineStr"><is><t>MUSTER</t></is></c></row>'
    )
    assert "MUSTER" not in reason_of("MUSTER.xlsx", xlsx_with_rows(rows))
