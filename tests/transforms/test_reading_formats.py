"""What the format of a cell makes of its number, in every kind of workbook: per cent, days, texts.

Old workbooks are written by xlwt, OpenDocument ones by odfpy, the rest by openpyxl and xlsxwriter.
"""

import io
import zipfile
from datetime import date, datetime, time, timedelta

import openpyxl
import pytest
import xlsxwriter
import xlwt
from hypothesis import given, settings
from hypothesis import strategies as st
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import LineBreak, P, S, Tab
from openpyxl.utils.datetime import CALENDAR_MAC_1904
from workbook_files import (
    MAIN,
    ods_cell,
    ods_row,
    ods_with,
    only_sheet,
    placed,
    reason_of,
    with_parts,
    workbook_of,
    written,
    xlsx_with_rows,
)

from transforms.reading import PerCent, read_workbook
from transforms.reading.number_formats import is_per_cent
from transforms.reading.open_document import structures_in
from transforms.reading.plain_cells import shortened


def formatted_xlsx(cells: dict[str, tuple[object, str]]) -> bytes:
    """A workbook of (value, number format) by address."""
    book = openpyxl.Workbook()
    for place, (value, number_format) in cells.items():
        book.active[place] = value
        book.active[place].number_format = number_format
    return written(book)


def formatted_xls(cells: dict[tuple[int, int], tuple[object, str]], is_1904: bool = False) -> bytes:
    """An old workbook of (value, number format) by row and column."""
    book = xlwt.Workbook()
    book.dates_1904 = is_1904
    sheet = book.add_sheet("Log")
    for (row, column), (value, number_format) in cells.items():
        style = xlwt.easyxf(num_format_str=number_format)
        sheet.write(row - 1, column - 1, value, style)
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def odf_of(*cells: TableCell) -> bytes:
    """An OpenDocument spreadsheet of one row."""
    document = OpenDocumentSpreadsheet()
    table, row = Table(name="Log"), TableRow()
    for cell in cells:
        row.addElement(cell)
    table.addElement(row)
    document.spreadsheet.addElement(table)
    file = io.BytesIO()
    document.save(file)
    return file.getvalue()


def odf_text(*elements: object) -> TableCell:
    cell, paragraph = TableCell(valuetype="string"), P()
    for element in elements:
        if isinstance(element, str):
            paragraph.addText(element)
        else:
            paragraph.addElement(element)
    cell.addElement(paragraph)
    return cell


def sheet_xml_with_styles(rows: str, formats: list[str]) -> bytes:
    """A workbook with this XML for its rows; style N shows numbers in format N, from 1."""
    declared = "".join(
        f'<numFmt numFmtId="{200 + number}" formatCode="{code}"/>'
        for number, code in enumerate(formats)
    )
    styles = "".join(f'<xf numFmtId="{200 + number}"/>' for number in range(len(formats)))
    return with_parts(
        xlsx_with_rows(rows),
        {
            "xl/styles.xml": f'<styleSheet xmlns="{MAIN}"><numFmts>{declared}</numFmts>'
            f'<cellStyleXfs><xf numFmtId="9"/></cellStyleXfs><cellXfs><xf numFmtId="0"/>{styles}'
            "</cellXfs></styleSheet>"
        },
    )


# --- per cent


@pytest.mark.parametrize(
    ("code", "is_one"),
    [
        ("0%", True),
        ("0.00 %", True),
        ("[Red]0.0%;[Blue]-0.0%", True),
        ('0.0" of "%', True),
        ("0", False),
        ('0" %"', False),
        ("0.0\\%", False),
        ("0_%", False),
        ("0*%", False),
        ("[$%-409]0", False),
        ("General", False),
    ],
)
def test_a_format_is_per_cent_where_it_multiplies_and_not_where_it_only_shows_the_sign(
    code: str, is_one: bool
):
    assert is_per_cent(code) is is_one


PER_CENT = {"A1": PerCent(14), "B1": 0.14, "C1": PerCent(0.001), "A2": PerCent(-12.5), "B2": "14%"}


def is_per_cent_at(values: dict[str, object]) -> set[str]:
    return {place for place, value in values.items() if type(value) is PerCent}


def test_per_cent_of_an_xlsx():
    content = formatted_xlsx({
        "A1": (0.14, "0%"), "B1": (0.14, "0.00"), "C1": (0.00001, "0.00%"),
        "A2": (-0.125, "0.0%;-0.0%"), "B2": ("14%", "0%"), "C2": (None, "0%"),
    })  # fmt: skip
    values = placed(only_sheet(content).values)
    assert values == PER_CENT
    assert is_per_cent_at(values) == {"A1", "C1", "A2"}


def test_per_cent_of_an_xls():
    content = formatted_xls({
        (1, 1): (0.14, "0%"), (1, 2): (0.14, "0.00"), (1, 3): (0.00001, "0.000%"),
        (2, 1): (-0.125, "0.0%"), (2, 2): ("14%", "0%"),
    })  # fmt: skip
    values = placed(only_sheet(content, "upload.xls").values)
    assert values == PER_CENT
    assert is_per_cent_at(values) == {"A1", "C1", "A2"}


def test_per_cent_of_an_xls_row_stored_as_one_record():
    book = xlwt.Workbook()
    sheet = book.add_sheet("Log")
    style = xlwt.easyxf(num_format_str="0%")
    for column, value in enumerate([1, 2, 60, 4]):
        sheet.write(0, column, value, style if column in (1, 3) else xlwt.Style.default_style)
    file = io.BytesIO()
    book.save(file)
    values = placed(only_sheet(file.getvalue(), "upload.xls").values)
    assert values == {"A1": 1.0, "B1": PerCent(200), "C1": 60.0, "D1": PerCent(400)}
    assert is_per_cent_at(values) == {"B1", "D1"}


def test_per_cent_of_an_ods():
    values = placed(
        only_sheet(
            odf_of(
                TableCell(valuetype="percentage", value="0.14"),
                TableCell(valuetype="float", value="0.14"),
                TableCell(valuetype="percentage", value="0.1", numbercolumnsrepeated="2"),
                odf_text("14%"),
            ),
            "upload.ods",
        ).values
    )
    assert values == {"A1": 14.0, "B1": 0.14, "C1": 10.0, "D1": 10.0, "E1": "14%"}
    assert is_per_cent_at(values) == {"A1", "C1", "D1"}


def test_a_style_is_found_wherever_a_cell_says_it_and_a_row_s_style_is_not_its_cells():
    content = sheet_xml_with_styles(
        '<row r="1" s="1"><c r="A1" t="n" s="1"><v>0.1</v></c><c r="B1" s = \'1\'><v>0.2</v></c>'
        '<c r="C1"><v>0.3</v></c><c r="D1" s="2"><v>0.4</v></c></row>'
        '<row r="2" s="1"><c r="A2" s="1" t="b"><v>1</v></c><c r="B2" s="1"><f>1/4</f><v>0.25</v>'
        '</c><c r="C2" s="11"><v>0.5</v></c><c r="D2" s="1"/></row>',
        ["0%", "0.0", *["0"] * 9],
    )
    values = placed(only_sheet(content).values)
    assert values == {
        "A1": 10.0, "B1": 20.0, "C1": 0.3, "D1": 0.4, "A2": True, "B2": 25.0, "C2": 0.5
    }  # fmt: skip
    assert is_per_cent_at(values) == {"A1", "B1", "B2"}


def test_a_workbook_may_give_a_built_in_number_to_a_format_of_its_own():
    content = with_parts(
        xlsx_with_rows('<row r="1"><c r="A1" s="0"><v>0.5</v></c></row>'),
        {
            "xl/styles.xml": f'<styleSheet xmlns="{MAIN}"><numFmts><numFmt numFmtId="9" '
            'formatCode="0.0"/></numFmts><cellXfs><xf numFmtId="9"/></cellXfs></styleSheet>'
        },
    )
    assert placed(only_sheet(content).values) == {"A1": 0.5}


@settings(max_examples=40, deadline=None)
@given(st.integers(-10_000, 10_000), st.integers(0, 6))
def test_per_cent_is_the_number_that_the_sheet_shows(digits: int, places: int):
    shown = digits / 10**places
    content = xlsx_with_rows(
        f'<row r="1"><c r="A1" s="1"><v>{digits / 10 ** (places + 2)!r}</v></c></row>'
    )
    styles = f'<styleSheet xmlns="{MAIN}"><cellXfs><xf/><xf numFmtId="10"/></cellXfs></styleSheet>'
    assert placed(only_sheet(with_parts(content, {"xl/styles.xml": styles})).values)["A1"] == shown


# --- days


@pytest.mark.parametrize("is_later", [False, True])
def test_the_year_from_which_days_are_counted(is_later: bool):
    book = openpyxl.Workbook()
    book.active["A1"] = date(2024, 5, 1)
    if is_later:
        book.epoch = CALENDAR_MAC_1904
    old = formatted_xls({(1, 1): (date(2024, 5, 1), "dd/mm/yyyy")}, is_1904=is_later)
    null_date = '<table:calculation-settings><table:null-date table:date-value="1904-01-01"/>'
    open_document = ods_with(
        (f"{null_date}</table:calculation-settings>" if is_later else "")
        + '<table:table table:name="Log"><table:table-row><table:table-cell '
        'office:value-type="date" office:date-value="2024-05-01"/></table:table-row></table:table>'
    )
    for name, content in {"a.xlsx": written(book), "a.xls": old, "a.ods": open_document}.items():
        workbook = read_workbook(name, content)
        assert workbook.epoch == (1904 if is_later else 1900), name
        assert placed(workbook.sheets[0].values) == {"A1": date(2024, 5, 1)}, name
    assert read_workbook("a.csv", b"Id;Op\n1;2024-05-01\n").epoch is None


DAYS = {  # number, and what a cell with the format of a date shows for it
    59: date(1900, 2, 28),
    60: "1900-02-29",  # a day that never was
    61: date(1900, 3, 1),
    45413: date(2024, 5, 1),
    45413.75: datetime(2024, 5, 1, 18),
    0.75: time(18),
    2958466: 2958466.0,  # after the year 9999
}


@pytest.mark.parametrize(("number", "value"), DAYS.items())
def test_a_number_formatted_as_a_date(number: float, value: object):
    assert placed(only_sheet(formatted_xlsx({"B2": (number, "dd/mm/yyyy hh:mm")})).values) == {
        "B2": value
    }
    old = formatted_xls({(2, 2): (number, "dd/mm/yyyy hh:mm")})
    assert placed(only_sheet(old, "upload.xls").values) == {"B2": value}


def test_sixty_is_a_number_where_it_is_no_date_and_a_day_where_days_count_from_1904():
    content = sheet_xml_with_styles(
        '<row r="1"><c r="A1"><v>60</v></c><c r="B1" s="1"><v>600</v></c>'
        '<c r="C1" s="1"><v>60.0</v></c><c r="D1" t="inlineStr"><is><t>60</t></is></c></row>',
        ["dd/mm/yyyy"],
    )
    assert placed(only_sheet(content).values) == {
        "A1": 60.0, "B1": date(1901, 8, 22), "C1": "1900-02-29", "D1": "60"
    }  # fmt: skip
    old = formatted_xls({(1, 1): (60, "dd/mm/yyyy")}, is_1904=True)
    assert placed(only_sheet(old, "upload.xls").values) == {"A1": date(1904, 3, 1)}


@pytest.mark.parametrize("number", [-1, -45413.5])
def test_a_negative_number_formatted_as_a_date_is_no_day(number: float):
    values = placed(only_sheet(formatted_xlsx({"A1": (number, "dd/mm/yyyy")})).values)
    assert not isinstance(values["A1"], date)


MARCH = datetime(2025, 3, 9)


@pytest.mark.parametrize(
    ("code", "shown"),
    [
        ("mmm-yy", "2025-03"),
        ("yyyy", "2025-03"),
        ("mmmm yyyy", "2025-03"),
        ("[$-409]mmm\\ yy", "2025-03"),
        ('"day" mmm yy', "2025-03"),
        ("dd/mm/yyyy", MARCH.date()),
        ("d. mmm", MARCH.date()),
        ("yyyy-mm-dd hh:mm", MARCH.date()),
        ("h:mm", MARCH.date()),
    ],
)
def test_a_date_that_its_cell_shows_without_a_day_has_none(code: str, shown: object):
    """The day behind "Mar-25" is one that the program made up."""
    xlsx = read_workbook("a.xlsx", formatted_xlsx({"A1": (MARCH, code)}))
    xls = read_workbook("a.xls", formatted_xls({(1, 1): (MARCH, code)}))
    assert [book.sheets[0].values.at[1, 1] for book in (xlsx, xls)] == [shown, shown]


def test_durations():
    content = formatted_xlsx({"A1": (1.25, "[h]:mm:ss"), "B1": (timedelta(hours=5), "[h]:mm:ss")})
    assert placed(only_sheet(content).values) == {
        "A1": timedelta(hours=30), "B1": timedelta(hours=5)
    }  # fmt: skip


@pytest.mark.parametrize("number", ["1e10", "1e300", "inf"])
def test_a_duration_beyond_all_time_is_refused_with_the_mend(number: str):
    content = sheet_xml_with_styles(
        f'<row r="1"><c r="A1" s="1"><v>{number}</v></c></row>', ["[h]:mm"]
    )
    assert "formatted as a duration" in reason_of("a.xlsx", content)


@pytest.mark.parametrize("text", ["0000-00-00", "1900-02-29", "-0044-03-15", "12024-03-15"])
def test_an_open_document_s_date_that_is_none_stays_text(text: str):
    content = odf_of(TableCell(valuetype="date", datevalue=text))
    assert placed(only_sheet(content, "upload.ods").values) == {"A1": text}


# --- texts


def test_texts_of_an_xlsx():
    runs = (
        "<is><r><t>60</t></r><r><rPr><b/></rPr><t xml:space='preserve"
        "'> 000</t></r><rPh sb='0' eb='1'><t>read so</t></rPh></is>"
    )
    content = xlsx_with_rows(
        f'<row r="1"><c r="A1" t="inlineStr">{runs}</c>'
        '<c r="B1" t="inlineStr"><is><t>two_x000D_lines, _x005F_x000D_</t></is></c>'
        '<c r="C1" t="str"><v>007</v></c><c r="D1" t="inlineStr"><is><t>#N/A</t></is></c>'
        '<c r="E1" t="inlineStr"><is><t xml:space="preserve">  OD </t></is></c>'
        '<c r="F1" t="d"><v>2024-05-01</v></c></row>'
    )
    sheet = only_sheet(content)
    assert placed(sheet.values) == {
        "A1": "60 000", "B1": "two\rlines, _x000D_", "C1": "007", "D1": "#N/A", "E1": "  OD ",
        "F1": date(2024, 5, 1),
    }  # fmt: skip
    assert sheet.errors == {}


def test_shared_texts_with_runs_and_readings():
    shared = (
        f'<sst xmlns="{MAIN}"><si><r><t>Hosp</t></r><r><t>. no.</t></r><rPh sb="0" eb="1"><t>x</t>'
        "</rPh><phoneticPr/></si><si><t>007</t></si></sst>"
    )
    file = io.BytesIO()
    with xlsxwriter.Workbook(file) as book:
        book.add_worksheet().write_row("A1", ["x", "y"])
    content = with_parts(file.getvalue(), {"xl/sharedStrings.xml": shared})
    assert placed(only_sheet(content).values) == {"A1": "Hosp. no.", "B1": "007"}


def test_a_very_long_text_is_kept_whole():
    content = workbook_of({"A1": "x" * 32_767, "B1": "OD"})
    assert len(placed(only_sheet(content).values)["A1"]) == 32_767


def test_a_tab_or_a_break_inside_an_open_document_s_text_keeps_its_sides_apart():
    sheet = only_sheet(
        odf_of(
            odf_text("SF6", LineBreak(), "oil"),
            odf_text("1", Tab(), "2", S(c="2"), "3"),
            odf_text("a", S(c="3"), "b"),
            TableCell(valuetype="float", value="12"),
        ),
        "upload.ods",
    )
    assert placed(sheet.values) == {
        "A1": "SF6\noil", "B1": "1\t2  3", "C1": "a   b", "D1": 12.0
    }  # fmt: skip


def test_a_note_on_an_open_document_s_cell_is_no_part_of_it():
    content = ods_row(
        '<table:table-cell office:value-type="string"><office:annotation><text:p>see<text:tab/>file'
        "</text:p></office:annotation><text:p>OD</text:p></table:table-cell>"
    )
    assert placed(only_sheet(content, "upload.ods").values) == {"A1": "OD"}


@pytest.mark.parametrize("count", ["3000000000", "999999", "x"])
def test_endless_spaces_of_an_open_document_are_refused(count: str):
    text = f'<text:p>a<text:s text:c="{count}"/><text:s text:c="{count}"/>b</text:p>'
    content = ods_row(f'<table:table-cell office:value-type="string">{text}</table:table-cell>')
    assert "damaged" in reason_of("a.ods", content)


ODS_CELLS = st.sampled_from([
    ods_cell(1), ods_cell(2, 'table:style-name="ce1"'), "<table:table-cell/>",
    '<table:table-cell table:style-name="a&gt;b"/>', "<table:covered-table-cell/>",
    '<table:table-cell office:value-type="string" office:string-value="a>b"><text:p>x</text:p>'
    "<text:p/><text:p>y</text:p></table:table-cell>",
    '<table:table-cell office:value-type="string"><text:p>a<text:tab/>b</text:p>'
    "</table:table-cell>",
    ods_cell(3, 'table:number-columns-repeated="3"'), ods_cell(4, 'table:number-rows-spanned="2"'),
    '<table:table-cell table:formula="of:=1" office:value-type="float" office:value="1"/>',
    '<table:table-cell table:formula="of:=1"/>',
    '<table:table-cell table:formula="of:=1/0" office:value-type="float" office:value="0">'
    "<text:p>#DIV/0!</text:p></table:table-cell>",
    '<table:table-cell office:value-type="percentage" office:value="0.5"/>',
    '<table:table-cell office:value-type="percentage" office:value="0.5"><text:p>50%</text:p>'
    "</table:table-cell>",
    '<table:table-cell office:value-type="string" calcext:value-type="error"><text:p>#N/A</text:p>'
    "</table:table-cell>",
    "<table:table-cell\n  office:value-type='float' office:value='5'><text:p>5</text:p>"
    "</table:table-cell>",
])  # fmt: skip


@settings(deadline=None)
@given(st.lists(st.lists(ODS_CELLS, max_size=8), min_size=1, max_size=4))
def test_counting_plain_cells_in_runs_finds_the_structure_that_following_each_finds(
    rows: list[list[str]],
):
    table = "".join(f"<table:table-row>{''.join(cells)}</table:table-row>" for cells in rows)
    content = ods_with(f'<table:table table:name="Log">{table}</table:table>')
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        xml = archive.read("content.xml")
    assert structures_in(shortened(xml)) == structures_in(xml)


# --- kinds


def test_a_workbook_with_macros_is_read_and_the_macros_are_not_looked_at():
    file = io.BytesIO()
    with xlsxwriter.Workbook(file) as book:
        book.add_vba_project(io.BytesIO(b"no program at all"), is_stream=True)
        book.add_worksheet().write("B2", "OD")
    workbook = read_workbook("upload.xlsm", file.getvalue())
    assert (workbook.kind, placed(workbook.sheets[0].values)) == ("xlsx", {"B2": "OD"})


def test_the_strict_form_of_a_workbook_is_read_like_any_other():
    content = formatted_xlsx({"A1": (0.14, "0%"), "B2": ("OD", "@"), "A3": (45413, "dd/mm/yyyy")})
    strict = {
        b"http://schemas.openxmlformats.org/spreadsheetml/2006/main":
            b"http://purl.oclc.org/ooxml/spreadsheetml/main",
        b"http://schemas.openxmlformats.org/officeDocument/2006/relationships":
            b"http://purl.oclc.org/ooxml/officeDocument/relationships",
    }  # fmt: skip
    parts = {}
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        for name in archive.namelist():
            parts[name] = archive.read(name)
            for transitional, other in strict.items():
                parts[name] = parts[name].replace(transitional, other)
    assert placed(only_sheet(with_parts(content, parts)).values) == {
        "A1": PerCent(14), "B2": "OD", "A3": date(2024, 5, 1)
    }  # fmt: skip
