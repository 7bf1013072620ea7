"""Lays out a workbook: the crosswalk's tables become records, the rest is listed as unread."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from schemas.codebook import IDENTITY_FIELDS
from schemas.crosswalk import Crosswalk, SheetTable, Source
from transforms.findings import gathered, raised
from transforms.layout.columns import Block, ColumnMap, map_columns
from transforms.layout.headings import Heading, find_heading, heading_form, read_heading
from transforms.layout.rows import SortedRows, sort_rows
from transforms.reading import Sheet, UnreadableUpload, Workbook, address, addresses, cell_text
from transforms.records import CELL_COLUMNS, RECORD_COLUMNS, Records

# How a formula without a stored value stands in the values: as an error of the spreadsheet.
UNSTORED_FORMULA = "#VALUE!"

# Fields without whose columns no row can be a record.
_NEEDED = {
    "operation": {*IDENTITY_FIELDS, "operation_date"},
    "visit": {*IDENTITY_FIELDS, "visit_date"},
    "complication": {*IDENTITY_FIELDS, "complication"},
}


@dataclass(frozen=True)
class Layout:
    """Records of an upload, findings about its shape, and what no crosswalk names."""

    records: Records
    findings: pd.DataFrame
    unread: pd.DataFrame


@dataclass
class _Collected:
    index: list[pd.DataFrame]
    cells: list[pd.DataFrame]
    sources: list[Source]
    findings: list[pd.DataFrame]
    unread: list[dict[str, str | None]]
    records: int = 0


def lay_out(workbooks: dict[str, tuple[str, Workbook]], crosswalk: Crosswalk) -> Layout:
    """Records of one centre's files of one week.

    `workbooks` gives upload key to (file name, workbook). Raises UnreadableUpload, in words that
    name sheet and heading, where a table of the crosswalk cannot be found.
    """
    collected = _Collected([], [], [], [], [])
    for upload, (file_name, workbook) in workbooks.items():
        tables = crosswalk.tables_of_file(file_name)
        if not tables:
            raise UnreadableUpload("no table of the crosswalk is for a file of this name")
        seen: set[str] = set()
        for table in tables:
            sheet = _sheet_of(workbook, table)
            seen.add(sheet.name)
            _collect_table(collected, upload, sheet, table, crosswalk)
        collected.unread += [
            {"upload": upload, "sheet": sheet.name, "cell": None, "heading": None}
            for sheet in workbook.sheets
            if sheet.name not in seen and not sheet.values.empty
        ]
    return Layout(
        Records(
            _stacked(collected.index, RECORD_COLUMNS),
            _stacked(collected.cells, CELL_COLUMNS).reset_index(drop=True),
            tuple(collected.sources),
        ),
        gathered(*collected.findings),
        pd.DataFrame(collected.unread, columns=["upload", "sheet", "cell", "heading"]),
    )


def _stacked(parts: list[pd.DataFrame], columns: tuple[str, ...]) -> pd.DataFrame:
    return pd.concat(parts) if parts else pd.DataFrame(columns=list(columns))


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


def _blocks(table: SheetTable) -> list[Block]:
    """What one row of the table may hold, an operation before its visits."""
    if table.row != "patient":
        visits = [
            Block("visit", visit.sources, at=visit.at, in_operation_row=True)
            for visit in table.visits
        ]
        return [Block(table.row, table.fields), *visits]
    blocks = []
    for eye in table.eyes:
        common = {**table.fields, "eye": Source(constant=eye.eye)}
        sources = {**common, **eye.fields}
        blocks.append(Block("operation", sources, eye=eye.eye, shared=frozenset(common)))
        blocks += [
            Block("visit", visit.sources, at=visit.at, eye=eye.eye, in_operation_row=True)
            for visit in eye.visits
        ]
    return blocks


def _collect_table(
    collected: _Collected, upload: str, sheet: Sheet, table: SheetTable, crosswalk: Crosswalk
) -> None:
    blocks = _blocks(table)
    heading = _heading_of(sheet, table, blocks)
    needed = _NEEDED[blocks[0].kind] - ({"eye"} if table.row == "patient" else set())
    columns = map_columns(heading, blocks, blocks[0].kind, needed, sheet.name)
    values = _below_heading(sheet, heading, crosswalk.missing)
    record_number = columns.columns[0]["patient_id"]
    identifying = [c for name, c in columns.columns[0].items() if name in needed]
    mapped = columns.mapped()
    rows = sort_rows(values, mapped, record_number, identifying)
    place = {"upload": upload, "sheet": sheet.name}
    collected.findings += [part.assign(upload=upload) for part in columns.findings]
    collected.findings.append(_left_out(rows.left_out, place))
    collected.findings.append(_hidden(sheet, rows, record_number, place))
    collected.unread += [
        {**place, "cell": address(heading.last_row, column), "heading": text}
        for column, text in heading.texts.items()
        if column not in mapped
    ]
    holding = _collect_blocks(collected, place, sheet, values.loc[rows.records], blocks, columns)
    without_record = {row: record_number for row in rows.records if row not in holding}
    collected.findings.append(_left_out(without_record, place))


def _heading_of(sheet: Sheet, table: SheetTable, blocks: list[Block]) -> Heading:
    if table.header is not None:
        return read_heading(sheet, table.header)
    wanted = [s.heading for block in blocks for s in block.sources.values() if s.heading]
    heading = find_heading(sheet, wanted)
    if heading is None:
        raise UnreadableUpload(
            f"sheet '{sheet.name}': none of the crosswalk's headings is there; "
            "send the sheet as before, or change the crosswalk"
        )
    return heading


def _below_heading(sheet: Sheet, heading: Heading, missing: tuple[str, ...]) -> pd.DataFrame:
    """Values below the heading, with the crosswalk's words for missing taken for empty.

    Error cells, and formulas whose value was not stored, stand as an error text, so that they are
    no silent gaps.
    """
    values = sheet.values.loc[sheet.values.index > heading.last_row].copy()
    unstored = dict.fromkeys(sheet.uncached, UNSTORED_FORMULA)
    for (row, column), error in {**unstored, **sheet.errors}.items():
        if row in values.index and column in values.columns:
            values.at[row, column] = error
    words = {"", *(heading_form(word) for word in missing)}
    return values.map(
        lambda value: None if value is None or heading_form(cell_text(value)) in words else value
    )


def _left_out(places: dict[int, int], place: dict[str, str]) -> pd.DataFrame:
    """Findings for rows that are no records; `places` gives the column of each row's finding."""
    cells = [address(row, column) for row, column in places.items()]
    return raised("row_left_out", pd.DataFrame({"cell": cells}).assign(**place))


def _hidden(sheet: Sheet, rows: SortedRows, column: int, place: dict[str, str]) -> pd.DataFrame:
    cells = [address(row, column) for row in rows.records if row in sheet.hidden_rows]
    where = pd.DataFrame({"cell": cells}).assign(field="patient_id", **place)
    return raised("row_hidden", where)


def _collect_blocks(
    collected: _Collected, place: dict[str, str], sheet: Sheet, values: pd.DataFrame,
    blocks: list[Block], columns: ColumnMap,
) -> set[int]:  # fmt: skip
    """Appends index and cells of every record in the rows; returns the rows that hold one."""
    holding: set[int] = set()
    operation_of_row: dict[str | None, pd.Series] = {}
    anchors = addresses(values.index, columns.columns[0]["patient_id"])
    rows = pd.DataFrame({"row": values.index, "anchor": anchors}, index=values.index)
    rows["is_hidden"] = values.index.isin(sheet.hidden_rows)
    for block, block_columns in zip(blocks, columns.columns, strict=True):
        here = rows[_is_there(values, block, block_columns)]
        index = here.assign(kind=block.kind, at=block.at, parent=None, **place)
        index.index = pd.RangeIndex(collected.records, collected.records + len(index))
        collected.records += len(index)
        numbers = pd.Series(index.index, index=here.index)
        if block.kind == "operation":
            operation_of_row[block.eye] = numbers
        elif block.in_operation_row:
            index["parent"] = operation_of_row[block.eye].reindex(numbers.index).to_numpy()
        collected.index.append(index.reindex(columns=list(RECORD_COLUMNS)))
        collected.cells += _block_cells(collected, block, block_columns, values, numbers, sheet)
        holding |= set(here.index)
    return holding


def _is_there(values: pd.DataFrame, block: Block, columns: dict[str, int]) -> pd.Series:
    """Which rows hold a record of the block: all, unless the block is one of several in a row."""
    if block.eye is None and not block.in_operation_row:
        return pd.Series(True, index=values.index)
    own = [column for name, column in columns.items() if name not in block.shared]
    return values[own].notna().any(axis=1)


def _block_cells(
    collected: _Collected, block: Block, columns: dict[str, int], values: pd.DataFrame,
    numbers: pd.Series, sheet: Sheet,
) -> list[pd.DataFrame]:  # fmt: skip
    parts = []
    for name, source in block.sources.items():
        if source.constant is None and name not in columns:
            continue
        collected.sources.append(source)
        part = pd.DataFrame({"record": numbers.to_numpy()})
        part["kind"], part["field"], part["sheet"] = block.kind, name, sheet.name
        if source.constant is not None:
            part["cell"], part["value"] = None, source.constant
        else:
            part["cell"] = addresses(numbers.index, columns[name])
            part["value"] = values.loc[numbers.index, columns[name]].to_numpy()
        part["source"] = len(collected.sources) - 1
        parts.append(part.reindex(columns=list(CELL_COLUMNS)))
    return parts
