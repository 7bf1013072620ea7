"""Scans of the hole after an operation, on the time line of their eye."""

from __future__ import annotations

import pandas as pd

from schemas.codes import CLOSURE_UNKNOWN
from schemas.visit_names import Windows


def scans_after(operations: pd.DataFrame, visits: pd.DataFrame, windows: Windows) -> pd.DataFrame:
    """The scans after their operation that say something: a state, or why there is none.

    Takes operations with patient_key, eye, operation_key and `from_first` (days since the eye's
    first operation), visits with operation_key, day, visit (the window) and closure, both labelled
    by record. A visit without a date counts at its window's target.

    One row a scan: `operation` and `visit_label` (the two labels), patient_key, eye, visit, day,
    closure, is_graded, `time` in days from the operation, `from_first` of the operation and
    `until_next`, days from it to the eye's next one.
    """
    targets = {name: target for name, (_, target, _) in windows.items()}
    time = visits["day"].fillna(visits["visit"].map(targets).astype("Int64")).astype("Float64")
    said = visits[["operation_key", "visit", "day", "closure"]].assign(
        time=time, is_graded=~visits["closure"].isin(CLOSURE_UNKNOWN)
    )
    facts = operations[["operation_key", "patient_key", "eye", "from_first"]].assign(
        operation=operations.index, until_next=days_to_next(operations)
    )
    return (
        said[said["closure"].notna() & is_true(time > 0)]
        .rename_axis("visit_label").reset_index()
        .merge(facts, on="operation_key").drop(columns="operation_key")
    )  # fmt: skip


def later_scans(operations: pd.DataFrame, scans: pd.DataFrame) -> pd.DataFrame:
    """For each operation all later scans of its eye, those after further operations too.

    Takes the scans of `scans_after`; `operation` and `until_next` become those of the operation
    before the scan, `since` is the days between the two, `moment` those from the eye's first one.
    """
    before = operations[["patient_key", "eye", "from_first"]].assign(
        operation=operations.index, until_next=days_to_next(operations)
    )
    moments = scans.assign(moment=scans["from_first"] + scans["time"])
    pairs = before.merge(
        moments.drop(columns=["operation", "until_next", "from_first"]), on=["patient_key", "eye"]
    )
    pairs["since"] = pairs["moment"] - pairs["from_first"]
    return pairs[is_true(pairs["since"] > 0)]


def days_to_next(operations: pd.DataFrame) -> pd.Series:
    """Days from each operation to the next one of the same eye, missing where there is none."""
    ordered = operations.sort_values(["patient_key", "eye", "from_first"], kind="stable")
    following = ordered.groupby(["patient_key", "eye"])["from_first"].shift(-1)
    return (following - ordered["from_first"]).reindex(operations.index)


def is_true(comparison: pd.Series) -> pd.Series:
    """A comparison as plain truth: what cannot be compared is not so."""
    return comparison.astype("boolean").fillna(False).astype(bool)
