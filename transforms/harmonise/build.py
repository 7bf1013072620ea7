"""Builds the warehouse's rows of one upload from de-identified records and their cells."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from schemas.codebook import RECORD_KINDS
from schemas.conventions import OFF_CHART_SETS, SIZE_SCHEMES
from schemas.crosswalk import Crosswalk
from transforms.findings import gathered, raised
from transforms.harmonise.checks import (
    AllReadings,
    Values,
    apply_limits,
    ask_for_missing,
    exclude_contradictions,
)
from transforms.harmonise.hole import oversize_pct, size_class
from transforms.harmonise.quantities import NOMINAL
from transforms.harmonise.read_cells import Readings, read_cells
from transforms.records import CellsOfRecords, Records

# Years by which a typed age may differ from the one between two dates: ages are often taken at
# the first visit.
AGE_TOLERANCE = 1


@dataclass(frozen=True)
class Harmonised:
    """Values by kind, labelled by record; what was read from which field; findings of the cells."""

    values: Values
    readings: AllReadings
    findings: pd.DataFrame


def harmonise(
    records: Records, persons: pd.DataFrame, crosswalk: Crosswalk, off_chart: str, age_top: int
) -> Harmonised:
    """Harmonises every cell of every record, held ones included, so that all is told at once.

    `persons` is the frame of `deidentify`, `off_chart` names a set of `schemas.conventions`.
    """
    readings, unread = read_cells(records, crosswalk, OFF_CHART_SETS[off_chart].values)
    values: Values = {kind: readings[kind].values.copy() for kind in RECORD_KINDS}
    cells = CellsOfRecords(records)
    ages = _settle_ages(values["operation"], readings["operation"], persons, cells, age_top)
    impossible = apply_limits(values, readings, cells, "hard", worked_out=False)
    values["operation"]["age_years"] = values["operation"]["age_years"].clip(upper=age_top)
    contradictions = exclude_contradictions(values, cells)
    usual = apply_limits(values, readings, cells, "soft", worked_out=False)
    _work_out(values["operation"])
    derived_hard = apply_limits(values, readings, cells, "hard", worked_out=True)
    derived_soft = apply_limits(values, readings, cells, "soft", worked_out=True)
    told = gathered(unread, impossible, contradictions)
    missing = ask_for_missing(readings, values, cells, told)
    findings = gathered(told, usual, derived_hard, derived_soft, missing, ages)
    return Harmonised(values, readings, findings)


def _settle_ages(
    operations: pd.DataFrame, readings: Readings, persons: pd.DataFrame, cells: CellsOfRecords,
    age_top: int,
) -> pd.DataFrame:  # fmt: skip
    """The age between the dates goes before a typed one; where they differ the centre is asked."""
    from_dates = persons["age_years"].reindex(operations.index).astype("Int64")
    typed = readings.column("age_years").astype("Int64")
    apart = (typed.clip(upper=age_top) - from_dates).abs()
    differs = (apart > AGE_TOLERANCE).fillna(False).astype(bool)
    operations["age_years"] = from_dates.fillna(typed)
    source = pd.Series("age", index=operations.index, dtype="object")
    readings.read_from["age_years"] = source.mask(from_dates.notna(), "birth_date")
    return raised("age_differs", cells.of("operation", "age", operations.index[differs]))


def _work_out(operations: pd.DataFrame) -> None:
    """Adds size classes and the graft's size against the hole."""
    for name in ("hole_min_diameter_um", "hole_base_diameter_um", "graft_diameter_um"):
        if name not in operations:
            operations[name] = pd.Series(float("nan"), index=operations.index)
    minimum = operations["hole_min_diameter_um"].astype("float64")
    nominal = operations.get(
        "hole_min_diameter_um" + NOMINAL, pd.Series(False, index=operations.index)
    )
    graft = operations["graft_diameter_um"].astype("float64")
    base = operations["hole_base_diameter_um"].astype("float64")
    operations["hole_size_class"] = size_class(minimum, nominal, SIZE_SCHEMES["ivts_2013"])
    operations["hole_size_band"] = size_class(minimum, nominal, SIZE_SCHEMES["bands_above_400"])
    operations["graft_oversize_min_pct"] = oversize_pct(graft, minimum)
    operations["graft_oversize_base_pct"] = oversize_pct(graft, base)
