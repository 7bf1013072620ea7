"""Sheets before they become files: values by address, with what a workbook adds to them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from sample_inputs.generator.records import Place, Record, Written


@dataclass
class Grid:
    """One sheet. Rows and columns count from 1; `merged` has the first row and column and the last
    ones of each merged cell. Only workbooks of .xlsx keep hidden columns."""

    name: str
    values: dict[tuple[int, int], Written] = field(default_factory=dict)
    merged: list[tuple[int, int, int, int]] = field(default_factory=list)
    comments: dict[tuple[int, int], str] = field(default_factory=dict)
    fills: dict[tuple[int, int], str] = field(default_factory=dict)
    hidden_rows: set[int] = field(default_factory=set)
    hidden_columns: set[int] = field(default_factory=set)
    is_hidden: bool = False
    date_format: str = "dd/mm/yyyy"

    def put(self, row: int, column: int, value: Written) -> None:
        if value is not None and value != "":
            self.values[row, column] = value

    def put_row(self, row: int, values: Sequence[Written], column: int = 1) -> None:
        for offset, value in enumerate(values):
            self.put(row, column + offset, value)

    def merge_down(self, column: int, first_row: int, last_row: int) -> None:
        """One cell over several rows, that says what stood in each of them."""
        covered = [(row, column) for row in range(first_row + 1, last_row + 1)]
        assert {self.values[at] for at in covered} == {self.values[first_row, column]}
        for at in covered:
            del self.values[at]
        self.merged.append((first_row, column, last_row, column))

    @property
    def last_row(self) -> int:
        return max(row for row, _ in self.values)


@dataclass
class File:
    """One file of an upload. The kind follows from the name's ending.

    `counts_from_1904` where a workbook numbers its days as old Macintosh programs did.
    """

    name: str
    grids: list[Grid]
    author: str = ""
    encoding: str = "utf-8"
    counts_from_1904: bool = False


@dataclass(frozen=True)
class Column:
    """A column of a table: its heading rows and what stands below.

    `part` is the record of the row (operation, m3, right ...), `field` its upload field, or a
    loose entry that no crosswalk names where `part` is "loose".
    """

    heading: tuple[str, ...]
    part: str
    field: str


def column(heading: str | tuple[str, ...], key: str) -> Column:
    """A column from its heading and a key like "operation.eye"."""
    part, name = key.split(".")
    return Column((heading,) if isinstance(heading, str) else heading, part, name)


Row = Mapping[str, Record] | None
HEADING_FILL = "#DDE6ED"


def address(row: int, column_number: int) -> str:
    """The A1 address."""
    letters = ""
    while column_number:
        column_number, rest = divmod(column_number - 1, 26)
        letters = chr(65 + rest) + letters
    return f"{letters}{row}"


def place_of(columns: Sequence[Column], name: str) -> int:
    """The number of the first column of a field, or of a loose entry."""
    return [this.field for this in columns].index(name) + 1


def lay_headings(grid: Grid, columns: Sequence[Column], first_row: int) -> int:
    """Writes the heading rows, an upper heading merged over its columns; gives the last row."""
    height = max(len(c.heading) for c in columns)
    for depth in range(height):
        row = first_row + depth
        start = 1
        for number, this in enumerate(columns, start=1):
            text = this.heading[depth] if depth < len(this.heading) else ""
            is_upper = height > 1 and depth == 0
            if is_upper and number > 1 and columns[number - 2].heading[0] == text and text:
                continue
            if is_upper:
                _merge(grid, row, start, number - 1)
                start = number
            grid.put(row, number, text)
            grid.fills[row, number] = HEADING_FILL
        if height > 1 and depth == 0:
            _merge(grid, row, start, len(columns))
    return first_row + height - 1


def _merge(grid: Grid, row: int, first: int, last: int) -> None:
    if last > first and (row, first) in grid.values:
        grid.merged.append((row, first, row, last))


def lay_table(
    grid: Grid, file_name: str, columns: Sequence[Column], rows: Sequence[Row], first_row: int = 1
) -> int:
    """Writes headings and rows (None: a blank row); tells each record where its cells stand.

    The record number of a row is the place of every record in it. Gives the last row.
    """
    row_number = lay_headings(grid, columns, first_row)
    for row in rows:
        row_number += 1
        if row is not None:
            _lay_row(grid, file_name, columns, row, row_number)
    return row_number


def _lay_row(
    grid: Grid, file_name: str, columns: Sequence[Column], row: Mapping[str, Record], number: int
) -> None:
    main = next(iter(row.values()))
    for place, this in enumerate(columns, start=1):
        if this.part == "loose":
            grid.put(number, place, main.loose.get(this.field))
            continue
        where = Place(file_name, grid.name, address(number, place))
        owners = list(row.values()) if this.part == "all" else [row.get(this.part)]
        for owner in owners:
            if owner is None:
                continue
            cell = owner.cells.get(this.field)
            grid.put(number, place, cell.written if cell else None)
            owner.places[this.field] = where
    anchor = next(c for c in columns if c.field == "patient_id")
    for record in row.values():
        record.places["patient_id"] = Place(
            file_name, grid.name, address(number, columns.index(anchor) + 1)
        )
    if any(record.is_hidden for record in row.values()):
        grid.hidden_rows.add(number)
