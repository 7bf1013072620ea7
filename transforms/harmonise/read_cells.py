"""Reads every mapped cell into the warehouse's columns, once for each distinct value."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import pandas as pd

from schemas.codebook import RECORD_KINDS, RecordKind, UploadField, columns_from, upload_fields
from schemas.crosswalk import Crosswalk
from transforms.findings import gathered, raised
from transforms.harmonise.acuity import read_acuity
from transforms.harmonise.coded import (
    read_code,
    read_tamponade_words,
    read_technique_words,
    read_yes_no,
)
from transforms.harmonise.context import PROBLEM, Context
from transforms.harmonise.quantities import read_integer, read_number
from transforms.reading import ERROR_VALUES, cell_text
from transforms.records import UNSTORED_FORMULA, MappedColumn, Records

Reader = Callable[[pd.Series, Context], pd.DataFrame]

READERS: dict[str, Reader] = {
    "acuity": read_acuity,
    "code": read_code,
    "integer": read_integer,
    "number": read_number,
    "tamponade": read_tamponade_words,
    "technique": read_technique_words,
    "yes_no": read_yes_no,
}

# Fields without which a record is none: whatever is wrong with the cell, the row is held.
_RULE_OF_FIELD = {"complication": "complication_unreadable"}


@dataclass(frozen=True)
class Readings:
    """Values of one kind of record, by warehouse column, labelled by record.

    `read_from` has the same shape and names the upload field from which each value came.
    """

    values: pd.DataFrame
    read_from: pd.DataFrame

    def column(self, name: str) -> pd.Series:
        """A column of values; all missing where no cell was read into it."""
        if name in self.values:
            return self.values[name]
        return pd.Series(None, index=self.values.index, dtype="object", name=name)


def read_cells(
    records: Records, crosswalk: Crosswalk, off_chart: Mapping[str, float]
) -> tuple[dict[RecordKind, Readings], pd.DataFrame]:
    """Readings by kind, and a finding for every cell that cannot be read.

    Identities and dates are not read here: by now they are codes, days and years.
    """
    parts: dict[RecordKind, list[tuple[str, pd.DataFrame]]] = {kind: [] for kind in RECORD_KINDS}
    findings = []
    for number, cells in records.filled().groupby("column", sort=False):
        field = _field_of(cells)
        if field.column is None:
            continue
        context = _context(field, records.columns[int(str(number))], crosswalk, off_chart)
        read = _read_distinct(cells.set_index("record")["value"], context)
        findings.append(_problems(cells, read.pop(PROBLEM)))
        parts[field.kind].append((field.name, read))
    of_kind = records.index["kind"]
    readings = {k: _joined(k, parts[k], of_kind.index[of_kind == k]) for k in RECORD_KINDS}
    return readings, gathered(*findings)


def _field_of(cells: pd.DataFrame) -> UploadField:
    """The field of cells that share an entry of the crosswalk, and so a column."""
    kind, name = str(cells["kind"].iat[0]), str(cells["field"].iat[0])
    return next(upload_fields(known)[name] for known in RECORD_KINDS if known == kind)


def _context(
    field: UploadField, column: MappedColumn, crosswalk: Crosswalk, off_chart: Mapping[str, float]
) -> Context:
    return Context(field, column.source, crosswalk.language, column.decimal, off_chart)


def _read_distinct(values: pd.Series, context: Context) -> pd.DataFrame:
    """Reads each distinct value once. Type is part of what makes values distinct: 1 is not TRUE."""
    kinds = values.map(lambda value: f"{type(value).__name__}:{cell_text(value)}")
    numbers, _ = pd.factorize(kinds)
    first = pd.Series(numbers).drop_duplicates().index
    distinct = pd.Series(values.to_numpy()[first], dtype="object")
    broken = distinct.map(_rule_of_no_value)
    reader = READERS[str(context.field.spec.reads)]
    read = reader(distinct[broken.isna()], context).reindex(distinct.index)
    read.loc[broken.notna(), PROBLEM] = broken.dropna()
    spread = read.take(numbers)
    spread.index = values.index
    return spread


def _rule_of_no_value(value: object) -> str | None:
    """The rule for a cell that shows an error or a formula's result that the file does not hold."""
    if not isinstance(value, str):
        return None
    if value == UNSTORED_FORMULA:
        return "formula_unstored"
    return "error_value" if value.strip() in ERROR_VALUES else None


def _problems(cells: pd.DataFrame, problems: pd.Series) -> pd.DataFrame:
    broken = problems.notna().to_numpy()
    if not broken.any():
        return gathered()
    rules = problems[broken].to_numpy()
    return gathered(
        *(
            raised(_RULE_OF_FIELD.get(str(where["field"].iat[0]), str(rule)), where)
            for rule, where in cells[broken].groupby(rules, sort=False)
        )
    )


def _joined(kind: RecordKind, parts: list[tuple[str, pd.DataFrame]], records: pd.Index) -> Readings:
    """One frame of all columns. A column's own field goes before what other fields say of it."""
    values: dict[str, pd.Series] = {}
    read_from: dict[str, pd.Series] = {}
    order = columns_from(kind)

    def rank(part: tuple[str, str, pd.Series]) -> int:
        name, column, _ = part
        fields = order.get(column, (name,))
        return fields.index(name) if name in fields else 0

    columns = [(name, str(c), read[c]) for name, read in parts for c in read.columns]
    for name, column, read in sorted(columns, key=rank):
        said = read.dropna()
        said = said.astype("boolean") if said.dtype == bool else said
        came_from = pd.Series(name, index=said.index, dtype="object")
        if column not in values:
            values[column], read_from[column] = said, came_from
            continue
        more = said[~said.index.isin(values[column].index)]
        both = [part for part in (values[column], more) if len(part)] or [more]
        values[column] = pd.concat(both)
        read_from[column] = pd.concat([read_from[column], came_from[more.index]])
    return Readings(
        pd.DataFrame(values, index=records), pd.DataFrame(read_from, index=records, dtype="object")
    )
