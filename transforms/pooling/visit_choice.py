"""Which visit counts for a measure: one for each operation at baseline and in each window."""

from __future__ import annotations

import pandas as pd

from schemas.study import Study
from schemas.visit_names import BASELINE


def visit_names(study: Study) -> tuple[str, ...]:
    """baseline, then the study's windows in order."""
    return (BASELINE, *study.visits)


def chosen_visits(visits: pd.DataFrame, study: Study, measure: str) -> pd.DataFrame:
    """The visits at which the column `measure` counts, labelled by operation_key and visit.

    Of several visits in a window the one nearest the window's target counts, of two as near the
    earlier; at baseline the last one. A visit without a date counts as on target. What was measured
    under gas or oil is left out: it is not the eye's own.
    """
    is_own = ~visits["under_tamponade"].fillna(False).astype(bool)
    measured = visits[is_own & visits[measure].notna()]
    targets = {BASELINE: 0, **{name: window[1] for name, window in study.visits.items()}}
    target = measured["visit"].map(targets).astype("Float64")
    distance = (measured["day"].astype("Float64") - target).abs().fillna(0)
    ranked = measured[target.notna()].assign(distance=distance)
    return (
        ranked.sort_values(["operation_key", "visit", "distance", "day"], kind="stable")
        .drop_duplicates(["operation_key", "visit"])
        .set_index(["operation_key", "visit"])
    )


def by_window(values: pd.Series, study: Study) -> pd.DataFrame:
    """A column of the chosen visits with one row an operation and one column a window."""
    return values.unstack("visit").reindex(columns=list(visit_names(study)))


def differs_from_baseline(values: pd.Series, study: Study) -> pd.DataFrame:
    """Whether each operation's visit in a window says something else than its baseline does.

    `values` is a column of the chosen visits. Where one of the two is missing they do not differ:
    it is not known. Shaped as `by_window`.
    """
    numbered = pd.Series(pd.factorize(values)[0], index=values.index).where(values.notna())
    wide = by_window(numbered, study)
    return wide.sub(wide[BASELINE], axis=0).fillna(0) != 0
