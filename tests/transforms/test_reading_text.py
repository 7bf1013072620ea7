"""Text tables: encoding, delimiter, quoting; every cell is text at its address."""

import codecs
import csv
import io
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from workbook_files import placed as filled

import schemas
from transforms.reading import UnreadableUpload, Workbook, address, read_workbook
from transforms.reading.number_marks import decimal_mark


def read(text: str, encoding: str = "utf-8", name: str = "upload.csv") -> Workbook:
    return read_workbook(name, text.encode(encoding))


def placed(workbook: Workbook) -> dict[str, object]:
    return filled(workbook.sheets[0].values)


ACCENTED_WORDS = sorted(
    {
        word
        for file in (Path(schemas.__file__).parent / "vocabularies").glob("*.toml")
        for word in re.findall(r"[^\W\d_]+", file.read_text("utf-8"))
        if not word.isascii() and "Μ" not in word
    }
)

TABLE = "N°;Œil;Acuité\r\n007;D;0,5\r\n;G;0,25\r\n"
PLACED = {"A1": "N°", "B1": "Œil", "C1": "Acuité", "A2": "007", "B2": "D", "C2": "0,5",
          "B3": "G", "C3": "0,25"}  # fmt: skip


@pytest.mark.parametrize(
    "encoding",
    [
        "utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "utf-32-le",
        "utf-32-be", "cp1252", "mac_roman",
    ],
)  # fmt: skip
def test_every_encoding_gives_the_same_table(encoding: str):
    workbook = read(TABLE, encoding)
    assert placed(workbook) == PLACED
    assert (workbook.kind, workbook.encoding, workbook.delimiter) == ("csv", encoding, ";")
    assert workbook.encoding_is_certain
    assert workbook.sheets[0].name == "csv"


@pytest.mark.parametrize("mark", [codecs.BOM_UTF16_BE, codecs.BOM_UTF32_BE])
def test_a_mark_may_say_that_the_upper_byte_comes_first(mark: bytes):
    encoding = "utf-16-be" if mark == codecs.BOM_UTF16_BE else "utf-32-be"
    workbook = read_workbook("upload.csv", mark + TABLE.encode(encoding))
    assert placed(workbook) == PLACED
    assert workbook.encoding == encoding.removesuffix("-be")


HEADINGS = {
    "es": "N.º historia;Ojo;Cirugía;Agudeza después;Tamaño;Diámetro mínimo (µm)\n007;D;1;0,5;2;3\n",
    "fr": "Œil;Acuité préopératoire;Diamètre;Taux d’ouverture;Âge\nD;0,5;450 µm;90 %;66\n",
    "de": "Größe;Visus präop.;Netzhautablösung;Öltamponade;Übersicht\n450 µm;0,5;nein;ja;–\n",
    "pt": "Olho;Operação;Não;Acuidade pós;Diâmetro mínimo\nD;1;não;0,5;450\n",
    "en": "Eye;Note\nOD;“seen” by patient’s GP – naïve\n",
    "capitals": "CIRUGÍA;AÑO;TÉCNICA;DIÁMETRO MÍNIMO\n1;2;3;4\n",
}


@pytest.mark.parametrize("encoding", ["cp1252", "mac_roman"])
@pytest.mark.parametrize("language", HEADINGS)
def test_windows_and_macintosh_are_told_apart_by_whole_words(language: str, encoding: str):
    workbook = read(HEADINGS[language], encoding)
    assert workbook.encoding == encoding
    assert workbook.encoding_is_certain
    assert set(placed(workbook).values()) == set(
        HEADINGS[language].replace("\n", ";").split(";")
    ) - {""}


@pytest.mark.parametrize("encoding", ["cp1252", "mac_roman"])
def test_words_of_the_vocabularies_are_never_taken_for_the_other_encoding_with_certainty(
    encoding: str,
):
    unsure, wrong = [], []
    for word in ACCENTED_WORDS:
        workbook = read(f"Id;{word}\n1;x\n", encoding)
        if not workbook.encoding_is_certain:
            unsure.append(word)
        elif placed(workbook)["B1"] != word:
            wrong.append(word)
    assert wrong == []
    assert len(unsure) < 0.05 * len(ACCENTED_WORDS)


@pytest.mark.parametrize(
    ("text", "encoding"),
    [
        ("Día;x\n", "mac_roman"),  # in Windows-1252: d’a
        ("Être;x\n", "mac_roman"),  # ætre
        ("Über;x\n", "cp1252"),  # ‹ber
        ("Žiga;Größe;Länge\n", "cp1252"),  # a sign of neither, and little else to go by
    ],
)
def test_an_encoding_that_the_words_leave_open_is_not_certain(text: str, encoding: str):
    assert not read(text, encoding).encoding_is_certain


def test_signs_that_both_encodings_write_alike_leave_nothing_open():
    workbook = read("Id;MLD (µm)\n1;±5\n", "cp1252")
    assert (workbook.encoding, workbook.encoding_is_certain) == ("cp1252", True)


def test_another_alphabet_is_not_taken_for_certain():
    workbook = read("Глаз;Острота зрения\n", "cp1251")
    assert not workbook.encoding_is_certain


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


@pytest.mark.parametrize(
    ("cells", "mark"),
    [
        (["0,45", "Eye", "12"], "comma"),
        (["0.45", "450 um", "12"], "point"),
        (["0,45", "0.45"], None),
        (["450", "OD", ""], None),
        (["01.02.2024", "1.2.24", "10:30"], None),
        (["0,45 mm", "3,5%", "~450,5", "-1,25", "\u22120,3"], "comma"),
        (["1,250"], None),
        (["0,250"], "comma"),
        (["1250,375"], "comma"),
        (["1.250,5", "1.250"], "comma"),
        (["1,250.5"], "point"),
        (["1 250,5"], "comma"),
        (["1,250,500", "1.250.500"], None),
        (["6/7,5", "V1.2 of the form", "Dr. 5, room 3"], None),
    ],
)
def test_the_decimal_mark_is_the_one_that_numbers_show(cells: list[str], mark: str | None):
    assert decimal_mark(cells) == mark
    writer = csv.writer(file := io.StringIO(), delimiter=",")
    writer.writerows([["Id", "Value"], *([number, cell] for number, cell in enumerate(cells))])
    workbook = read(file.getvalue())
    assert (workbook.delimiter, workbook.decimal) == (",", mark)


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
        ("Łódź;Größe\n1;ą\n".encode("cp852"), "CSV UTF-8"),
        (b"Id;Note\n1;\0\n", "CSV UTF-8"),
        (b"\xff\xfeI\x00d", "CSV UTF-8"),
        (b"x;" * 1_000_000, "16,384 columns"),
        (b"x;y\n" * 1_000_001, "2,000,000 cells"),
    ],
)
def test_a_text_that_cannot_be_read_with_certainty_is_refused(content: bytes, words: str):
    with pytest.raises(UnreadableUpload, match=words):
        read_workbook("upload.csv", content)


@st.composite
def text_tables(draw: st.DrawFn) -> tuple[dict[str, str], str]:
    """A table at any place as its cells by address, and as text with any delimiter.

    The cells are of signs that quoting is for, or words of the vocabularies.
    """
    cells = draw(st.sampled_from([
        st.text("ab1.äß /\"'\n", max_size=6), st.sampled_from(["", "0,5", *ACCENTED_WORDS])
    ]))  # fmt: skip
    rows = draw(st.lists(st.lists(cells, min_size=2, max_size=4), min_size=1, max_size=5))
    first_row, first_column = draw(st.integers(1, 20)), draw(st.integers(1, 20))
    width = max(len(row) for row in rows)
    writer = csv.writer(file := io.StringIO(), delimiter=draw(st.sampled_from(",;\t|")))
    writer.writerows([[]] * (first_row - 1))
    for row in rows:
        writer.writerow([""] * (first_column - 1) + row + [""] * (width - len(row)))
    expected = {
        address(first_row + down, first_column + along): value
        for down, row in enumerate(rows)
        for along, value in enumerate(row)
        if value.strip()
    }
    return expected, file.getvalue()


WIDE = ("utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32-le", "utf-32-be")


@settings(max_examples=100, deadline=None)
@given(text_tables(), st.sampled_from(WIDE), st.sampled_from(["upload.csv", "upload.tsv"]))
def test_any_table_at_any_place_is_read_back_at_the_same_addresses(
    table: tuple[dict[str, str], str], encoding: str, name: str
):
    expected, text = table
    if expected:
        assert placed(read(text, encoding, name)) == expected


@settings(max_examples=100, deadline=None)
@given(text_tables(), st.sampled_from(["cp1252", "mac_roman"]))
def test_any_table_of_one_byte_a_sign_is_read_back_or_its_encoding_is_not_certain(
    table: tuple[dict[str, str], str], encoding: str
):
    expected, text = table
    if not set(expected.values()) & set(ACCENTED_WORDS):
        return
    workbook = read(text, encoding)
    assert placed(workbook) == expected or not workbook.encoding_is_certain
