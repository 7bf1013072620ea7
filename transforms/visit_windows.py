"""Visits in the study's windows: by date where there is one, else by the heading's word."""

from __future__ import annotations

import pandas as pd

from schemas.visit_names import BASELINE, BASELINE_DAYS, UNSCHEDULED, Windows
from transforms.findings import gathered, raised
from transforms.records import Records


def window_of(days: pd.Series, windows: Windows) -> pd.Series:
    """Name of the window in which each day falls; unscheduled outside all of them.

    `days` are days after the operation, missing allowed; `windows` gives (from, target, to), both
    ends included.
    """
    names = pd.Series(UNSCHEDULED, index=days.index, dtype="str")
    edges = {BASELINE: BASELINE_DAYS, **{name: (w[0], w[2]) for name, w in windows.items()}}
    for name, (first, last) in edges.items():
        names[days.between(first, last).fillna(False).astype(bool)] = name
    return names.where(days.notna(), None)


def assign_windows(
    records: Records, persons: pd.DataFrame, windows: Windows
) -> tuple[pd.Series, pd.DataFrame]:
    """The window of every visit that is not held, and findings about dates and doubles.

    `persons` is the frame of `deidentify`. Where a date and the heading disagree the date is used.
    """
    index = records.index
    visits = persons[(index["kind"] == "visit") & ~persons["is_held"]].join(
        index[["at", "kind", "upload", "sheet", "anchor"]]
    )
    by_date = window_of(visits["day"], windows)
    window = by_date.fillna(visits["at"])
    differs = visits.index[by_date.notna() & visits["at"].notna() & (by_date != visits["at"])]
    cells = records.field("visit_date")
    disagreeing = cells[cells.index.isin(differs)].reset_index()
    headings = visits["at"].reindex(disagreeing["record"]).to_numpy()
    disagreements = raised("visit_window_differs", disagreeing, other=headings)
    return window, gathered(disagreements, _doubled(visits, window))


def _doubled(visits: pd.DataFrame, window: pd.Series) -> pd.DataFrame:
    """Later visits of an operation on one day, or undated ones of one window."""
    moment = visits["day"].astype("string").fillna(window.astype("string"))
    by_moment = visits.assign(moment=moment).groupby(["operation_key", "moment"], sort=False)
    later = by_moment.cumcount() > 0
    first = by_moment["anchor"].transform("first")[later]
    where = visits.loc[later, ["kind", "upload", "sheet"]].assign(
        field="patient_id", cell=visits.loc[later, "anchor"]
    )
    return raised(
        "visit_doubled",
        where.rename_axis("record").reset_index(),
        other=[f"see {anchor}" for anchor in first],
    )
