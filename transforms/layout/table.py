"""One table of a sheet: its stretches become records and cells, and findings about its shape."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from itertools import chain
from typing import Any

import numpy as np
import pandas as pd

from schemas.codebook import upload_fields
from schemas.crosswalk import SheetTable, Source
from schemas.decimal_mark import DecimalMark
from transforms.findings import raised
from transforms.layout.blocks import Block, blocks_of, needed_fields
from transforms.layout.body import Body, body_of
from transforms.layout.columns import ColumnMap, map_columns
from transforms.layout.day_numbers import dates_of_numbers
from transforms.layout.headings import Heading
from transforms.layout.rows import sort_rows
from transforms.layout.stretches import Stretch
from transforms.layout.swapped_days import without_swapped_days
from transforms.layout.unit_row import differing_units, unit_row
from transforms.reading import Sheet, address, addresses
from transforms.reading.workbook import Epoch, Kind
from transforms.records import CELL_COLUMNS, RECORD_COLUMNS, MappedColumn, Records


@dataclass(frozen=True)
class Place:
    """Where a table stands, and how its file counts days and marks decimals.

    `table` is its name, see `Crosswalk.table_names`.
    """

    upload: str
    sheet: Sheet
    table: str
    kind: Kind
    epoch: Epoch | None
    decimal: DecimalMark

    @property
    def of_findings(self) -> dict[str, str]:
        return {"upload": self.upload, "sheet": self.sheet.name}


@dataclass
class Collected:
    """What the tables of an upload have given so far."""

    index: list[pd.DataFrame] = field(default_factory=list)
    cells: list[dict[str, Any]] = field(default_factory=list)
    columns: list[MappedColumn] = field(default_factory=list)
    unusable: list[int] = field(default_factory=list)
    findings: list[pd.DataFrame] = field(default_factory=list)
    headings: list[dict[str, object]] = field(default_factory=list)
    count: int = 0

    def records(self) -> Records:
        """The records, without columns of which nothing can be used."""
        index = pd.concat(self.index) if self.index else pd.DataFrame(columns=list(RECORD_COLUMNS))
        records = Records(index, _stacked(self.cells), tuple(self.columns))
        return records.without_columns(self.unusable)


def _stacked(parts: list[dict[str, Any]]) -> pd.DataFrame:
    """One frame of the cells of all columns; a column's own facts stand once in its part."""
    lengths = [len(part["record"]) for part in parts]
    whole: dict[str, Any] = {}
    for name in CELL_COLUMNS:
        if name in ("record", "cell", "value"):
            whole[name] = list(chain.from_iterable(part[name] for part in parts))
        else:
            whole[name] = np.repeat(np.array([part[name] for part in parts], dtype=object), lengths)
    return pd.DataFrame(
        {name: pd.Series(cells, dtype="object") for name, cells in whole.items()}
    ).astype({"record": "int64", "column": "int64"})


def collect_table(
    collected: Collected, place: Place, table: SheetTable, stretches: list[Stretch],
    missing: tuple[str, ...],
) -> None:  # fmt: skip
    """Appends the records of every stretch of a table."""
    blocks, needed = blocks_of(table), needed_fields(table)
    told: set[str] = set()
    for stretch in stretches:
        columns = map_columns(
            stretch.heading, blocks, needed, place.sheet.name, table.sheet_in_words
        )
        for finding in columns.findings:
            if (heading := str(finding["heading"].iat[0])) not in told:
                told.add(heading)
                collected.findings.append(finding.assign(upload=place.upload))
        _collect_stretch(collected, place, stretch, blocks, columns, needed, missing)


def _collect_stretch(
    collected: Collected, place: Place, stretch: Stretch, blocks: list[Block],
    columns: ColumnMap, needed: Collection[str], missing: tuple[str, ...],
) -> None:  # fmt: skip
    heading, sheet = stretch.heading, place.sheet
    mapped = columns.mapped()
    _note_headings(collected, place, stretch, mapped)
    if not stretch.is_repeat:
        collected.findings.append(_hidden_columns(place, heading, mapped))
    body = body_of(sheet, stretch, mapped, missing)
    body, unusable = _without_unit_rows(collected, place, body, stretch, blocks, columns)
    record_number = columns.columns[0]["patient_id"]
    identifying = [c for name, c in columns.columns[0].items() if name in needed]
    rows = sort_rows(body, mapped, record_number, identifying)
    collected.findings.append(_rows_told("row_left_out", rows.left_out, place))
    hidden = {row: record_number for row in rows.records if row in sheet.hidden_rows}
    collected.findings.append(_rows_told("row_hidden", hidden, place).assign(field="patient_id"))
    # Behind the headings of a workbook people write notes; in a text table a delimiter that no
    # quotation marks hold pushes cells there.
    behind = stretch.behind if place.kind == "csv" else None
    holding = _collect_blocks(
        collected, place, heading, behind, body, rows.records, blocks, columns, unusable
    )
    without_record = {row: record_number for row in rows.records if row not in holding}
    collected.findings.append(_rows_told("row_left_out", without_record, place))


def _note_headings(
    collected: Collected, place: Place, stretch: Stretch, mapped: Collection[int]
) -> None:
    heading = stretch.heading
    first = min(column for column in heading.texts if column in mapped)
    again = dict.fromkeys(stretch.said_again, first)
    collected.findings.append(_rows_told("heading_repeated", again, place))
    if stretch.is_repeat:
        return
    collected.headings += [
        {
            "table": place.table,
            **place.of_findings,
            "column": column,
            "cell": address(heading.last_row, column),
            "heading": text,
            "is_read": column in mapped,
        }
        for column, text in sorted(heading.texts.items())
        if column in stretch.columns
    ]


def _hidden_columns(place: Place, heading: Heading, mapped: Collection[int]) -> pd.DataFrame:
    hidden = [column for column in mapped if column in place.sheet.hidden_columns]
    cells = [address(heading.last_row, column) for column in hidden]
    where = pd.DataFrame({"cell": cells}).assign(**place.of_findings)
    return raised("column_hidden", where, heading=[heading.texts[column] for column in hidden])


def _without_unit_rows(
    collected: Collected, place: Place, body: Body, stretch: Stretch, blocks: list[Block],
    columns: ColumnMap,
) -> tuple[Body, set[tuple[int, str]]]:  # fmt: skip
    """The body without rows of units, and (block, field) of columns in another unit than the
    crosswalk's."""
    unusable: set[tuple[int, str]] = set()
    found: dict[int, int] = {}
    for first_row, last_row in stretch.rows:
        row = unit_row(body.values.loc[first_row:last_row])
        if row is None:
            continue
        units = {int(str(c)): value for c, value in body.values.loc[[row]].iloc[0].items()}
        found[row] = next(column for column in units if units[column] is not None)
        differing = dict(
            differing_units(units, row, stretch.heading, blocks, columns, place.sheet.name)
        )
        collected.findings += [
            told.assign(upload=place.upload)
            for key, told in differing.items()
            if key not in unusable
        ]
        unusable |= set(differing)
    collected.findings.append(_rows_told("unit_row", found, place))
    rows = list(found)
    return Body(body.values.drop(rows), body.is_filled.drop(rows), body.covered), unusable


def _rows_told(rule: str, rows: Mapping[int, int], place: Place) -> pd.DataFrame:
    """Findings about rows; `rows` gives the column in which each row's finding stands."""
    cells = [address(row, column) for row, column in rows.items()]
    return raised(rule, pd.DataFrame({"cell": cells}).assign(**place.of_findings))


def _collect_blocks(
    collected: Collected, place: Place, heading: Heading, behind: int | None, body: Body,
    records: list[int], blocks: list[Block], columns: ColumnMap, unusable: set[tuple[int, str]],
) -> set[int]:  # fmt: skip
    """Appends index and cells of every record in the rows; returns the rows that hold one."""
    values = body.values.loc[records]
    holding: set[int] = set()
    operation_of_row: dict[str | None, pd.Series] = {}
    anchors = addresses(values.index, columns.columns[0]["patient_id"])
    rows = pd.DataFrame({"row": values.index, "anchor": anchors}, index=values.index)
    rows["is_hidden"] = values.index.isin(place.sheet.hidden_rows)
    for number, (block, block_columns) in enumerate(zip(blocks, columns.columns, strict=True)):
        here = rows[_is_there(values, block, block_columns)]
        index = here.assign(kind=block.kind, at=block.at, parent=None, **place.of_findings)
        index.index = pd.RangeIndex(collected.count, collected.count + len(index))
        collected.count += len(index)
        labels = pd.Series(index.index, index=here.index)
        if block.kind == "operation":
            operation_of_row[block.eye] = labels
        elif block.in_operation_row:
            index["parent"] = operation_of_row[block.eye].reindex(labels.index).to_numpy()
        collected.index.append(index.reindex(columns=list(RECORD_COLUMNS)))
        if behind is not None and not block.in_operation_row:
            collected.findings.append(_overflowing(place, behind, index))
        for name, source in block.sources.items():
            if source.constant is None and name not in block_columns:
                continue
            if (number, name) in unusable:
                collected.unusable.append(len(collected.columns))
            column = block_columns.get(name)
            told = _mapped_column(place, heading, block, name, source, column)
            _collect_column(collected, place, told, column, body, labels)
        holding |= set(here.index)
    return holding


def _overflowing(place: Place, behind: int, index: pd.DataFrame) -> pd.DataFrame:
    """Findings for records whose row is longer than most, or goes on in the column right behind
    the last heading."""
    values = place.sheet.values
    overflows = index["row"].isin(place.sheet.long_rows)
    if behind in values.columns:
        overflows |= values.loc[index["row"], behind].notna().to_numpy()
    told = index[overflows]
    where = told[["kind", "upload", "sheet"]].rename_axis("record").reset_index()
    cells = [address(int(row), behind) for row in told["row"]]
    return raised("row_overflows", where.assign(cell=cells))


def _is_there(values: pd.DataFrame, block: Block, columns: dict[str, int]) -> pd.Series:
    """Which rows hold a record of the block: all, unless the block is one of several in a row."""
    if block.eye is None and not block.in_operation_row:
        return pd.Series(True, index=values.index)
    own = [column for name, column in columns.items() if name not in block.shared]
    return values[own].notna().any(axis=1)


def _mapped_column(
    place: Place, heading: Heading, block: Block, name: str, source: Source, column: int | None
) -> MappedColumn:
    return MappedColumn(
        source,
        block.kind,
        name,
        block.at,
        block.eye,
        place.table,
        **place.of_findings,
        heading=None if column is None else heading.texts[column],
        cell=None if column is None else address(heading.last_row, column),
        decimal=place.decimal,
    )


def _collect_column(
    collected: Collected, place: Place, mapped: MappedColumn, column: int | None, body: Body,
    labels: pd.Series,
) -> None:  # fmt: skip
    """Appends the cells of one column, or of a constant; `labels` gives the record of each row."""
    rows = labels.index
    cells: list[str] | list[None]
    if column is None:
        cells = [None] * len(rows)
        values = pd.Series(mapped.source.constant, index=rows, dtype="object")
    else:
        holding = [body.covered.get((int(row), column), (int(row), column))[0] for row in rows]
        cells = addresses(holding if body.covered else rows, column)
        values = body.values.loc[rows, column]
    part = {
        "record": labels.to_numpy(), "kind": mapped.kind, "field": mapped.field,
        "sheet": mapped.sheet, "cell": cells, "value": values.to_numpy(),
        "column": len(collected.columns),
    }  # fmt: skip
    if column is not None and upload_fields(mapped.kind)[mapped.field].spec.reads == "date":
        read, were_numbers = dates_of_numbers(without_swapped_days(values), place.epoch)
        part["value"] = read.to_numpy()
        told = pd.DataFrame(part)[were_numbers.to_numpy()].assign(upload=mapped.upload)
        collected.findings.append(raised("day_number", told))
    collected.columns.append(mapped)
    collected.cells.append(part)
