"""Lays out a workbook: the crosswalk's tables become records, the rest is listed as unread."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from schemas.crosswalk import Crosswalk, SheetTable
from schemas.encodings import encoding_name
from transforms.findings import gathered, none_raised, raised
from transforms.layout.blocks import blocks_of, headings_of
from transforms.layout.headings import find_heading, heading_form
from transforms.layout.stretches import stretches_of
from transforms.layout.table import Collected, Place, collect_table
from transforms.reading import Sheet, UnreadableUpload, Workbook, address
from transforms.records import Records

HEADING_COLUMNS = ("table", "upload", "sheet", "column", "cell", "heading", "is_read")
# A sheet with fewer headings of a table than that may have them by chance.
FEWEST_HEADINGS = 4
_UNREAD_COLUMNS = ["upload", "sheet", "cell", "heading"]


@dataclass(frozen=True)
class Layout:
    """Records of an upload, findings about its shape, and its headings.

    `headings` has a row for each column with a heading, from left to right: the name of the
    crosswalk's table, file, sheet, number of the column, address and text of the heading, and
    whether the column is read. `unread` lists sheets and columns that no crosswalk names.
    """

    records: Records
    findings: pd.DataFrame
    headings: pd.DataFrame
    unread: pd.DataFrame


def lay_out(workbooks: dict[str, tuple[str, Workbook]], crosswalk: Crosswalk) -> Layout:
    """Records of one centre's files of one week.

    `workbooks` gives upload key to (file name, workbook). Raises UnreadableUpload, in words that
    name sheet and heading, where a table of the crosswalk cannot be found.
    """
    collected = Collected()
    unread_sheets: list[dict[str, str | None]] = []
    for upload, (file_name, workbook) in workbooks.items():
        collected.findings.append(_about_text(upload, workbook, crosswalk))
        for sheet, tables in _tables_by_sheet(file_name, workbook, crosswalk):
            if not tables:
                unread_sheets.append({"upload": upload, "sheet": sheet.name})
                collected.findings.append(_looks_read(upload, file_name, sheet, crosswalk))
                continue
            _collect_sheet(collected, upload, workbook, sheet, tables, crosswalk)
    _refuse_incomplete([name for name, _ in workbooks.values()], crosswalk)
    headings = pd.DataFrame(collected.headings, columns=list(HEADING_COLUMNS))
    # Where two tables share their headings, what one of them reads is read.
    headings["is_read"] = headings.groupby(["upload", "sheet", "cell"])["is_read"].transform("any")
    headings = headings.drop_duplicates(["upload", "sheet", "cell"], ignore_index=True)
    unread_columns = headings.loc[~headings["is_read"].astype(bool)]
    return Layout(
        collected.records(),
        gathered(*collected.findings),
        headings,
        pd.concat(
            [
                unread_columns.reindex(columns=_UNREAD_COLUMNS),
                pd.DataFrame(unread_sheets, columns=_UNREAD_COLUMNS),
            ],
            ignore_index=True,
        ),
    )


def _refuse_incomplete(file_names: list[str], crosswalk: Crosswalk) -> None:
    """Raise where no file is for a table of the crosswalk: its rows would count for gone."""
    for table in crosswalk.tables:
        if not any(table.matches_file(name) for name in file_names):
            raise UnreadableUpload(
                f"no file for the table '{table.file}' came with it; "
                "send all files of a week together"
            )


def _tables_by_sheet(
    file_name: str, workbook: Workbook, crosswalk: Crosswalk
) -> list[tuple[Sheet, list[tuple[str, SheetTable]]]]:
    """Every sheet that is not empty, with the crosswalk's tables in it and their names."""
    of_sheet: dict[str, list[tuple[str, SheetTable]]] = {}
    for name, table in zip(crosswalk.table_names(), crosswalk.tables, strict=True):
        if table.matches_file(file_name):
            of_sheet.setdefault(_sheet_of(workbook, table).name, []).append((name, table))
    if not of_sheet:
        raise UnreadableUpload("no table of the crosswalk is for a file of this name")
    return [
        (sheet, of_sheet.get(sheet.name, []))
        for sheet in workbook.sheets
        if sheet.name in of_sheet or not sheet.values.empty
    ]


def _sheet_of(workbook: Workbook, table: SheetTable) -> Sheet:
    if table.sheet is None or workbook.kind == "csv":
        return workbook.sheets[0]
    wanted = heading_form(table.sheet)
    for sheet in workbook.sheets:
        if heading_form(sheet.name) == wanted:
            return sheet
    raise UnreadableUpload(
        f"the sheet '{table.sheet}' is not in the workbook; give it its name back, "
        "or change the crosswalk"
    )


def _looks_read(upload: str, file_name: str, sheet: Sheet, crosswalk: Crosswalk) -> pd.DataFrame:
    """A finding where a sheet that no table reads has all the headings of one, as that of a new
    year does."""
    for table in crosswalk.tables:
        wanted = {heading_form(text) for text in headings_of(blocks_of(table))}
        if not table.matches_file(file_name) or len(wanted) < FEWEST_HEADINGS:
            continue
        heading = find_heading(sheet, wanted)
        if heading and len(heading.matched(wanted)) >= len(wanted):
            cell = address(heading.last_row, heading.matched(wanted)[0])
            where = pd.DataFrame({"upload": [upload], "sheet": [sheet.name], "cell": [cell]})
            return raised("sheet_not_read", where)
    return none_raised()


def _about_text(upload: str, workbook: Workbook, crosswalk: Crosswalk) -> pd.DataFrame:
    """What a text file leaves uncertain, or writes in another way than the crosswalk says."""
    where = pd.DataFrame({"upload": [upload], "sheet": [workbook.sheets[0].name]})
    found = []
    if workbook.encoding and not workbook.encoding_is_certain:
        name = encoding_name(workbook.encoding)
        found.append(raised("encoding_uncertain", where, other=name))
    if workbook.decimal not in (None, crosswalk.decimal):
        found.append(raised("decimal_mark_differs", where))
    return gathered(*found)


def _collect_sheet(
    collected: Collected, upload: str, workbook: Workbook, sheet: Sheet,
    tables: list[tuple[str, SheetTable]], crosswalk: Crosswalk,
) -> None:  # fmt: skip
    if sheet.state != "visible":
        where = pd.DataFrame({"upload": [upload], "sheet": [sheet.name], "cell": ["A1"]})
        collected.findings.append(raised("sheet_hidden", where))
    decimal = workbook.decimal or crosswalk.decimal
    by_table = stretches_of(sheet, [table for _, table in tables])
    for (name, table), stretches in zip(tables, by_table, strict=True):
        place = Place(upload, sheet, name, workbook.kind, workbook.epoch, decimal)
        collect_table(collected, place, table, stretches, crosswalk.missing)
