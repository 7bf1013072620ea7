"""Checks over harmonised values: limits, pairs that exclude each other, and what is missing."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from schemas.codebook import (
    RECORD_KINDS,
    RECORD_TABLE,
    RecordKind,
    table_fields,
    upload_fields,
)
from schemas.field import A_SHARE, FieldSpec
from transforms.findings import gathered, raised
from transforms.harmonise.hole import BASE, MINIMUM
from transforms.harmonise.limits import Kind, outside
from transforms.harmonise.quantities import is_nominal
from transforms.harmonise.readings import Readings, column_of
from transforms.records import CellsOfRecords

Values = dict[RecordKind, pd.DataFrame]
AllReadings = dict[RecordKind, Readings]


def apply_limits(
    values: Values, readings: AllReadings, cells: CellsOfRecords, which: Kind, *, worked_out: bool
) -> pd.DataFrame:
    """Raises what lies outside the limits; beyond hard ones the value becomes missing.

    `worked_out` chooses between values read from a cell and values worked out from others.
    """
    rule = "outside_possible" if which == "hard" else "outside_usual"
    findings = []
    for kind in RECORD_KINDS:
        specs = table_fields(RECORD_TABLE[kind])
        found = outside(values[kind], kind, which, worked_out=worked_out)
        for column, labels in found.items():
            spec = specs[column]
            if which == "hard":
                values[kind].loc[labels, _of_the_same_cell(specs, column, values[kind])] = None
            for name, told in _by_source(readings[kind], column, spec, labels):
                about = column if worked_out else None
                findings.append(raised(rule, cells.of(kind, name, told), worked_out=about))
    return gathered(*findings)


def _by_source(
    readings: Readings, column: str, spec: FieldSpec, labels: pd.Index
) -> Iterator[tuple[str, pd.Index]]:
    """The labels by the upload field from which each value came."""
    if column not in readings.read_from:
        yield spec.upload[0], labels
        return
    read_from = readings.read_from.loc[labels, column]
    for name in spec.upload:
        yield name, labels[(read_from == name).to_numpy()]


def _of_the_same_cell(specs: dict[str, FieldSpec], column: str, values: pd.DataFrame) -> list[str]:
    """The column, and what else is known from its cell alone (an acuity's notation, for one)."""
    return [
        name
        for name, spec in specs.items()
        if spec.upload == specs[column].upload and name in values
    ]


def exclude_fractions(values: Values, cells: CellsOfRecords) -> pd.DataFrame:
    """Shares in per cent that lie above 0 and under 1: most were written as fractions of one."""
    found = []
    for kind in RECORD_KINDS:
        for column, spec in table_fields(RECORD_TABLE[kind]).items():
            is_share = spec.unit == "%" and spec.reads is not None and spec.hard == A_SHARE
            if not is_share or column not in values[kind]:
                continue
            share = values[kind][column].astype("float64")
            small = share.index[(share > 0) & (share < 1)]
            values[kind].loc[small, column] = None
            found.append(raised("share_under_one", cells.of(kind, spec.upload[0], small)))
    return gathered(*found)


def exclude_contradictions(
    values: Values, readings: AllReadings, cells: CellsOfRecords
) -> pd.DataFrame:
    """Takes out what other values of the same record contradict: pairs of which one must be the
    smaller, and stages that were counted without a liquid's later exchange.

    A length in disc diameters, whose size differs from eye to eye, proves no measured one wrong.
    """
    return gathered(
        _stages_without_exchange(values["operation"], readings["operation"], cells),
        _ordered(
            values["operation"], cells, "operation", "minimum_over_base",
            (MINIMUM, BASE),
        ),
        _ordered(
            values["visit"], cells, "visit", "fixation_order",
            ("fixation_p1_pct", "fixation_p2_pct"),
        ),
    )  # fmt: skip


def _ordered(
    values: pd.DataFrame, cells: CellsOfRecords, kind: RecordKind, rule: str, pair: tuple[str, str]
) -> pd.DataFrame:
    smaller, larger = pair
    if smaller not in values or larger not in values:
        return gathered()
    is_over = (values[smaller] > values[larger]).fillna(False).astype(bool)
    wrong = values.index[is_over & (is_nominal(values, smaller) == is_nominal(values, larger))]
    values.loc[wrong, [smaller, larger]] = None
    spec = table_fields(RECORD_TABLE[kind])[smaller]
    return raised(rule, cells.of(kind, spec.upload[0], wrong))


def _stages_without_exchange(
    operations: pd.DataFrame, readings: Readings, cells: CellsOfRecords
) -> pd.DataFrame:
    """One stage counted from a technique text, beside a liquid that was exchanged later: of the
    stages there is then no telling."""
    counted = readings.read_from.get("stages", column_of(operations, "stages")) == "technique"
    is_odd = counted & (column_of(operations, "stages") == 1)
    labels = operations.index[is_odd & (column_of(operations, "pfcl_use") == "short_term")]
    if labels.empty:
        return gathered()
    where = cells.of("operation", "pfcl_use", labels)
    where = where[where["value"].notna()]
    operations.loc[where["record"], "stages"] = None
    title = upload_fields("operation")["technique"].spec.title
    return raised("fields_disagree", where, other=f"one stage under {title}")


def ask_for_missing(
    readings: AllReadings, values: Values, cells: CellsOfRecords,
    told: pd.DataFrame,
) -> pd.DataFrame:  # fmt: skip
    """Asks for fields that the codebook requires, where the crosswalk maps them.

    A value that another finding made missing is not asked for a second time.
    """
    silenced = set(zip(told["record"], told["field"], strict=True))
    findings = []
    for kind in RECORD_KINDS:
        for column, spec in table_fields(RECORD_TABLE[kind]).items():
            if spec.required is None or spec.required.without != "ask":
                continue
            missing = _required(values[kind], spec) & readings[kind].column(column).isna()
            labels = pd.Index(
                [
                    label
                    for label in missing.index[missing]
                    if not any((label, name) in silenced for name in spec.upload)
                ]
            )
            findings.append(raised("value_missing", _first_mapped(cells, kind, spec, labels)))
    return gathered(*findings)


def _required(values: pd.DataFrame, spec: FieldSpec) -> pd.Series:
    required = spec.required
    assert required is not None
    if required.when is None:
        return pd.Series(True, index=values.index)
    if required.when not in values:
        return pd.Series(False, index=values.index)
    return values[required.when].isin(required.codes)


def _first_mapped(
    cells: CellsOfRecords, kind: RecordKind, spec: FieldSpec, labels: pd.Index
) -> pd.DataFrame:
    """The cells in which the value was looked for, told as the field that is missing."""
    for name in spec.upload:
        found = cells.of(kind, name, labels)
        if len(found):
            return found.assign(field=spec.upload[0])
    return pd.DataFrame(columns=["record", "kind", "field", "sheet", "cell"])
