"""Primary and final closure of each operation, from the scans of its visits.

Primary closure is read at the study's primary window, before any further macular operation of the
same eye: of several graded scans the one nearest the window's target, of two as near the earlier.
An eye that is operated on again before the window ends, without such a scan, is not closed
primarily. Final closure is read at the eye's last graded scan, after any number of operations.

A scan that is not gradable or not done is never open: where there is no other, the state names it
as the reason why the verdicts are missing.
"""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from schemas.codes import CLOSED_BROAD, CLOSED_STRICT, CLOSURE_UNKNOWN
from schemas.visit_names import Windows
from transforms.reopening import find_reopenings
from transforms.scans import days_to_next, is_true, later_scans, scans_after

_VERDICTS = {"strict": CLOSED_STRICT, "broad": CLOSED_BROAD}


def derive_closure(
    operations: pd.DataFrame, visits: pd.DataFrame, primary: str, windows: Windows
) -> tuple[pd.DataFrame, dict[str, pd.Series]]:
    """Adds the columns of closure and reopening to `operations`.

    Takes operations and visits as `transforms.scans.scans_after` does; `primary` names the window
    of `windows` that decides primary closure. Returns the operations and, for each column, the
    labels of the visits that decided it, by the operation's label.
    """
    scans = scans_after(operations, visits, windows)
    later = later_scans(operations, scans)
    _, target, end = windows[primary]
    is_early = is_true(days_to_next(operations) <= end)
    moments = {
        "primary": (_nearest(scans, primary, target), is_early),
        "final": (_last(later), pd.Series(False, index=operations.index)),
    }
    result = operations.copy()
    deciding: dict[str, pd.Series] = {}
    for moment, (decided_by, has_failed) in moments.items():
        for name, values, behind in _verdicts(visits["closure"], decided_by, has_failed):
            result[f"{moment}_{name}"], deciding[f"{moment}_{name}"] = values, behind
    reopenings, behind_them = find_reopenings(later)
    return result.join(reopenings), deciding | behind_them


def _verdicts(
    closure: pd.Series, decided_by: pd.Series, has_failed: pd.Series
) -> Iterator[tuple[str, pd.Series, pd.Series]]:
    """The columns of one moment, and the visits that decided each, all by operation.

    `has_failed` is true where a further operation decides that the eye is not closed, unless a
    graded scan came before it: then an ungraded scan explains nothing.
    """
    state = closure.reindex(decided_by.to_numpy()).set_axis(decided_by.index)
    state = state.reindex(has_failed.index).astype("str")
    is_graded = state.notna() & ~state.isin(CLOSURE_UNKNOWN)
    told = state.where(is_graded | ~has_failed)
    yield "closure", told, decided_by[told[decided_by.index].notna()]
    for name, closed in _VERDICTS.items():
        verdict = state.isin(closed).astype("boolean").where(is_graded | has_failed)
        yield f"closure_{name}", verdict, decided_by[is_graded[decided_by.index]]


def _nearest(scans: pd.DataFrame, window: str, target: int) -> pd.Series:
    """Label of the scan of each operation that decides at the window: a graded one where there is
    one. Of two that count at the same time the dated one decides."""
    is_too_late = is_true(scans["time"] >= scans["until_next"])
    at_window = scans[(scans["visit"] == window) & ~is_too_late]
    best_first = at_window.assign(distance=(at_window["time"] - target).abs()).sort_values(
        ["is_graded", "distance", "time", "day"], ascending=[False, True, True, True]
    )
    return best_first.groupby("operation")["visit_label"].first()


def _last(later: pd.DataFrame) -> pd.Series:
    """Label of the eye's last scan after each operation: a graded one where there is one.

    Of two scans at one time the dated one decides, and then that of the later operation.
    """
    best_last = later.sort_values(
        ["is_graded", "moment", "day", "time"], ascending=[True, True, False, False],
        na_position="first",
    )  # fmt: skip
    return best_last.groupby("operation")["visit_label"].last()
