"""Returns: a centre's own workbook with its cells marked, and nobody else's findings."""

from __future__ import annotations

import datetime as dt
import os
import stat
import time
from collections.abc import Sequence
from io import BytesIO
from pathlib import Path

import openpyxl
import pandas as pd
import pytest
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P
from openpyxl.worksheet.worksheet import Worksheet

from reports.caution import CAUTION_SHORT
from reports.returns import ReturnSource, write_return
from reports.returns.marks import MARKS
from schemas.codebook import TABLES
from schemas.codes import ACTION
from schemas.rules import RULES
from transforms.reading import PerCent, Sheet, Workbook, read_workbook

KEY = "birch-2026-W47-0a1b2c"
HEADER = {"study_name": "Heath series", "week": "2026-W47", "code_version": "0.1.0"}


def sheet_of(rows: Sequence[Sequence[object]], name: str = "Log", **more: object) -> Sheet:
    frame = pd.DataFrame(rows, dtype=object)
    frame = frame.where(frame.notna(), None)
    frame.index, frame.columns = frame.index + 1, frame.columns + 1
    facts: dict[str, object] = {
        "state": "visible", "hidden_rows": frozenset(), "hidden_columns": frozenset(),
        "merged": (), "errors": {}, "uncached": frozenset(),
    }  # fmt: skip
    return Sheet(name=name, values=frame, **(facts | more))  # type: ignore[arg-type]


def source_of(*sheets: Sheet, file_name: str = "series.xlsx", key: str = KEY) -> ReturnSource:
    return ReturnSource(file_name, key, Workbook(sheets=sheets, kind="xlsx"))


def findings_of(*rows: dict[str, object]) -> pd.DataFrame:
    """Findings in the codebook's columns; what a row leaves out has a default or is missing."""
    columns = list(TABLES["findings"].to_schema().columns)
    filled = []
    for number, row in enumerate(rows, start=1):
        rule = RULES[str(row["rule"])]
        filled.append(
            {"finding_key": f"F-{number:03}", "site": "birch", "upload": KEY, "sheet": "Log",
             "action": rule.action, "message": f"About {row['rule']}.", "mend": rule.mend,
             "first_week": "2026-W46", "last_week": "2026-W47", "state": "open"} | row
        )  # fmt: skip
    return pd.DataFrame(filled, columns=columns).astype("str")


def write(folder: Path, sources: Sequence[ReturnSource], findings: pd.DataFrame) -> list[Path]:
    return write_return("birch", "Birchmoor Eye Clinic", sources, findings, folder, **HEADER)


def table_of(sheet: Worksheet) -> list[dict[str, object]]:
    """Rows of the first sheet's table, by its headings."""
    rows = list(sheet.iter_rows(values_only=True))
    head = next(number for number, row in enumerate(rows) if row[0] == "No.")
    return [dict(zip(rows[head], row, strict=True)) for row in rows[head + 1 :]]  # type: ignore[arg-type]


def fill(sheet: Worksheet, cell: str) -> str:
    return "#" + str(sheet[cell].fill.fgColor.rgb)[2:]


LOG = sheet_of(
    [
        ["Hosp. no.", "Eye", "Date", "MLD"],
        ["A1", "right", dt.datetime(2026, 3, 2), 450.0],
        ["A2", None, dt.datetime(2026, 3, 9, 14, 30), "450?"],
    ]
)


def test_flagged_cells_are_filled_and_commented_others_are_not(tmp_path: Path) -> None:
    findings = findings_of(
        {"rule": "eye_missing", "cell": "B3", "field": "eye"},
        {"rule": "number_unreadable", "cell": "D3", "field": "hole_min_diameter"},
        {"rule": "outside_usual", "cell": "D2", "field": "hole_min_diameter"},
    )
    write(tmp_path, [source_of(LOG)], findings)
    sheet = openpyxl.load_workbook(tmp_path / "series_findings.xlsx")["Log"]
    assert fill(sheet, "B3") == MARKS["hold"].fill
    assert fill(sheet, "D3") == MARKS["blank"].fill
    assert fill(sheet, "D2") == MARKS["ask"].fill
    assert sheet["B3"].comment.text == (
        f"Held: About eye_missing. {RULES['eye_missing'].mend} (finding 2)"
    )
    assert sheet["D3"].comment.text.startswith("Blanked: ")
    assert sheet["D2"].comment.text.startswith("Confirm: ")
    commented = {cell.coordinate for row in sheet.iter_rows() for cell in row if cell.comment}
    assert commented == {"B3", "D2", "D3"}
    assert sheet["C2"].fill.fill_type is None


def test_values_come_back_typed_at_their_addresses(tmp_path: Path) -> None:
    rows = [
        [None, None, None],
        [None, "text", 450.0],
        [None, True, "007"],
        [None, dt.date(2026, 3, 2), dt.datetime(2026, 3, 9, 14, 30)],
        [None, "=1+1", "+49 30"],
        [None, dt.time(8, 15), dt.datetime(1820, 1, 1)],
    ]
    write(tmp_path, [source_of(sheet_of(rows, errors={(7, 2): "#DIV/0!"}))], findings_of())
    sheet = openpyxl.load_workbook(tmp_path / "series_findings.xlsx")["Log"]
    found = {
        cell.coordinate: (cell.value, cell.data_type)
        for row in sheet.iter_rows()
        for cell in row
        if cell.value is not None
    }
    assert found == {
        "B2": ("text", "s"), "C2": (450, "n"),
        "B3": (True, "b"), "C3": ("007", "s"),
        "B4": (dt.datetime(2026, 3, 2), "d"), "C4": (dt.datetime(2026, 3, 9, 14, 30), "d"),
        "B5": ("=1+1", "s"), "C5": ("+49 30", "s"),
        "B6": (dt.time(8, 15), "d"), "C6": ("1820-01-01", "s"),
        "B7": ("#DIV/0!", "s"),
    }  # fmt: skip
    assert sheet["B4"].number_format == "yyyy-mm-dd"


def test_several_findings_on_a_cell_share_a_comment_the_gravest_first(tmp_path: Path) -> None:
    findings = findings_of(
        {"rule": "outside_usual", "cell": "D2"}, {"rule": "unit_unknown", "cell": "D2"}
    )
    write(tmp_path, [source_of(LOG)], findings)
    sheet = openpyxl.load_workbook(tmp_path / "series_findings.xlsx")["Log"]
    first, second = sheet["D2"].comment.text.split("\n")
    assert first.startswith("Blanked: About unit_unknown.")
    assert second.startswith("Confirm: About outside_usual.")
    assert fill(sheet, "D2") == MARKS["blank"].fill


def test_first_sheet_lists_each_finding_with_a_link_and_room_for_an_answer(tmp_path: Path) -> None:
    findings = findings_of(
        {"rule": "number_unreadable", "cell": "D3", "field": "hole_min_diameter"},
        {"rule": "eye_missing", "cell": "B2", "field": "eye"},
        {"rule": "value_missing", "cell": "D2", "field": "hole_min_diameter", "state": "fixed"},
    )
    write(tmp_path, [source_of(LOG)], findings)
    first = openpyxl.load_workbook(tmp_path / "series_findings.xlsx").worksheets[0]
    assert first.title == "Findings"
    assert first["A1"].value == "Birchmoor Eye Clinic: 2 findings in series.xlsx"
    assert first["A2"].value == CAUTION_SHORT
    assert table_of(first) == [
        {
            "No.": 1, "Cell": "Log, B2", "Field": "Eye", "What is wrong": "About eye_missing.",
            "What was done": f"Held: {ACTION['hold']}",
            "How to mend it": RULES["eye_missing"].mend, "Your answer": None, "Reference": "F-002",
        },
        {
            "No.": 2, "Cell": "Log, D3", "Field": "Minimum hole diameter",
            "What is wrong": "About number_unreadable.",
            "What was done": f"Blanked: {ACTION['blank']}",
            "How to mend it": RULES["number_unreadable"].mend, "Your answer": None,
            "Reference": "F-001",
        },
    ]  # fmt: skip
    links = [cell.hyperlink.location for row in first.iter_rows() for cell in row if cell.hyperlink]
    assert links == ["'Log'!B2", "'Log'!D3"]


def test_links_reach_sheets_whose_names_had_to_change(tmp_path: Path) -> None:
    sources = [source_of(sheet_of([["a"]], name="Findings"), sheet_of([["b"]], name="O'Dell"))]
    findings = findings_of(
        {"rule": "value_missing", "sheet": "Findings", "cell": "A1"},
        {"rule": "value_missing", "sheet": "O'Dell", "cell": "A1"},
    )
    write(tmp_path, sources, findings)
    book = openpyxl.load_workbook(tmp_path / "series_findings.xlsx")
    assert book.sheetnames == ["Findings", "Findings (2)", "O'Dell"]
    cells = [cell for row in book["Findings"].iter_rows() for cell in row if cell.hyperlink]
    assert [cell.hyperlink.location for cell in cells] == ["'Findings (2)'!A1", "'O''Dell'!A1"]
    assert book["Findings (2)"]["A1"].comment is not None


def test_hidden_rows_columns_and_sheets_stay_hidden_and_are_told(tmp_path: Path) -> None:
    log = sheet_of(
        [["a", "b"], ["c", "d"]], hidden_rows=frozenset({2}), hidden_columns=frozenset({2})
    )
    other = sheet_of([["x"]], name="Old", state="very_hidden")
    findings = findings_of(
        {"rule": "value_missing", "cell": "A2"},
        {"rule": "value_missing", "cell": "B1"},
        {"rule": "value_missing", "sheet": "Old", "cell": "A1"},
    )
    write(tmp_path, [source_of(log, other)], findings)
    book = openpyxl.load_workbook(tmp_path / "series_findings.xlsx")
    assert book["Log"].row_dimensions[2].hidden
    assert not book["Log"].row_dimensions[1].hidden
    assert book["Log"].column_dimensions["B"].hidden
    assert book["Old"].sheet_state == "veryHidden"
    assert [row["Cell"] for row in table_of(book["Findings"])] == [
        "Log, B1 (hidden column)", "Log, A2 (hidden row)", "Old, A1 (hidden sheet)",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("merged", "flagged", "kept"),
    [
        ([(1, 1, 1, 3)], "A1", ["A1:C1"]),
        ([(1, 1, 1, 3)], "C1", []),  # a flag beyond the first cell would be covered
        ([(1, 1, 2, 1)], "A1", []),  # so would the value of A2
        ([(1, 1, 1, 3), (1, 3, 1, 4)], "A1", ["A1:C1"]),  # no range may overlap another
        ([(1, 3, 60_000, 3)], "A1", []),
    ],
)
def test_merged_ranges_are_kept_where_they_cover_nothing(
    merged: list[tuple[int, int, int, int]], flagged: str, kept: list[str], tmp_path: Path
) -> None:
    log = sheet_of([["Title", None, None, None], ["a", "b", "c", "d"]], merged=tuple(merged))
    write(tmp_path, [source_of(log)], findings_of({"rule": "value_missing", "cell": flagged}))
    sheet = openpyxl.load_workbook(tmp_path / "series_findings.xlsx")["Log"]
    assert [str(reference) for reference in sheet.merged_cells.ranges] == kept
    assert sheet["A1"].value == "Title"
    assert fill(sheet, flagged) == MARKS["ask"].fill


def test_a_flag_on_an_empty_cell_beyond_the_table_is_marked(tmp_path: Path) -> None:
    write(tmp_path, [source_of(LOG)], findings_of({"rule": "value_missing", "cell": "AB9"}))
    sheet = openpyxl.load_workbook(tmp_path / "series_findings.xlsx")["Log"]
    assert fill(sheet, "AB9") == MARKS["ask"].fill
    assert sheet["AB9"].comment is not None


def test_findings_without_a_cell_or_of_an_earlier_file_are_listed(tmp_path: Path) -> None:
    findings = findings_of(
        {"rule": "heading_missing"},
        {"rule": "case_gone", "upload": "birch-2026-W46-ffffff", "cell": "A2"},
    )
    write(tmp_path, [source_of(LOG)], findings)
    book = openpyxl.load_workbook(tmp_path / "series_findings.xlsx")
    assert [row["Cell"] for row in table_of(book["Findings"])] == [
        "Log", "Log, A2 (in an earlier file)",
    ]  # fmt: skip
    # The cell of the earlier file says nothing about this one.
    assert book["Log"]["A2"].comment is None


def test_findings_of_another_centre_are_refused_and_nothing_is_written(tmp_path: Path) -> None:
    findings = findings_of(
        {"rule": "value_missing", "cell": "D2"},
        {"rule": "value_missing", "cell": "D2", "site": "cedar"},
    )
    with pytest.raises(ValueError, match="centre 'birch': 1 findings of other centres"):
        write(tmp_path / "birch", [source_of(LOG)], findings)
    assert not (tmp_path / "birch").exists()


def test_folder_and_files_are_for_their_owner_alone(tmp_path: Path) -> None:
    folder = tmp_path / "birch"
    folder.mkdir(mode=0o755)
    (folder / "findings.csv").write_text("of last week")
    before = os.umask(0)
    try:
        written = write(folder, [source_of(LOG)], findings_of())
    finally:
        os.umask(before)
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert {stat.S_IMODE(path.stat().st_mode) for path in written} == {0o600}


def test_csv_holds_every_state_and_open_ones_carry_the_number(tmp_path: Path) -> None:
    findings = findings_of(
        {"rule": "value_missing", "cell": "D2", "state": "confirmed", "answer": "=right"},
        {"rule": "eye_missing", "cell": "B3"},
    )
    write(tmp_path, [source_of(LOG)], findings)
    table = pd.read_csv(tmp_path / "findings.csv", dtype=str, keep_default_na=False)
    assert table[["number", "file_name", "cell", "state", "answer"]].to_numpy().tolist() == [
        ["1", "series.xlsx", "B3", "open", ""],
        ["", "", "D2", "confirmed", "'=right"],
    ]


def test_page_shows_the_open_findings_escaped(tmp_path: Path) -> None:
    findings = findings_of(
        {"rule": "eye_missing", "cell": "B3", "field": "eye", "message": "<script>1</script>"},
        {"rule": "value_missing", "cell": "D2", "message": "Mended.", "state": "fixed"},
    )
    write(tmp_path, [source_of(LOG, file_name="a b.xlsx")], findings)
    page = (tmp_path / "findings.html").read_text(encoding="utf-8")
    assert "1 finding to look at" in page
    assert "&lt;script&gt;1&lt;/script&gt;" in page
    assert "Log, B3" in page
    assert "Mended." not in page
    assert 'href="a%20b_findings.xlsx"' in page
    assert CAUTION_SHORT in page
    assert "<script" not in page
    assert "http:" not in page
    assert "https:" not in page


def test_page_of_a_clean_upload_says_so(tmp_path: Path) -> None:
    write(tmp_path, [source_of(LOG)], findings_of())
    assert "Nothing is open" in (tmp_path / "findings.html").read_text(encoding="utf-8")


def test_a_long_file_name_is_cut(tmp_path: Path) -> None:
    written = write(tmp_path, [source_of(LOG, file_name="ö" * 120 + ".xlsx")], findings_of())
    assert written[-1].name == "ö" * 60 + "_findings.xlsx"


def test_page_of_a_centre_that_has_sent_nothing_says_so(tmp_path: Path) -> None:
    written = write(tmp_path, [], findings_of())
    assert [path.name for path in written] == ["findings.csv", "findings.html"]
    assert "No file of yours has been read yet" in written[1].read_text(encoding="utf-8")


def test_files_of_equal_stem_get_names_of_their_own(tmp_path: Path) -> None:
    text = read_workbook("Series.csv", "Hosp. no.;Eye\nA1;\n".encode("utf-16"))
    sources = [
        source_of(LOG),
        ReturnSource("Series.csv", "birch-2026-W47-333333", text),
    ]
    findings = findings_of(
        {"rule": "value_missing", "cell": "D2"},
        {"rule": "eye_missing", "sheet": "csv", "cell": "B2", "upload": "birch-2026-W47-333333"},
    )
    written = write(tmp_path, sources, findings)
    assert [path.name for path in written] == [
        "Series_findings_2.xlsx", "findings.csv", "findings.html", "series_findings.xlsx",
    ]  # fmt: skip
    book = openpyxl.load_workbook(tmp_path / "Series_findings_2.xlsx")
    assert [row["No."] for row in table_of(book["Findings"])] == [2]
    assert book["csv"]["A2"].value == "A1"
    assert book["csv"]["B2"].comment.text.startswith("Held: ")


def as_ods(rows: Sequence[Sequence[str]]) -> bytes:
    document = OpenDocumentSpreadsheet()
    table = Table(name="Journal")
    for row in rows:
        line = TableRow()
        for text in row:
            cell = TableCell(valuetype="string")
            cell.addElement(P(text=text))
            line.addElement(cell)
        table.addElement(line)
    document.spreadsheet.addElement(table)
    target = BytesIO()
    document.write(target)
    return target.getvalue()


@pytest.mark.parametrize(
    ("name", "content", "sheet_name"),
    [
        ("serie.ods", as_ods([["N° dossier", "Œil"], ["=7", "droit"]]), "Journal"),
        ("serie.csv", "N° dossier;Œil\n=7;droit\n".encode(), "csv"),
    ],
)
def test_copy_reads_back_as_what_was_read(
    name: str, content: bytes, sheet_name: str, tmp_path: Path
) -> None:
    workbook = read_workbook(name, content)
    findings = findings_of({"rule": "value_missing", "sheet": sheet_name, "cell": "B2"})
    write(tmp_path, [ReturnSource(name, KEY, workbook)], findings)
    copy = read_workbook("x.xlsx", (tmp_path / "serie_findings.xlsx").read_bytes()).sheets[1]
    assert copy.name == sheet_name
    pd.testing.assert_frame_equal(copy.values, workbook.sheets[0].values)
    assert copy.values.loc[2, 1] == "=7"


def test_numbers_that_were_shown_as_per_cent_are_so_in_the_copy(tmp_path: Path) -> None:
    sent = sheet_of([["Gas"], [PerCent(14.0)], [PerCent(12.5)]])
    findings = findings_of({"rule": "value_missing", "sheet": "Log", "cell": "A4"})
    write(tmp_path, [source_of(sent)], findings)
    copy = read_workbook("x.xlsx", (tmp_path / "series_findings.xlsx").read_bytes()).sheets[1]
    shown = copy.values[1].to_list()
    assert shown[:3] == ["Gas", 14.0, 12.5]
    assert [type(value) for value in shown[1:3]] == [PerCent, PerCent]


def test_same_input_gives_same_bytes_seconds_later(tmp_path: Path) -> None:
    findings = findings_of(
        {"rule": "eye_missing", "cell": "B3"}, {"rule": "outside_usual", "cell": "D2"}
    )
    first = write(tmp_path / "first", [source_of(LOG)], findings)
    time.sleep(2.1)  # the resolution of a zip archive's times is two seconds
    second = write(tmp_path / "second", [source_of(LOG)], findings.iloc[::-1])
    assert [path.name for path in first] == [path.name for path in second]
    assert [path.read_bytes() for path in first] == [path.read_bytes() for path in second]
