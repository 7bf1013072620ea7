"""One operated eye for tests of closure: its operations, and the scans that followed.

The study's windows are m1 (day 14 to 59), m3 (60 to 135, nearest to 90) and m6 (136 to 270).
"""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd
from upload_sheets import STUDY

from transforms.closure import derive_closure
from transforms.visit_windows import window_of

BRIDGED = "closed_retinal_bridging"
GRAFT = "closed_graft_in_place"
OPEN = "elevated_open"
FLAT = "flat_open"

# (number of the operation, day after it or an undated visit's window, state of the hole)
Scan = tuple[int, int | str, str | None]


def operations_on(days: Sequence[int]) -> pd.DataFrame:
    """Operations of one right eye, on days from the first."""
    return pd.DataFrame(
        {
            "patient_key": "p", "eye": "right", "from_first": days,
            "operation_key": [f"o{number}" for number in range(len(days))],
        }
    ).astype({"from_first": "Int64"})  # fmt: skip


def visits_with(scans: Sequence[Scan]) -> pd.DataFrame:
    """The visits at which the scans were made, labelled from 100 on."""
    visits = pd.DataFrame(
        [(f"o{number}", when, state) for number, when, state in scans],
        columns=["operation_key", "when", "closure"],
        index=pd.RangeIndex(100, 100 + len(scans)),
    ).astype({"closure": "str"})
    day = pd.to_numeric(visits["when"], errors="coerce").astype("Int64")
    window = window_of(day, STUDY.visits).fillna(visits["when"].astype("str"))
    return visits.assign(day=day, visit=window)


def derived(
    operated: Sequence[int], scans: Sequence[Scan]
) -> tuple[pd.DataFrame, dict[str, pd.Series]]:
    """Closure of the operations, and the visits that decided it."""
    return derive_closure(operations_on(operated), visits_with(scans), "m3", STUDY.visits)


def shown(operations: pd.DataFrame, *columns: str, number: int = 0) -> tuple[object, ...]:
    """Columns of one operation; None where missing."""
    row = operations.iloc[number]
    return tuple(None if pd.isna(row[name]) else row[name] for name in columns)
