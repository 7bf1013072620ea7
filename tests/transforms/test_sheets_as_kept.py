"""Sheets as clinics keep them: what is read, and each finding with its cell.

Every sheet is written into a file of every kind that can hold it, and read back from there.
"""

import datetime as dt
import io

import openpyxl
import pytest
from upload_sheets import LATEST, STUDY, UPLOAD, crosswalk, table, told
from written_tables import FORMATS, WORKBOOKS, Page, page, write

from transforms.intake import take_in
from transforms.layout import lay_out
from transforms.reading import UnreadableUpload, read_workbook

DAY = dt.datetime(2026, 3, 12)
HEADINGS = ["No", "Eye", "Op", "MLD"]
ONE = ["A-1", "OD", DAY, 410.0]
TWO = ["A-2", "OS", DAY, 650.0]
BOTH = ["A-1", "A-2"]

OPERATIONS = {
    "patient_id": "No", "eye": "Eye", "operation_date": "Op",
    "hole_min_diameter": {"heading": "MLD", "unit": "um"},
}  # fmt: skip
EVENTS = {"patient_id": "File", "eye": "Side", "complication": "Event"}
CASES = [table("operation", OPERATIONS)]


def laid_out(kind, *pages, tables=CASES, **habits):
    workbook = read_workbook(f"cases.{kind}", write(kind, *pages))
    return lay_out({UPLOAD: (f"cases.{kind}", workbook)}, crosswalk(*tables, **habits))


def numbers(layout, kind="operation"):
    """Record numbers by cell, of one kind of record."""
    cells = layout.records.field("patient_id")
    cells = cells[cells["kind"] == kind]
    return dict(zip(cells["cell"], cells["value"], strict=True))


# name, the page, the cells of the record numbers that are read, the findings
ANYWHERE = [
    ("at the corner", page(HEADINGS, ONE, TWO), ["A2", "A3"], []),
    ("not in column A", page(HEADINGS, ONE, TWO, at=(1, 4)), ["D2", "D3"], []),
    (
        "below title lines and blank rows",
        page(["Retina unit"], ["Refractory holes"], [], [], HEADINGS, ONE, TWO),
        ["A6", "A7"], [],
    ),
    ("with blank rows between", page(HEADINGS, [], ONE, [], [], TWO), ["A3", "A6"], []),
    (
        "with its headings again at a page break",
        page(HEADINGS, ONE, HEADINGS, TWO),
        ["A2", "A4"], [("heading_repeated", "A3")],
    ),
    (
        "with its headings again in another order",
        page(HEADINGS, ONE, ["Eye", "No", "MLD", "Op"], ["OS", "A-2", 650.0, DAY]),
        ["A2", "B4"], [("heading_repeated", "A3")],
    ),
    (
        "with a row of units",
        page(HEADINGS, ["text", "R/L", "dd/mm/yyyy", "(µm)"], ONE, TWO),
        ["A3", "A4"], [("unit_row", "A2")],
    ),
    (
        "with a row of other units than the crosswalk's",
        page(HEADINGS, ["text", "R/L", "dd/mm/yyyy", "mm"], ONE, TWO),
        ["A3", "A4"], [("unit_row", "A2"), ("unit_row_differs", "D2")],
    ),
    (
        "with headings and units on every page",
        page(HEADINGS, ["text", "R/L", "date", "µm"], ONE, HEADINGS,
             ["text", "R/L", "date", "µm"], TWO),
        ["A3", "A6"],
        [("heading_repeated", "A4"), ("unit_row", "A2"), ("unit_row", "A5")],
    ),
    (
        "with subtotals and a footer",
        page(HEADINGS, ONE, ["Subtotal", None, None, 410.0], TWO, ["Total", None, None, 2.0],
             ["* measured twice"], ["ILM is the limiting membrane"]),
        ["A2", "A4"],
        [("row_left_out", f"A{row}") for row in (3, 5, 6, 7)],
    ),
    (
        "with notes beside it",
        page(HEADINGS, [*ONE, None, "see scan"], TWO, [None] * 5 + ["ask theatre"]),
        ["A2", "A3"], [],
    ),
    (
        "with odd words in its row of units",
        page(HEADINGS, ["see list", "R/L", "-", "µm"], ONE, TWO),
        ["A3", "A4"], [("unit_row", "A2")],
    ),
    (
        "with lines that people put between and below",
        page(HEADINGS, ["2025"], ONE, ["Right eyes"], TWO, ["N=12"], ["Total eyes 2", 2.0],
             ["Σ", None, None, 1060.0]),
        ["A3", "A5"], [("row_left_out", f"A{row}") for row in (2, 4, 6, 7, 8)],
    ),
    (
        "with a legend below it",
        page(HEADINGS, ONE, TWO, [], ["Legend: OD right eye"]),
        ["A2", "A3"], [("row_left_out", "A5")],
    ),
]  # fmt: skip


@pytest.mark.parametrize("kind", FORMATS)
@pytest.mark.parametrize(("of", "cells", "findings"), [row[1:] for row in ANYWHERE],
                         ids=[row[0] for row in ANYWHERE])  # fmt: skip
def test_a_table_is_found_and_its_records_alone_are_read(kind, of, cells, findings):
    layout = laid_out(kind, of)
    assert numbers(layout) == dict(zip(cells, BOTH, strict=True))
    assert told(layout.findings) == sorted(findings)


GROUPS = {
    "patient_id": "Case No", "eye": "Case Eye", "operation_date": "Case Op",
    "hole_min_diameter": {"heading": "Hole MLD", "unit": "um"},
}  # fmt: skip
TALL = {
    **{name: f"Series {GROUPS[name]}" for name in ("patient_id", "eye", "operation_date")},
    "hole_min_diameter": {"heading": "Series Hole MLD", "unit": "um"},
}  # fmt: skip
TWO_ROWS = [["Case", None, None, "Hole"], HEADINGS]
THREE_ROWS = [["Series"], *TWO_ROWS]


@pytest.mark.parametrize("kind", FORMATS)
@pytest.mark.parametrize(
    ("fields", "rows", "merged"),
    [
        (GROUPS, TWO_ROWS, []),
        (GROUPS, TWO_ROWS, [(1, 1, 1, 3)]),
        (TALL, THREE_ROWS, []),
        (TALL, THREE_ROWS, [(1, 1, 1, 4), (2, 1, 2, 3)]),
    ],
)
def test_headings_of_several_rows_join_top_to_bottom_merged_or_not(kind, fields, rows, merged):
    merged = merged if kind in WORKBOOKS else []
    layout = laid_out(
        kind, page(*rows, ONE, TWO, merged=merged), tables=[table("operation", fields)]
    )
    assert list(numbers(layout).values()) == BOTH
    assert layout.findings.empty


def test_a_heading_that_is_missing_where_the_others_stand_again_is_told():
    of = page(HEADINGS, ONE, ["Eye", "No", "Op"], ["OS", "A-2", DAY])
    layout = laid_out("xlsx", of)
    assert numbers(layout) == {"A2": "A-1", "B4": "A-2"}
    assert told(layout.findings) == [("heading_missing", None), ("heading_repeated", "A3")]


@pytest.mark.parametrize("kind", FORMATS)
def test_the_last_row_of_a_taller_heading_may_be_repeated_alone(kind):
    layout = laid_out(
        kind, page(*TWO_ROWS, ONE, HEADINGS, TWO), tables=[table("operation", GROUPS)]
    )
    assert numbers(layout) == {"A3": "A-1", "A5": "A-2"}
    assert told(layout.findings) == [("heading_repeated", "A4")]


SECOND = [list(EVENTS.values()), ["A-1", "OD", "cataract"], ["A-2", "OS", "detachment"]]


@pytest.mark.parametrize("kind", FORMATS)
@pytest.mark.parametrize(
    ("of", "cells"),
    [
        (page(HEADINGS, ONE, TWO, [], *SECOND), ["A6", "A7"]),
        (
            page(*([*own, None, *beside] for own, beside in
                   zip([HEADINGS, ONE, TWO], SECOND, strict=True))),
            ["F2", "F3"],
        ),
        (
            page(*([*own, None, *beside] for own, beside in
                   zip([HEADINGS, ONE, TWO, [None] * 4],
                       [["Events of the year"], *SECOND], strict=True))),
            ["F3", "F4"],
        ),
    ],
    ids=["below one another", "side by side", "side by side, one lower"],
)  # fmt: skip
def test_several_tables_of_a_sheet_each_end_where_another_begins(kind, of, cells):
    layout = laid_out(kind, of, tables=[*CASES, table("complication", EVENTS)])
    assert numbers(layout) == {"A2": "A-1", "A3": "A-2"}
    assert numbers(layout, "complication") == dict(zip(cells, BOTH, strict=True))
    assert layout.findings.empty
    assert layout.unread.empty


def test_a_row_of_units_of_one_table_may_stand_beside_a_record_of_another():
    units = ["text", "R/L", "date", "µm"]
    rows = zip([HEADINGS, units, ONE, TWO], [*SECOND, []], strict=True)
    of = page(*([*own, None, *beside] for own, beside in rows))
    layout = laid_out("xlsx", of, tables=[*CASES, table("complication", EVENTS)])
    assert numbers(layout) == {"A3": "A-1", "A4": "A-2"}
    assert numbers(layout, "complication") == {"F2": "A-1", "F3": "A-2"}
    assert told(layout.findings) == [("unit_row", "A2")]


@pytest.mark.parametrize("kind", WORKBOOKS)
@pytest.mark.parametrize(
    ("marks", "findings"),
    [
        ({"hidden_rows": {2}}, [("row_hidden", "A2")]),
        ({"hidden_columns": {4}}, [("column_hidden", "D1")]),
        ({"hidden_columns": {5}}, []),
        ({"freeze_below": 1}, []),
        ({"filter_over": (1, 1, 3, 4)}, []),
        ({"filter_over": (1, 1, 3, 4), "hidden_rows": {3}}, [("row_hidden", "A3")]),
        ({"blanks": {(row, column) for row in range(4, 3000) for column in (1, 2)}}, []),
    ],
    ids=["hidden row", "hidden column", "hidden column of no field", "frozen", "filter",
         "filter that hides", "formatted empty rows"],
)  # fmt: skip
def test_what_a_sheet_hides_is_read_and_told(kind, marks, findings):
    layout = laid_out(kind, page([*HEADINGS, "Note"], ONE, TWO, **marks))
    assert numbers(layout) == {"A2": "A-1", "A3": "A-2"}
    assert told(layout.findings) == findings


@pytest.mark.parametrize("kind", ["xlsx", "xls"])
def test_a_hidden_sheet_is_read_and_told(kind):
    shown = page(["Front page"], name="Front")
    hidden = page(HEADINGS, ONE, TWO, name="Log", is_hidden=True)
    layout = laid_out(kind, shown, hidden, tables=[table("operation", OPERATIONS, sheet="Log")])
    assert numbers(layout) == {"A2": "A-1", "A3": "A-2"}
    assert told(layout.findings) == [("sheet_hidden", "A1")]
    assert layout.unread["sheet"].to_list() == ["Front"]


@pytest.mark.parametrize("kind", WORKBOOKS)
def test_a_cell_merged_over_the_rows_of_both_eyes_counts_for_both_at_its_own_address(kind):
    of = page(HEADINGS, ["A-1", "OD", DAY, 410.0], [None, "OS", DAY, 650.0], merged=[(2, 1, 3, 1)])
    layout = laid_out(kind, of)
    cells = layout.records.field("patient_id")
    assert cells[["cell", "value"]].values.tolist() == [["A2", "A-1"], ["A2", "A-1"]]
    assert layout.records.index["row"].to_list() == [2, 3]


@pytest.mark.parametrize("kind", WORKBOOKS)
def test_rows_that_only_a_merged_cell_reaches_are_empty(kind):
    of = page(HEADINGS, ONE, [], merged=[(2, 1, 3, 1)])
    layout = laid_out(kind, of)
    assert numbers(layout) == {"A2": "A-1"}
    assert layout.findings.empty


# Numbers in columns of dates. 46093 days after the beginning of 1900, and 44631 after that of 1904,
# is 12 March 2026.


def dated(epoch, *numbers):
    book = openpyxl.Workbook()
    if epoch == 1904:
        book.epoch = openpyxl.utils.datetime.CALENDAR_MAC_1904
    sheet = book.active
    sheet.append(HEADINGS)
    for place, number in enumerate(numbers):
        sheet.append([f"A-{place}", "OD", number, 400])
    file = io.BytesIO()
    book.save(file)
    workbook = read_workbook("cases.xlsx", file.getvalue())
    return lay_out({UPLOAD: ("cases.xlsx", workbook)}, crosswalk(*CASES))


@pytest.mark.parametrize(("epoch", "number"), [(1900, 46093), (1904, 44631), (1900, 46093.75)])
def test_a_bare_number_is_the_spreadsheets_own_day_and_told(epoch, number):
    layout = dated(epoch, number)
    assert layout.records.field("operation_date")["value"].to_list() == [DAY]
    assert told(layout.findings) == [("day_number", "C2")]


@pytest.mark.parametrize("numbers", [(2021,), (270524,), (20240527,), (46093, 270524), (-3,)])
def test_numbers_that_may_be_years_or_days_without_marks_are_left_alone(numbers):
    layout = dated(1900, *numbers)
    assert layout.records.field("operation_date")["value"].to_list() == list(map(float, numbers))
    assert layout.findings.empty


def test_a_number_in_a_text_file_is_no_day():
    layout = laid_out("csv", page(HEADINGS, ["A-1", "OD", 46093.0, 410.0]))
    assert layout.records.field("operation_date")["value"].to_list() == ["46093"]
    assert layout.findings.empty


def test_a_formula_without_a_stored_result_is_a_formula_and_no_gap():
    book = openpyxl.Workbook()
    book.active.append(HEADINGS)
    book.active.append(["A-1", "OD", DAY, "=400+10"])
    file = io.BytesIO()
    book.save(file)
    workbook = read_workbook("cases.xlsx", file.getvalue())
    intake = take_in({UPLOAD: ("cases.xlsx", workbook)}, crosswalk(*CASES), STUDY, b"key", LATEST)
    assert told(intake.tables["findings"]) == [("formula_unstored", "D2")]


# Text files: what was found is told where the crosswalk says otherwise


def test_a_text_file_with_the_other_decimal_mark_is_read_by_its_own_and_told():
    rows = "No;Eye;Op;MLD\nA-1;OD;12/03/2026;410,5\nA-2;OS;12/03/2026;650,25\n"
    workbook = read_workbook("cases.csv", rows.encode())
    layout = lay_out({UPLOAD: ("cases.csv", workbook)}, crosswalk(*CASES, decimal="point"))
    assert told(layout.findings) == [("decimal_mark_differs", None)]
    assert {column.decimal for column in layout.records.columns} == {"comma"}


def test_a_text_file_that_fits_two_encodings_is_told_by_the_name_of_the_one_taken():
    fitting = "No;Eye;Op;MLD;Name\nA-1;OD;12/03/2026;410;é\n".encode("cp1252")
    workbook = read_workbook("cases.csv", fitting)
    layout = lay_out({UPLOAD: ("cases.csv", workbook)}, crosswalk(*CASES))
    assert told(layout.findings) == [("encoding_uncertain", None)]
    assert layout.findings["other"].to_list() == ["Windows-1252"]


@pytest.mark.parametrize(
    ("rows", "findings"),
    [
        (["A-1,OD,12/03/2026,410,5,ok", "A-2,OS,12/03/2026,650,ok"], ["F2"]),
        (["A-1,OD,12/03/2026,410,5,", "A-2,OS,12/03/2026,650,"], ["F2"]),
        (["A-1,OD,12/03/2026,410,ok", "A-2,OS,12/03/2026,650,ok,"], ["F3"]),
        (["A-1,OD,12/03/2026,410,ok,", "A-2,OS,12/03/2026,650,ok,"], []),
        (["A-1,OD,12/03/2026,410", "A-2,OS,12/03/2026,650,ok"], []),
        (['A-1,OD,12/03/2026,"410,5",', "A-2,OS,12/03/2026,650,"], []),
    ],
)
def test_a_row_of_a_text_file_with_more_cells_than_the_others_is_held(rows, findings):
    text = "\n".join(["No,Eye,Op,MLD,Note", *rows])
    workbook = read_workbook("cases.csv", text.encode())
    read = crosswalk(*CASES, decimal="comma")
    intake = take_in({UPLOAD: ("cases.csv", workbook)}, read, STUDY, b"key", LATEST)
    assert told(intake.tables["findings"]) == [("row_overflows", cell) for cell in findings]
    assert len(intake.tables["operations"]) == 2 - len(findings)


@pytest.mark.parametrize("kind", WORKBOOKS)
def test_a_sheet_with_all_headings_of_a_table_is_told_where_it_is_not_read(kind):
    new = page(["Cases of the new year"], HEADINGS, TWO, name="2026")
    other = page([*HEADINGS[:3], "Height"], TWO, name="Others")
    layout = laid_out(kind, page(HEADINGS, ONE, name="2025"), new, other)
    assert numbers(layout) == {"A2": "A-1"}
    assert told(layout.findings) == [("sheet_not_read", "A2")]
    assert layout.findings["sheet"].to_list() == ["2026"]


@pytest.mark.parametrize(
    ("rows", "header"),
    [(([], ["Autumn"], HEADINGS, ONE, TWO), [1]), ((HEADINGS, ONE, TWO), [2])],
    ids=["title put in", "title taken out"],
)
def test_headings_that_left_the_rows_that_the_crosswalk_names_are_told_by_row(rows, header):
    with pytest.raises(UnreadableUpload, match=r"the headings stand in row [13], where"):
        laid_out("xlsx", page(*rows), tables=[table("operation", OPERATIONS, header=header)])


def test_files_of_which_one_did_not_come_are_refused_together():
    tables = [table("operation", OPERATIONS, file="Op*"), table("complication", EVENTS, file="Ev*")]
    workbook = read_workbook("Ops.csv", write("csv", page(HEADINGS, ONE)))
    with pytest.raises(UnreadableUpload, match=r"no file for the table 'Ev\*' came with it"):
        lay_out({UPLOAD: ("Ops.csv", workbook)}, crosswalk(*tables))


# Days that a spreadsheet program took for months


@pytest.mark.parametrize(
    ("texts", "days", "are_read"),
    [
        (["13/05/2025", "25/06/2025", "30/07/2025"], [5, 7, 12], False),
        (["13/05/2025", "25/06/2025", "30/07/2025"], [5, 7, 13], True),
        (["13/05/2025", "25/06/2025", "03/07/2025"], [5, 7, 12], True),
        (["13/05/2025", "25/06/2025"], [5, 7, 12], True),
        ([], [5, 7, 12], True),
    ],
)
def test_typed_dates_are_read_unless_all_of_the_column_look_swapped(texts, days, are_read):
    dates = [*texts, *(dt.datetime(2025, 6, day) for day in days)]
    rows = [[f"A-{n}", "OD", date, 410.0] for n, date in enumerate(dates)]
    book = {UPLOAD: ("cases.xlsx", read_workbook("c.xlsx", write("xlsx", page(HEADINGS, *rows))))}
    found = take_in(book, crosswalk(*CASES), STUDY, b"key", LATEST).tables["findings"]
    swapped = [("operation_date_unreadable", f"C{n}") for n, date in enumerate(dates, 2)
               if not isinstance(date, str)]  # fmt: skip
    assert told(found) == ([] if are_read else swapped)


@pytest.mark.parametrize("kind", FORMATS)
def test_a_sheet_without_the_headings_is_refused_in_one_line(kind):
    with pytest.raises(UnreadableUpload, match="none of the crosswalk's headings") as refused:
        laid_out(kind, Page({(1, 1): "A-1", (2, 2): "OD"}))
    assert "\n" not in refused.value.reason


def test_a_sheet_that_is_all_headings_is_refused():
    with pytest.raises(UnreadableUpload, match="the headings stand more than 2,000 times"):
        laid_out("csv", page(HEADINGS, ONE, *[HEADINGS] * 2_001))
