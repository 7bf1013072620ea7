"""The cell, or cells, behind every value of the warehouse's rows."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

from schemas.codebook import RecordKind, columns_from
from transforms.harmonise.read_cells import Readings
from transforms.records import CellsOfRecords, Records

_COLUMNS = ["record", "column", "sheet", "cell"]


def cells_behind(
    records: Records,
    rows: Mapping[RecordKind, pd.DataFrame],
    readings: Mapping[RecordKind, Readings],
    deciding: Mapping[str, pd.Series],
) -> pd.DataFrame:
    """Columns record, column, sheet and cell, one row for each value and each cell behind it.

    `rows` holds the warehouse's rows labelled by record, `readings` the fields from which values
    were read, `deciding` the visits that decided primary and final closure, by operation. A
    constant of the crosswalk has no cell.
    """
    cells = CellsOfRecords(records)
    parts = [_of_kind(kind, frame, readings[kind], cells) for kind, frame in rows.items()]
    found = pd.concat(parts, ignore_index=True)
    scans = found[found["column"] == "closure"].set_index("record")
    for moment, decided_by in deciding.items():
        chosen = scans.reindex(decided_by.to_numpy()).assign(record=decided_by.index)
        columns = [c for c in columns_from("operation") if c.startswith(f"{moment}_closure")]
        parts += [chosen.assign(column=column)[_COLUMNS] for column in columns]
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
                labels = there[(readings.read_from[column].reindex(there) == name).to_numpy()]
            found = cells.of(kind, name, labels)
            found = found[found["cell"].notna() & found["value"].notna()]
            parts.append(found.assign(column=column)[_COLUMNS])
    return pd.concat([part for part in parts if len(part)] or parts, ignore_index=True)
