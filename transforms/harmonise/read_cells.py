"""Reads every mapped cell into the warehouse's columns, once for each distinct value."""

from __future__ import annotations

from collections.abc import Callable

import pandas as pd

from schemas.codebook import RECORD_KINDS, RecordKind, UploadField, upload_fields
from schemas.conventions import OffChartSet
from schemas.crosswalk import Crosswalk
from transforms.findings import gathered, raised
from transforms.harmonise.acuity.reader import read_acuity
from transforms.harmonise.coded import (
    read_code,
    read_posture_words,
    read_tamponade_words,
    read_technique_words,
    read_yes_no,
)
from transforms.harmonise.context import PROBLEM, TOLD, Context
from transforms.harmonise.diameters import read_diameter
from transforms.harmonise.distinct import distinct_values
from transforms.harmonise.perimetry import read_deviation
from transforms.harmonise.quantities import read_integer, read_number
from transforms.harmonise.readings import Readings, join_readings
from transforms.harmonise.ring_radii import read_ring_radii
from transforms.reading import ERROR_VALUES
from transforms.records import UNSTORED_FORMULA, CellsOfRecords, MappedColumn, Records

Reader = Callable[[pd.Series, Context], pd.DataFrame]

READERS: dict[str, Reader] = {
    "acuity": read_acuity,
    "code": read_code,
    "deviation": read_deviation,
    "diameter": read_diameter,
    "integer": read_integer,
    "number": read_number,
    "posture": read_posture_words,
    "ring_radii": read_ring_radii,
    "tamponade": read_tamponade_words,
    "technique": read_technique_words,
    "yes_no": read_yes_no,
}

# Fields without which a record is none: whatever is wrong with the cell, the row is held.
_RULE_OF_FIELD = {"complication": "complication_unreadable"}


# Rules about a column as a whole: told once, at its heading.
_OF_COLUMNS = ("acuity_notation_unnamed", "loss_sign_unclear")


def read_cells(
    records: Records, crosswalk: Crosswalk, off_chart: OffChartSet
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
        column = records.columns[int(str(number))]
        context = Context(field, column.source, crosswalk.language, column.decimal, off_chart)
        read = read_distinct(cells.set_index("record")["value"], context)
        findings.append(_problems(cells, column, read))
        parts[field.kind].append((field.name, read))
    of_kind = records.index["kind"]
    cells_of = CellsOfRecords(records)
    readings = {}
    for kind in RECORD_KINDS:
        labels = of_kind.index[of_kind == kind]
        readings[kind], disagreeing = join_readings(kind, parts[kind], labels)
        findings += [
            raised("fields_disagree", cells_of.of(kind, d.field, d.records), other=d.other)
            for d in disagreeing
        ]
    return readings, gathered(*findings)


def _field_of(cells: pd.DataFrame) -> UploadField:
    """The field of cells that share an entry of the crosswalk, and so a column."""
    kind, name = str(cells["kind"].iat[0]), str(cells["field"].iat[0])
    return next(upload_fields(known)[name] for known in RECORD_KINDS if known == kind)


def read_distinct(values: pd.Series, context: Context) -> pd.DataFrame:
    """Reads each distinct value once."""
    distinct, places = distinct_values(values)
    broken = distinct.map(_rule_of_no_value)
    reader = READERS[str(context.field.spec.reads)]
    read = reader(distinct[broken.isna()], context).reindex(distinct.index)
    read.loc[broken.notna(), PROBLEM] = broken.dropna()
    return read.take(places).set_axis(values.index)


def _rule_of_no_value(value: object) -> str | None:
    """The rule for a cell that shows an error or a formula's result that the file does not hold."""
    if not isinstance(value, str):
        return None
    if value == UNSTORED_FORMULA:
        return "formula_unstored"
    return "error_value" if value.strip() in ERROR_VALUES else None


def _problems(cells: pd.DataFrame, column: MappedColumn, read: pd.DataFrame) -> pd.DataFrame:
    """Findings of the cells of a column, in their order; of the column where all are one matter."""
    broken = read[PROBLEM].notna().to_numpy()
    if not broken.any():
        return gathered()
    rules = read[PROBLEM][broken].to_numpy()
    told = read[TOLD][broken] if TOLD in read else pd.Series(None, index=read.index[broken])
    where = cells[broken].assign(other=told.to_numpy())
    found = []
    for rule, broken_cells in where.groupby(rules, sort=False):
        if str(rule) in _OF_COLUMNS:
            at_heading = pd.DataFrame([_place_of(column)])
            found.append(raised(str(rule), at_heading, heading=column.heading))
            continue
        name = _RULE_OF_FIELD.get(str(broken_cells["field"].iat[0]), str(rule))
        found.append(raised(name, broken_cells))
    return gathered(*found)


def _place_of(column: MappedColumn) -> dict[str, str | None]:
    return {
        "kind": column.kind, "field": column.field, "upload": column.upload,
        "sheet": column.sheet, "cell": column.cell,
    }  # fmt: skip
