"""Workbooks that are refused for their names, their size or a trick, and those just within."""

import io
import zipfile
from time import perf_counter

import openpyxl
import pytest
from workbook_files import (
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


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("", "no name"),
        ("../../etc/MUSTER", "a sign in its name"),
        ("C:\\MUSTER", "a sign in its name"),
        ("MUSTER*", "a sign in its name"),
        ("MUSTER?", "a sign in its name"),
        ("[MUSTER]", "a sign in its name"),
        ("MUS&#10;TER", "a sign in its name"),
        ("MUSTER" * 6, "more than 31 characters"),
        ("surgery LOG", "the name of a sheet before it"),
    ],
)
def test_a_sheet_name_that_no_program_allows_is_refused_by_its_number(name: str, words: str):
    book = openpyxl.Workbook()
    book.active.title = "Surgery log"
    book.create_sheet("Second")
    content = written(book)
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        xml = archive.read("xl/workbook.xml").replace(b'"Second"', f'"{name}"'.encode())
    reason = reason_of("a.xlsx", with_parts(content, {"xl/workbook.xml": xml}))
    assert words in reason
    assert "sheet 2 of the workbook" in reason
    assert "MUS" not in reason


@pytest.mark.parametrize(
    "name", ["Surgery log", "Cirugía 2024 (ñ)", "x" * 31, "O'Neill & co.", "1"]
)
def test_a_sheet_name_that_programs_allow_is_kept(name: str):
    book = openpyxl.Workbook()
    book.active.title = name
    assert only_sheet(written(book)).name == name


def test_a_long_sheet_name_of_an_open_document_is_allowed_and_a_path_is_not():
    table = '<table:table table:name="{}"><table:table-row/></table:table>'
    assert only_sheet(ods_with(table.format("x" * 60)), "a.ods").name == "x" * 60
    assert "sheet 1 of the workbook" in reason_of("a.ods", ods_with(table.format("a/b")))


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("a.xlsx", xlsx_with_rows('<row r="1"><c r="XFE1"><v>1</v></c></row>')),
        ("a.xlsx", xlsx_with_rows(f"<row>{'<c><v>1</v></c>' * 16_385}</row>")),
        ("a.ods", ods_row(ods_cell(1, 'table:number-columns-repeated="1000000"'))),
        ("a.ods", ods_row(ods_cell(1) * 16_385)),
        ("a.csv", b"1;" * 1_000_000),
        ("a.csv", b'Id,Note\n1,"a\nb"\n' + b'"1",' * 20_000),
        ("a.tsv", b"1\t" * 1_000_000),
    ],
)  # fmt: skip
def test_more_columns_than_any_sheet_has_are_refused(name: str, content: bytes):
    reason = reason_of(name, content)
    assert "16,384 columns" in reason or "1,048,576" in reason


def test_commas_inside_quotation_marks_are_no_columns():
    content = b'Id,Note\n1,"' + b"," * 20_000 + b'"\n'
    assert len(placed(only_sheet(content, "a.csv").values)["B2"]) == 20_000


def test_a_text_of_nothing_but_line_ends_between_two_cells_is_refused():
    assert "1,048,576 rows" in reason_of("a.csv", b"Id" + b"\n" * 1_048_577 + b"1")


def test_a_file_over_the_largest_size_is_refused_before_it_is_looked_at():
    assert "larger than 100 MB" in reason_of("a.xlsx", bytes(100_000_001))


def test_sheets_that_are_too_large_together_are_refused_before_they_are_read():
    row = (
        f'<table:table-row table:number-rows-repeated="500000">{ods_cell(1) * 2}</table:table-row>'
    )
    table = '<table:table table:name="{}">' + row + "</table:table>"
    content = ods_with("".join(table.format(name) for name in ("Log", "Old", "Older")))
    assert "together" in reason_of("a.ods", content)


def test_two_sheets_of_one_part_are_refused():
    book = openpyxl.Workbook()
    book.create_sheet("Second")
    content = written(book)
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        relations = archive.read("xl/_rels/workbook.xml.rels").replace(b"sheet2", b"sheet1")
    assert "damaged" in reason_of(
        "a.xlsx", with_parts(content, {"xl/_rels/workbook.xml.rels": relations})
    )


HOSTILE = {
    "unclosed comments": (b"<worksheet><sheetData>" + b"<!--" * 500_000, "a.xlsx"),
    "unclosed rows": (b"<worksheet hidden=''><sheetData>" + b"<row " * 500_000, "a.xlsx"),
    "unclosed cells": (b"<worksheet><sheetData><row>" + b'<c r="A1" ' * 500_000, "a.xlsx"),
    "unclosed cells of a table": (b"<table:table-cell " * 300_000, "a.ods"),
    "one long word": (b"x" * 3_000_000 + b"\xff", "a.csv"),
    "quotation marks": (b'"' * 3_000_001, "a.csv"),
}


@pytest.mark.parametrize("trick", HOSTILE)
def test_what_would_make_a_pattern_search_without_end_is_refused_at_once(trick: str):
    text, name = HOSTILE[trick]
    content = {
        "a.xlsx": lambda: with_parts(workbook_of({}), {"xl/worksheets/sheet1.xml": text}),
        "a.ods": lambda: with_parts(ods_with(""), {"content.xml": text}),
        "a.csv": lambda: text,
    }[name]()
    started = perf_counter()
    reason_of(name, content)
    assert perf_counter() - started < 5


def test_rows_that_do_not_say_their_number_may_all_be_hidden():
    content = xlsx_with_rows('<row hidden="1"><c><v>1</v></c></row>' * 20_000)
    started = perf_counter()
    assert only_sheet(content).hidden_rows == frozenset(range(1, 20_001))
    assert perf_counter() - started < 5
