"""The cell, or cells, behind every value of the warehouse's rows."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

from schemas.codebook import RecordKind, columns_from
from schemas.conversions import rule_version, worked_out_versions
from transforms.harmonise.readings import Readings
from transforms.records import CellsOfRecords, Records

# What stands for the address of a value that the crosswalk gives for the whole centre.
CONSTANT = "crosswalk"

_COLUMNS = ["record", "column", "sheet", "cell", "rule", "rule_version"]


def cells_behind(
    records: Records,
    rows: Mapping[RecordKind, pd.DataFrame],
    readings: Mapping[RecordKind, Readings],
    deciding: Mapping[str, pd.Series],
) -> pd.DataFrame:
    """Columns record, column, sheet, cell, rule and rule_version, one row for each value and each
    cell behind it.

    `rows` holds the warehouse's rows labelled by record, `readings` the fields from which values
    were read, `deciding` the visits that decided each column of closure, by operation. A constant
    of the crosswalk has `CONSTANT` for an address.
    """
    cells = CellsOfRecords(records)
    parts = [_of_kind(kind, frame, readings[kind], cells) for kind, frame in rows.items()]
    found = pd.concat(parts, ignore_index=True)
    scans = found[found["column"] == "closure"].set_index("record")
    for column, decided_by in deciding.items():
        chosen = scans.reindex(decided_by.to_numpy())
        chosen = chosen.assign(record=decided_by.index, column=column)
        parts.append(_by_column_rule(chosen, "operation"))
    return pd.concat(parts, ignore_index=True).dropna(subset=["cell"])


def _of_kind(
    kind: RecordKind, rows: pd.DataFrame, readings: Readings, cells: CellsOfRecords
) -> pd.DataFrame:
    parts = [pd.DataFrame(columns=_COLUMNS)]
    for column, fields in columns_from(kind).items():
        if column not in rows:
            continue
        there = rows.index[rows[column].notna()]
        for name in fields:
            labels = there
            if column in readings.read_from:
                source = readings.read_from[column].reindex(there)
                labels = there[(source.isna() | (source == name)).to_numpy()]
            found = cells.of(kind, name, labels)
            found = found[found["value"].notna()].assign(column=column)
            found["cell"] = found["cell"].fillna(CONSTANT)
            parts.append(_by_reading_rule(found, column, readings, kind))
    return pd.concat([part for part in parts if len(part)] or parts, ignore_index=True)


def _by_reading_rule(
    cells: pd.DataFrame, column: str, readings: Readings, kind: RecordKind
) -> pd.DataFrame:
    """The rule by which each value was read; of one that was worked out the column's own."""
    if column not in readings.rules:
        return _by_column_rule(cells, kind)
    rules = readings.rules[column].reindex(cells["record"]).set_axis(cells.index)
    read = cells.assign(rule=rules)[rules.notna()]
    versions = {rule: rule_version(rule) for rule in read["rule"].unique()}
    by_reading = read.assign(rule_version=read["rule"].map(versions))[_COLUMNS]
    return pd.concat([by_reading, _by_column_rule(cells[rules.isna()], kind)])


def _by_column_rule(cells: pd.DataFrame, kind: RecordKind) -> pd.DataFrame:
    versions = worked_out_versions(kind)
    return cells.assign(rule=cells["column"], rule_version=cells["column"].map(versions))[_COLUMNS]
