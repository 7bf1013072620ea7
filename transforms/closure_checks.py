"""Gradings of the hole that do not go together, and those made through gas or oil: asked about."""

from __future__ import annotations

import pandas as pd

from schemas.codebook import upload_fields
from schemas.codes import CLOSED_STRICT, CLOSURE, CLOSURE_UNKNOWN
from schemas.visit_names import Windows
from transforms.findings import gathered, raised
from transforms.records import CellsOfRecords, Records
from transforms.scans import is_true, scans_after

# Where the graft lies, and the states of the hole that its position rules out, both by what the
# code lists say of them.
_RULED_OUT = {
    "in_place": ("closed_graft_absent",),
    "dislocated": ("closed_graft_in_place",),
    "lost": ("closed_graft_in_place",),
    "absorbed": tuple(
        state for state in CLOSURE
        if state not in (*CLOSURE_UNKNOWN, *CLOSED_STRICT) or state == "closed_graft_in_place"
    ),
}  # fmt: skip


def closure_findings(
    records: Records, persons: pd.DataFrame, values: pd.DataFrame, visit: pd.Series,
    windows: Windows,
) -> pd.DataFrame:  # fmt: skip
    """Asks about gradings under tamponade, beside a graft elsewhere, and for and against closure.

    `persons` is the frame of `deidentify` with every held record held and the column `kind`,
    `values` the harmonised values of visits and `visit` the window of each, all labelled by record;
    `windows` are the study's.
    """
    cells = CellsOfRecords(records)
    columns = values.reindex(columns=["closure", "under_tamponade", "graft_position"])
    kept = persons[~persons["is_held"]]
    visits = kept[kept["kind"] == "visit"].join(columns[["closure"]]).assign(visit=visit)
    scans = scans_after(kept[kept["kind"] == "operation"], visits, windows)
    return gathered(
        _under_tamponade(columns, cells),
        _beside_graft(columns, cells),
        _for_and_against(scans[scans["is_graded"] & scans["visit"].isin(list(windows))], cells),
    )


def _under_tamponade(values: pd.DataFrame, cells: CellsOfRecords) -> pd.DataFrame:
    is_graded = values["closure"].notna() & ~values["closure"].isin(CLOSURE_UNKNOWN)
    odd = values.index[is_graded & is_true(values["under_tamponade"])]
    return raised("closure_under_tamponade", cells.of("visit", "closure", odd))


def _beside_graft(values: pd.DataFrame, cells: CellsOfRecords) -> pd.DataFrame:
    title = upload_fields("visit")["graft_position"].spec.title
    found = []
    for position, states in _RULED_OUT.items():
        odd = values.index[(values["graft_position"] == position) & values["closure"].isin(states)]
        found.append(
            raised("gradings_conflict", cells.of("visit", "closure", odd),
                   other=f"{title.lower()}: {position}")
        )  # fmt: skip
    return gathered(*found)


def _for_and_against(graded: pd.DataFrame, cells: CellsOfRecords) -> pd.DataFrame:
    """Of two scans that follow each other within a window, one closed and one open, the later.

    A further operation between the two explains them.
    """
    ordered = graded.assign(
        is_closed=graded["closure"].isin(CLOSED_STRICT),
        is_after_next=is_true(graded["time"] >= graded["until_next"]),
    ).sort_values(["operation", "visit", "time", "day", "visit_label"])
    before = ordered.groupby(["operation", "visit", "is_after_next"])[
        ["visit_label", "is_closed"]
    ].shift()
    differs = before["visit_label"].notna() & (before["is_closed"] != ordered["is_closed"])
    labels = ordered["visit_label"][differs]
    other = pd.Series(before["visit_label"][differs].to_numpy(), index=labels)
    address = cells.of("visit", "closure", pd.Index(other)).set_index("record")["cell"]
    where = cells.of("visit", "closure", pd.Index(labels))
    told = "see " + address.reindex(other.reindex(where["record"])).astype("str")
    return raised("gradings_conflict", where, other=told.to_numpy())
