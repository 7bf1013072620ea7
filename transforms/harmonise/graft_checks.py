"""What is odd about a graft and its tamponade, though each cell by itself is not: asked about."""

from __future__ import annotations

import pandas as pd

from schemas.codebook import upload_fields
from schemas.codes import GASES, NO_TISSUE, OILS
from schemas.conventions import GAS_CONCENTRATIONS
from transforms.findings import gathered, raised
from transforms.harmonise.diameters import SECOND
from transforms.harmonise.hole import GRAFT, MINIMUM, Lengths
from transforms.harmonise.readings import Readings, column_of
from transforms.records import CellsOfRecords

PERCENT = "tamponade_pct"

# Upload fields that say something of a graft, and those that go with one kind of tamponade.
_OF_GRAFTS = ("graft_diameter", "harvest_method", "donor_region")
_OF_AGENTS = {"tamponade_pct": GASES, "tamponade_viscosity": OILS}


def graft_findings(
    operations: pd.DataFrame, lengths: Lengths, readings: Readings, cells: CellsOfRecords
) -> pd.DataFrame:
    """Asks about a graft smaller than its hole, a graft where the technique puts none, and a
    concentration or viscosity that does not go with the tamponade.

    Takes harmonised operations, labelled by record, their lengths in µm, and what was read from
    which field.
    """
    return gathered(
        _smaller_than_hole(operations, lengths, cells),
        *(_without_tissue(operations, name, cells) for name in _OF_GRAFTS),
        *(_of_other_agent(operations, name, cells) for name in _OF_AGENTS),
        *(_concentrations(operations, gas, readings, cells) for gas in GASES),
    )


def _read_from(operations: pd.DataFrame, name: str) -> pd.Series:
    """The column that an upload field is read into."""
    column = upload_fields("operation")[name].column
    assert column is not None
    return column_of(operations, column)


def _smaller_than_hole(
    operations: pd.DataFrame, lengths: Lengths, cells: CellsOfRecords
) -> pd.DataFrame:
    graft, hole = lengths.um[GRAFT], lengths.um[MINIMUM]
    second = column_of(operations, SECOND).astype("float64")
    # The geometric mean of two sides and one of them give the other.
    shorter = second.combine(graft**2 / second, min).fillna(graft)
    is_alike = lengths.is_nominal[GRAFT] == lengths.is_nominal[MINIMUM]
    smaller = operations.index[(shorter < hole) & is_alike]
    return raised("graft_smaller_than_hole", cells.of("operation", "graft_diameter", smaller))


def _without_tissue(operations: pd.DataFrame, name: str, cells: CellsOfRecords) -> pd.DataFrame:
    """Cells of a graft's field in rows whose technique puts no tissue into the hole."""
    material = column_of(operations, "graft_material")
    is_odd = material.isin(NO_TISSUE) & _read_from(operations, name).notna()
    where = _filled(cells, name, operations.index[is_odd])
    return raised("graft_without_tissue", where, other=material.reindex(where["record"]).to_numpy())


def _of_other_agent(operations: pd.DataFrame, name: str, cells: CellsOfRecords) -> pd.DataFrame:
    """Cells with a concentration or viscosity beside a tamponade that has none."""
    tamponade = column_of(operations, "tamponade")
    is_given = _read_from(operations, name).notna() & tamponade.notna()
    where = _filled(cells, name, operations.index[is_given & ~tamponade.isin(_OF_AGENTS[name])])
    title = upload_fields("operation")["tamponade"].spec.title
    other = [f"{code} under {title}" for code in tamponade.reindex(where["record"])]
    return raised("fields_disagree", where, other=other)


def _filled(cells: CellsOfRecords, name: str, labels: pd.Index) -> pd.DataFrame:
    where = cells.of("operation", name, labels)
    return where[where["value"].notna()]


def _concentrations(
    operations: pd.DataFrame, gas: str, readings: Readings, cells: CellsOfRecords
) -> pd.DataFrame:
    """The cells from which a concentration outside the gas's usual range came."""
    usual = GAS_CONCENTRATIONS[gas]
    pct = column_of(operations, PERCENT).astype("float64")
    is_odd = (column_of(operations, "tamponade") == gas) & pct.notna()
    labels = operations.index[is_odd & ~pct.between(usual.low, usual.high)]
    if labels.empty:
        return gathered()
    read_from = readings.read_from.loc[labels, PERCENT]
    return gathered(
        *(
            raised("gas_concentration_unusual", cells.of("operation", str(name), of_name.index),
                   other=f"{usual.low:g} to {usual.high:g} %")
            for name, of_name in read_from.groupby(read_from)
        )
    )  # fmt: skip
