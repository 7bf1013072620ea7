"""Records of an upload as they stand in its sheets, before anything is interpreted.

`Records` is what layout makes and what validation, de-identification and harmonisation read.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

import pandas as pd

from schemas.codebook import RecordKind
from schemas.crosswalk import Source
from schemas.decimal_mark import DecimalMark

RECORD_COLUMNS = ("kind", "upload", "sheet", "row", "anchor", "at", "parent", "is_hidden")
CELL_COLUMNS = ("record", "kind", "field", "sheet", "cell", "value", "column")

# How a formula without a stored result stands among the values, so that it is no silent gap.
UNSTORED_FORMULA = "#NOT STORED!"


@dataclass(frozen=True)
class MappedColumn:
    """A column of a sheet as the crosswalk reads it, or a constant of the crosswalk.

    `table` names the crosswalk's table, `at` and `eye` the block within it. `heading` and
    `cell`, the heading's address, are None for a constant. `decimal` is the mark that the file
    shows, else the crosswalk's.
    """

    source: Source
    kind: RecordKind
    field: str
    at: str | None
    eye: str | None
    table: str
    upload: str
    sheet: str
    heading: str | None
    cell: str | None
    decimal: DecimalMark


@dataclass(frozen=True)
class Records:
    """The records of all files that one centre sent in one week.

    `index` has one row a record, labelled by a number that is unique in the upload: its kind, the
    key of the file, sheet and row, `anchor` (the address of its record number, for findings about
    the row as a whole), `at` (the visit that the crosswalk's block names), `parent` (the operation
    in whose row a visit stands) and whether the row is hidden.

    `cells` has one row for each mapped cell of each record, empty ones included (`value` is None):
    the codebook's upload field, the address, the typed value, and the position in `columns` of the
    column, which says how to read it. A constant of the crosswalk has no address.
    """

    index: pd.DataFrame
    cells: pd.DataFrame
    columns: tuple[MappedColumn, ...]

    def filled(self) -> pd.DataFrame:
        """The cells that say something."""
        return self.cells[self.cells["value"].notna()]

    def field(self, name: str) -> pd.DataFrame:
        """The filled cells of one field over all kinds, labelled by record."""
        return self.filled().loc[lambda cells: cells["field"] == name].set_index("record")

    def without_columns(self, positions: Collection[int]) -> Records:
        """The records as if the crosswalk did not name these columns."""
        return replace(self, cells=self.cells[~self.cells["column"].isin(list(positions))])


class CellsOfRecords:
    """The cell of each upload field of each record, filled or empty."""

    def __init__(self, records: Records) -> None:
        self._by_field = dict(iter(records.cells.groupby(["kind", "field"], sort=False)))

    def of(self, kind: RecordKind, name: str, labels: pd.Index) -> pd.DataFrame:
        """Cells of an upload field for the given records; fewer rows where it is not mapped."""
        cells = self._by_field.get((kind, name))
        if cells is None:
            return pd.DataFrame(columns=list(CELL_COLUMNS))
        return cells[cells["record"].isin(labels)]
