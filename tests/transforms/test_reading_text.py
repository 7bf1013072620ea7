"""Text tables: encoding, delimiter, quoting; every cell is text at its address."""

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from transforms.reading import UnreadableUpload, Workbook, address, read_workbook


def read(text: str, encoding: str = "utf-8", name: str = "upload.csv") -> Workbook:
    return read_workbook(name, text.encode(encoding))


def placed(workbook: Workbook) -> dict[str, object]:
    values = workbook.sheets[0].values
    return {
        address(row, column): values.loc[row, column]
        for row in values.index
        for column in values.columns
        if values.loc[row, column] is not None
    }


TABLE = "N°;Œil;Acuité\r\n007;D;0,5\r\n;G;0,25\r\n"
PLACED = {"A1": "N°", "B1": "Œil", "C1": "Acuité", "A2": "007", "B2": "D", "C2": "0,5",
          "B3": "G", "C3": "0,25"}  # fmt: skip


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_every_encoding_gives_the_same_table(encoding: str):
    workbook = read(TABLE, encoding)
    assert placed(workbook) == PLACED
    assert (workbook.kind, workbook.encoding, workbook.delimiter) == ("csv", encoding, ";")
    assert workbook.sheets[0].name == "csv"


@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_every_line_end_gives_the_same_table(line_end: str):
    assert placed(read(TABLE.replace("\r\n", line_end))) == PLACED


@pytest.mark.parametrize(
    ("text", "delimiter"),
    [
        ("Id,Eye,Note\n1,OD,a;b\n2,OS,c\n", ","),
        ("Id;Eye;Acuity\n1;OD;0,5\n2;OS;0,25\n", ";"),
        ("0,5;0,25\n0,1;0,2\n", ";"),
        ("Id\tEye\tGraft, mm\n1\tOD\t1,5\n2\tOS\t2,0\n", "\t"),
        ("Id|Eye|Note\n1|OD|a, b\n", "|"),
        ('Id,Note\n1,"a;b;c"\n2,"d;e;f"\n3,"g;h;i"\n', ","),
        ("Birchmoor, surgery log\n\nId;Eye;Acuity\n1;OD;0,5\n2;OS;0,25\nTotal;2;\n", ";"),
        ("sep=,\nId;x,Eye;y\n1;x,OD;y\n", ","),
        ("Id\n1\n", "\t"),
    ],
)
def test_the_delimiter_that_cuts_the_rows_alike_is_found(text: str, delimiter: str):
    assert read(text).delimiter == delimiter


def test_a_line_that_names_the_delimiter_is_no_row():
    assert placed(read("sep=;\r\nId;Eye\r\n1;OD\r\n")) == {
        "A1": "Id", "B1": "Eye", "A2": "1", "B2": "OD"
    }  # fmt: skip


def test_rows_are_counted_as_a_spreadsheet_program_shows_them():
    text = '\n\n,,\n,Id,Note\n,1,"two\nlines, ""quoted"""\n,2\n,,\n'
    workbook = read(text)
    assert placed(workbook) == {
        "B4": "Id", "C4": "Note", "B5": "1", "C5": 'two\nlines, "quoted"', "B6": "2"
    }  # fmt: skip
    assert workbook.sheets[0].values.shape == (6, 3)


def test_nothing_is_taken_for_missing_or_for_a_number():
    assert placed(read("Id,Acuity\nNA,1e5\nNone,007\n")) == {
        "A1": "Id", "B1": "Acuity", "A2": "NA", "B2": "1e5", "A3": "None", "B3": "007"
    }  # fmt: skip


def test_an_exported_error_is_an_error():
    sheet = read("Id;Ratio\n1;#DIV/0!\n").sheets[0]
    assert sheet.errors == {(2, 2): "#DIV/0!"}
    assert sheet.values.loc[2, 2] is None


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b'Id;Note\n1;"open\n2;x\n3;y\n', "quotation mark"),
        (b'Id;Note\n1;"open\n2;x\n3;"y"\n', "quotation mark"),
        (b"Id;Note\n1;" + b"x" * 200_000, "longer"),
        (b"Id;Note\n1;\x81\x8d\n", "CSV UTF-8"),
        ("Id;Note\n".encode("utf-16-le"), "CSV UTF-8"),
        (b"\xff\xfeI\x00d", "CSV UTF-8"),
        (b"x;" * 2_000_001, "2,000,000 cells"),
    ],
)
def test_a_text_that_cannot_be_read_with_certainty_is_refused(content: bytes, words: str):
    with pytest.raises(UnreadableUpload, match=words):
        read_workbook("upload.csv", content)


@settings(max_examples=60, deadline=None)
@given(
    rows=st.lists(
        st.lists(st.text("ab1.äß /\"'\n", max_size=6), min_size=2, max_size=4),
        min_size=1,
        max_size=5,
    ),
    first_row=st.integers(1, 20),
    first_column=st.integers(1, 20),
    delimiter=st.sampled_from(",;\t|"),
)
def test_any_table_is_read_back_at_the_same_addresses(
    rows: list[list[str]], first_row: int, first_column: int, delimiter: str
):
    width = max(len(row) for row in rows)
    file = io.StringIO()
    writer = csv.writer(file, delimiter=delimiter)
    writer.writerows([[]] * (first_row - 1))
    for row in rows:
        writer.writerow([""] * (first_column - 1) + row + [""] * (width - len(row)))
    expected = {
        address(first_row + down, first_column + along): value
        for down, row in enumerate(rows)
        for along, value in enumerate(row)
        if value.strip()
    }
    if expected:
        assert placed(read(file.getvalue())) == expected
