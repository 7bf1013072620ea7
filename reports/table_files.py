"""Files of the pooled tables: .csv, .parquet, and one workbook that explains itself."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import xlsxwriter
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from reports.caution import CAUTION
from reports.csv_text import csv_bytes
from reports.numerals import is_missing
from reports.spreadsheet import sheet_names, workbook_bytes
from schemas.codes import CLOSED_STRICT, CLOSURE, GRAFT_MATERIAL, SIZE_BAND, SIZE_CLASS
from schemas.pooled_tables import ANALYSES, COLUMNS, PooledColumn, outcome_meaning

WORKBOOK_NAME = "pooled_tables.xlsx"
_ABOUT = "About"
# Width of the paragraphs' column in digits of the default font; words take less.
_PARAGRAPH_WIDTH = 100
_LINE_LENGTH = 115

# Columns that hold a share wherever the row's statistic is a proportion.
_ON_THE_SCALE_OF_THE_STATISTIC = ("estimate", "ci_low", "ci_high", "pi_low", "pi_high")
_COUNTS = ("eyes", "events", "sites")

_ON_STRICT_AND_BROAD = (
    f"Strict closure counts {len(CLOSED_STRICT)} states as closed: {', '.join(CLOSED_STRICT)}.",
    f"Broad closure adds flat_open ({CLOSURE['flat_open'].lower()}), which some call closed and "
    "some call failed. Strict leads; broad stands beside it.",
    "A scan that cannot be graded, or was not made, is missing: neither closed nor open.",
)


def write_tables(
    tables: dict[str, pd.DataFrame], folder: Path, *, about: Sequence[str] = ()
) -> list[Path]:
    """Write each table as NAME.csv and NAME.parquet, and all of them into pooled_tables.xlsx.

    `tables` maps a name to a frame in long format, one row an estimate (`schemas.pooled_tables`).
    `about` are further lines for the workbook's first sheet: study, week, version.
    The same input gives the same bytes. Returns the paths written, sorted by name.
    """
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name, frame in tables.items():
        csv_path, parquet_path = folder / f"{name}.csv", folder / f"{name}.parquet"
        csv_path.write_bytes(csv_bytes(frame))
        pq.write_table(pa.Table.from_pandas(frame, preserve_index=False), parquet_path)
        written += [csv_path, parquet_path]
    workbook_path = folder / WORKBOOK_NAME
    workbook_path.write_bytes(_pooled_workbook(tables, about))
    return sorted([*written, workbook_path])


def _pooled_workbook(tables: dict[str, pd.DataFrame], about: Sequence[str]) -> bytes:
    def fill(workbook: xlsxwriter.Workbook) -> None:
        _write_about(workbook, tables, about)
        for sheet_name, frame in zip(sheet_names(tables, [_ABOUT]), tables.values(), strict=True):
            _write_table(workbook, sheet_name, frame)

    return workbook_bytes("Pooled tables", fill)


def _write_about(
    workbook: xlsxwriter.Workbook, tables: dict[str, pd.DataFrame], about: Sequence[str]
) -> None:
    sheet = workbook.add_worksheet(_ABOUT)
    sheet.set_column(0, 0, 30)
    sheet.set_column(1, 1, _PARAGRAPH_WIDTH)
    sheet.hide_gridlines(2)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    heading = workbook.add_format({"bold": True, "font_size": 14, "valign": "top"})
    label = workbook.add_format({"bold": True, "valign": "top"})
    prose = workbook.add_format({"text_wrap": True, "valign": "top"})
    sheet.write_string(0, 0, "Pooled tables", heading)
    for row, (term, text) in enumerate(_about_lines(tables, about), start=1):
        sheet.write_string(row, 0, term, label if term[:1].isupper() else prose)
        sheet.write_string(row, 1, text, prose)
        lines = -(-len(text) // _LINE_LENGTH)
        if lines > 1:
            sheet.set_row(row, 15 * lines)


def _about_lines(
    tables: dict[str, pd.DataFrame], about: Sequence[str]
) -> Iterator[tuple[str, str]]:
    """Term and text, section by section; a section's name stands beside its first line."""
    yield (
        "What this is",
        (
            "Closure and function after surgery for refractory macular holes, pooled over centres. "
            "One sheet a table; the same rows stand in the .csv and .parquet files beside it."
        ),
    )
    yield from (("", line) for line in about)
    yield "Caution", CAUTION
    yield "", ""
    yield "Sheets", ""
    for name, frame in zip(sheet_names(tables, [_ABOUT]), tables.values(), strict=True):
        yield name, f"{len(frame)} rows, one an estimate"
    yield "", ""
    yield "Strict and broad", _ON_STRICT_AND_BROAD[0]
    yield from (("", line) for line in _ON_STRICT_AND_BROAD[1:])
    for title, meanings in (("Outcomes", _outcomes(tables)), ("Analyses", _analyses(tables)),
                            ("Columns", _columns(tables)), ("Codes", _codes(tables))):  # fmt: skip
        if meanings:
            yield "", ""
            yield title, ""
            yield from meanings.items()


def _present(tables: dict[str, pd.DataFrame], column: str) -> list[str]:
    """Distinct texts of a column over all tables, in order of appearance."""
    columns = [frame[column].dropna() for frame in tables.values() if column in frame]
    return list(dict.fromkeys(str(value) for values in columns for value in values))


def _outcomes(tables: dict[str, pd.DataFrame]) -> dict[str, str]:
    return {outcome: outcome_meaning(outcome) for outcome in _present(tables, "outcome")}


def _analyses(tables: dict[str, pd.DataFrame]) -> dict[str, str]:
    return {name: ANALYSES[name].meaning for name in _present(tables, "analysis")}


def _columns(tables: dict[str, pd.DataFrame]) -> dict[str, str]:
    names = dict.fromkeys(str(name) for frame in tables.values() for name in frame)
    return {name: _column(name).description for name in names}


def _codes(tables: dict[str, pd.DataFrame]) -> dict[str, str]:
    meanings = {**GRAFT_MATERIAL, **SIZE_CLASS, **SIZE_BAND}
    used = dict.fromkeys((*_present(tables, "technique"), *_present(tables, "level")))
    return {code: meanings[code] for code in used if code in meanings}


def _column(name: str) -> PooledColumn:
    return COLUMNS.get(name, PooledColumn(""))


def _write_table(workbook: xlsxwriter.Workbook, sheet_name: str, frame: pd.DataFrame) -> None:
    sheet = workbook.add_worksheet(sheet_name)
    header = workbook.add_format(
        {"bold": True, "bottom": 1, "bg_color": "#EDF1F4", "text_wrap": True, "valign": "top"}
    )
    formats = {code: workbook.add_format({"num_format": code}) for code in ("0", "0.0%", "0.000")}
    for position, name in enumerate(frame):
        sheet.set_column(position, position, _column(str(name)).width)
        sheet.write_string(0, position, str(name), header)
    for row, record in enumerate(frame.to_dict("records"), start=1):
        for position, (name, value) in enumerate(record.items()):
            number_format = _number_format(str(name), record.get("statistic"))
            _write_value(sheet, row, position, value, formats[number_format])
    if len(frame.columns):
        sheet.autofilter(0, 0, len(frame), len(frame.columns) - 1)
    sheet.freeze_panes(1, 0)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)


def _number_format(column: str, statistic: object) -> str:
    if column in _COUNTS:
        return "0"
    if column in _ON_THE_SCALE_OF_THE_STATISTIC and statistic == "proportion":
        return "0.0%"
    return "0.000"


def _write_value(
    sheet: Worksheet, row: int, position: int, value: object, number_format: Format
) -> None:
    if is_missing(value):
        return
    if isinstance(value, bool):
        sheet.write_boolean(row, position, value)
    elif isinstance(value, int | float):
        sheet.write_number(row, position, value, number_format)
    else:
        sheet.write_string(row, position, str(value))
