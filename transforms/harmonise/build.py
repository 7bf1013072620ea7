"""Builds the warehouse's rows of one upload from de-identified records and their cells."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from schemas.codebook import RECORD_KINDS
from schemas.conventions import OFF_CHART_SETS
from schemas.conversions import MEAN_OF_DIAMETERS
from schemas.crosswalk import Crosswalk
from transforms.findings import gathered, raised
from transforms.harmonise.checks import (
    AllReadings,
    Values,
    apply_limits,
    ask_for_missing,
    exclude_contradictions,
    exclude_fractions,
)
from transforms.harmonise.diameters import SECOND
from transforms.harmonise.function_tests import luminance_findings, work_out_function_tests
from transforms.harmonise.graft_checks import graft_findings
from transforms.harmonise.hole import (
    BASE,
    GRAFT,
    LENGTHS,
    MINIMUM,
    Lengths,
    mean_diameter,
    sizes,
)
from transforms.harmonise.perimetry import settle_reliability
from transforms.harmonise.quantities import is_nominal
from transforms.harmonise.read_cells import read_cells
from transforms.harmonise.readings import Readings, column_of
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
    readings, unread = read_cells(records, crosswalk, OFF_CHART_SETS[off_chart])
    values: Values = {kind: readings[kind].values.copy() for kind in RECORD_KINDS}
    cells = CellsOfRecords(records)
    ages = _settle_ages(values["operation"], readings["operation"], persons, cells, age_top)
    impossible = apply_limits(values, readings, cells, "hard", worked_out=False)
    values["operation"]["age_years"] = values["operation"]["age_years"].clip(upper=age_top)
    contradictions = gathered(
        exclude_fractions(values, cells), exclude_contradictions(values, readings, cells)
    )
    unsure = settle_reliability(values["visit"], readings["visit"], cells)
    usual = apply_limits(values, readings, cells, "soft", worked_out=False)
    odd = _work_out_sizes(values["operation"], readings["operation"], cells)
    work_out_function_tests(values["visit"])
    devices = luminance_findings(values["visit"], cells)
    derived_hard = apply_limits(values, readings, cells, "hard", worked_out=True)
    derived_soft = apply_limits(values, readings, cells, "soft", worked_out=True)
    told = gathered(unread, impossible, contradictions)
    missing = ask_for_missing(readings, values, cells, told)
    findings = gathered(
        told, unsure, usual, odd, devices, derived_hard, derived_soft, missing, ages
    )
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
    if "age_years" in readings.rules:
        readings.rules["age_years"] = readings.rules["age_years"].mask(from_dates.notna())
    return raised("age_differs", cells.of("operation", "age", operations.index[differs]))


def _work_out_sizes(
    operations: pd.DataFrame, readings: Readings, cells: CellsOfRecords
) -> pd.DataFrame:
    """Adds the mean diameter of oval grafts, and what follows from the lengths of hole and graft;
    returns what is odd about the graft's size."""
    lengths = Lengths(
        operations.reindex(columns=list(LENGTHS)).astype("float64"),
        pd.DataFrame(
            {name: is_nominal(operations, name) for name in LENGTHS}, index=operations.index
        ),
    )
    lengths.um[GRAFT] = _graft_diameter(operations, readings, cells)
    operations[GRAFT] = lengths.um[GRAFT]
    for name in (MINIMUM, BASE, GRAFT):
        mark = lengths.is_nominal[name].astype("boolean").where(lengths.um[name].notna())
        operations[name.replace("_um", "_nominal")] = mark
    worked_out = sizes(lengths)
    operations[worked_out.columns] = worked_out
    return graft_findings(operations, lengths, readings, cells)


def _graft_diameter(
    operations: pd.DataFrame, readings: Readings, cells: CellsOfRecords
) -> pd.Series:
    """The graft's diameter; of one with two diameters their mean, missing where one is."""
    first, second = (column_of(operations, name).astype("float64") for name in (GRAFT, SECOND))
    given = cells.of("operation", "graft_second_diameter", operations.index)
    is_oval = second.notna() | operations.index.isin(given.loc[given["value"].notna(), "record"])
    if GRAFT in readings.rules:
        by_mean = second.notna() & first.notna()
        readings.rules[GRAFT] = readings.rules[GRAFT].mask(by_mean, MEAN_OF_DIAMETERS)
    return mean_diameter(first, second).where(~is_oval | second.notna())
