"""Primary and final closure of each operation, from the graded scans of its visits.

Primary closure is read at the study's primary window, before any further macular operation of the
same eye: of several graded visits the one nearest the window's target, of two as near the earlier.
An eye that is operated on again before the window ends, without such a visit, is not closed
primarily. Final closure is read at the eye's last graded visit, after any number of operations. A
scan that is not gradable or not done is missing, never open.
"""

from __future__ import annotations

import pandas as pd

from schemas.codes import CLOSED_BROAD, CLOSED_STRICT, CLOSURE_UNKNOWN
from transforms.visit_windows import Windows


def derive_closure(
    operations: pd.DataFrame, visits: pd.DataFrame, primary: str, windows: Windows
) -> tuple[pd.DataFrame, dict[str, pd.Series]]:
    """Adds the six closure columns to `operations`.

    Takes operations with patient_key, eye, operation_key and `from_first` (days since the eye's
    first operation), visits with operation_key, day, visit and closure, both labelled by record;
    `primary` names the window of `windows` that decides primary closure. A visit without a date
    counts at its window's target. Returns the operations and, for primary and final, the label of
    the visit that decided, by the operation's label.
    """
    _, target, end = windows[primary]
    graded = _graded(operations, visits, windows)
    chosen = {
        "primary": _primary_visits(graded, primary, target),
        "final": _final_visits(operations, graded),
    }
    reoperated = (_days_to_next(operations) <= end).fillna(False).astype(bool)
    result = operations.copy()
    for moment, decided_by in chosen.items():
        state = _at(visits["closure"], decided_by, result.index)
        is_decided = state.notna() | (reoperated if moment == "primary" else False)
        result[f"{moment}_closure"] = state.astype("str")
        for suffix, closed in (("strict", CLOSED_STRICT), ("broad", CLOSED_BROAD)):
            verdict = state.isin(closed).astype("boolean")
            result[f"{moment}_closure_{suffix}"] = verdict.where(is_decided)
    return result, chosen


def _at(values: pd.Series, labels: pd.Series, index: pd.Index) -> pd.Series:
    """Values at the labels, set at the labels' own index."""
    return values.reindex(labels.to_numpy()).set_axis(labels.index).reindex(index)


def _graded(operations: pd.DataFrame, visits: pd.DataFrame, windows: Windows) -> pd.DataFrame:
    """Graded visits after their operation, with `time`, the day or else the window's target."""
    targets = {name: window[1] for name, window in windows.items()}
    time = visits["day"].fillna(visits["visit"].map(targets).astype("Int64")).astype("Float64")
    closure = visits["closure"]
    is_graded = closure.notna() & ~closure.isin(CLOSURE_UNKNOWN) & (time > 0).fillna(False)
    facts = operations[["operation_key", "patient_key", "eye", "from_first"]].assign(
        operation=operations.index, until_next=_days_to_next(operations)
    )
    return (
        visits.loc[is_graded.astype(bool), ["operation_key", "visit"]]
        .assign(time=time)
        .rename_axis("visit_label").reset_index()
        .merge(facts, on="operation_key")
    )  # fmt: skip


def _primary_visits(graded: pd.DataFrame, window: str, target: int) -> pd.Series:
    is_before_next = ~(graded["time"] >= graded["until_next"]).fillna(False).astype(bool)
    at_window = graded[(graded["visit"] == window) & is_before_next]
    nearest = at_window.assign(distance=(at_window["time"] - target).abs()).sort_values(
        ["operation", "distance", "time"], kind="stable"
    )
    return nearest.groupby("operation")["visit_label"].first()


def _final_visits(operations: pd.DataFrame, graded: pd.DataFrame) -> pd.Series:
    """Label of the eye's last graded visit after each operation."""
    moments = graded.assign(moment=graded["from_first"] + graded["time"])
    pairs = (
        operations[["patient_key", "eye", "from_first"]].assign(operation=operations.index)
        .merge(moments[["patient_key", "eye", "moment", "visit_label"]], on=["patient_key", "eye"])
    )  # fmt: skip
    after = pairs[pairs["moment"] > pairs["from_first"]].sort_values("moment", kind="stable")
    return after.groupby("operation")["visit_label"].last()


def _days_to_next(operations: pd.DataFrame) -> pd.Series:
    """Days from each operation to the next one of the same eye, missing where there is none."""
    ordered = operations.sort_values(["patient_key", "eye", "from_first"], kind="stable")
    following = ordered.groupby(["patient_key", "eye"])["from_first"].shift(-1)
    return (following - ordered["from_first"]).reindex(operations.index)
