"""Files of the pooled tables: what a reader of each format gets, and that bytes repeat."""

from __future__ import annotations

import time
from io import BytesIO
from pathlib import Path

import openpyxl
import pandas as pd
import pytest

from reports.caution import CAUTION
from reports.csv_text import csv_bytes
from reports.spreadsheet import sheet_names, workbook_bytes
from reports.table_files import write_tables
from schemas.codebook import table_fields
from schemas.codes import GRAFT_MATERIAL
from schemas.pooled_tables import COLUMNS


@pytest.fixture
def closure() -> pd.DataFrame:
    return pd.DataFrame(
        {
            "outcome": ["primary_closure_strict", "primary_closure_broad", "acuity_logmar"],
            "visit": "m3",
            "technique": ["all", "all", "ilm_free_flap"],
            "group": ["all", "site", "technique"],
            "level": ["all", "=cedar", "ilm_free_flap"],
            "statistic": ["proportion", "proportion", "mean"],
            "eyes": pd.array([30, 1234, None], dtype="Int64"),
            "estimate": [0.1 + 0.2, 1e-7, float("nan")],
            "masked": [False, True, False],
        }
    )


def test_csv_has_shortest_digits_one_line_end_and_no_formula(closure: pd.DataFrame) -> None:
    written = csv_bytes(closure[["level", "eyes", "estimate", "masked"]]).decode("utf-8")
    assert written == (
        "level,eyes,estimate,masked\n"
        "all,30,0.30000000000000004,False\n"
        "'=cedar,1234,1e-07,True\n"
        "ilm_free_flap,,,False\n"
    )


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "＝1"])
def test_csv_text_that_a_spreadsheet_would_run_is_neutralised(text: str) -> None:
    written = csv_bytes(pd.DataFrame({text: [text]}))
    assert pd.read_csv(BytesIO(written)).to_dict("list") == {f"'{text}": [f"'{text}"]}


def test_csv_negative_numbers_stay_numbers() -> None:
    assert csv_bytes(pd.DataFrame({"estimate": [-0.3, 2.0]})) == b"estimate\n-0.3\n2.0\n"


def test_parquet_reads_back_as_the_same_frame(closure: pd.DataFrame, tmp_path: Path) -> None:
    write_tables({"closure": closure}, tmp_path)
    pd.testing.assert_frame_equal(pd.read_parquet(tmp_path / "closure.parquet"), closure)


def test_same_tables_give_same_bytes_seconds_later(closure: pd.DataFrame, tmp_path: Path) -> None:
    first = write_tables({"closure": closure}, tmp_path / "first")
    time.sleep(2.1)  # the resolution of a zip archive's times is two seconds
    second = write_tables({"closure": closure.copy()}, tmp_path / "second")
    assert [path.name for path in first] == [
        "closure.csv", "closure.parquet", "pooled_tables.xlsx",
    ]  # fmt: skip
    assert [path.read_bytes() for path in first] == [path.read_bytes() for path in second]


def test_workbook_explains_itself_on_its_first_sheet(closure: pd.DataFrame, tmp_path: Path) -> None:
    write_tables({"closure": closure}, tmp_path, about=["Heath series, week 2026-W47"])
    about = openpyxl.load_workbook(tmp_path / "pooled_tables.xlsx").worksheets[0]
    lines = {text for row in about.iter_rows(values_only=True) for text in row if text}
    strict = table_fields("operations")["primary_closure_strict"]
    assert {
        "Heath series, week 2026-W47",
        CAUTION,
        "3 rows, one an estimate",
        f"{strict.title}: {strict.description}",
        COLUMNS["eyes"].description,
        GRAFT_MATERIAL["ilm_free_flap"],
    } <= lines
    assert any("Broad closure adds flat_open" in line for line in lines)


def test_workbook_sheet_has_typed_and_formatted_cells(
    closure: pd.DataFrame, tmp_path: Path
) -> None:
    write_tables({"closure": closure}, tmp_path)
    sheet = openpyxl.load_workbook(tmp_path / "pooled_tables.xlsx")["closure"]
    assert [cell.value for cell in sheet[1]] == list(closure)
    share, text, missing, flag = sheet["H2"], sheet["E3"], sheet["G4"], sheet["I3"]
    assert (share.value, share.number_format) == (pytest.approx(0.3), "0.0%")
    assert (text.value, text.data_type) == ("=cedar", "s")
    assert missing.value is None
    assert flag.value is True
    assert sheet["G3"].number_format == "0"
    assert sheet.freeze_panes == "A2"
    assert sheet.auto_filter.ref == "A1:I4"


def test_workbooks_write_no_formula_and_no_outside_link() -> None:
    written = workbook_bytes("T", lambda book: book.add_worksheet().write_column(
        "A1", ["=1+1", "https://localhost/"]))  # fmt: skip
    formula, link = openpyxl.load_workbook(BytesIO(written)).worksheets[0]["A1:A2"]
    assert (formula[0].value, formula[0].data_type) == ("=1+1", "s")
    assert link[0].hyperlink is None


def test_workbook_takes_an_empty_table(closure: pd.DataFrame, tmp_path: Path) -> None:
    write_tables({"closure": closure.iloc[:0]}, tmp_path)
    sheet = openpyxl.load_workbook(tmp_path / "pooled_tables.xlsx")["closure"]
    assert (sheet.max_row, sheet["A1"].value) == (1, "outcome")


@pytest.mark.parametrize(
    ("wanted", "accepted"),
    [
        (["Log", "log", "LOG"], ["Log", "log (2)", "LOG (3)"]),
        (["findings"], ["findings (2)"]),
        (["a/b:c[1]?*\\"], ["a_b_c_1____"]),
        (["'quoted'", ""], ["quoted", "Sheet"]),
        (["History"], ["History (2)"]),
        (["x" * 40, "x" * 35], ["x" * 31, "x" * 27 + " (2)"]),
    ],
)
def test_sheet_names_are_valid_and_unique(wanted: list[str], accepted: list[str]) -> None:
    assert sheet_names(wanted, taken=["Findings"]) == accepted
