"""Pooled acuity: at baseline, at each window, and the change between the two."""

from __future__ import annotations

import pandas as pd

from schemas.study import Study
from schemas.visit_names import BASELINE
from transforms.pooling.estimates import Row, as_table, proportion, summary
from transforms.pooling.groups import groups, index_operations

# 0.3 logMAR is three lines, 15 letters, a doubling of the visual angle: the change that series
# count as meaningful. Common practice, no source.
MEANINGFUL_CHANGE = 0.3

# Changes are compared after rounding, so that 1.0 - 0.7 counts as 0.3.
_DIGITS = 9


def acuity_table(operations: pd.DataFrame, visits: pd.DataFrame, study: Study) -> pd.DataFrame:
    """Mean, SD, median and quartiles of logMAR and of its change from baseline, and the shares of
    eyes that gained or lost 0.3 or more, from the warehouse's operations and visits.

    Acuities taken under gas or oil are left out: they are not the eye's own.
    """
    first = index_operations(operations).set_index("operation_key")
    acuity = acuity_by_window(visits, study)
    rows: list[Row] = []
    for window in (BASELINE, *study.visits):
        at_window = acuity[window]
        change = (at_window - acuity[BASELINE]).round(_DIGITS)
        gained = (change <= -MEANINGFUL_CHANGE).where(change.notna())
        lost = (change >= MEANINGFUL_CHANGE).where(change.notna())
        for group in groups(first, study, ("site", "technique")):
            rows += summary("acuity_logmar", window, group, at_window, first["site"])
            if window == BASELINE:
                continue
            rows += summary("acuity_change_logmar", window, group, change, first["site"])
            rows.append(proportion("acuity_gained_0.3", window, group, gained, first["site"]))
            rows.append(proportion("acuity_lost_0.3", window, group, lost, first["site"]))
    return as_table(rows)


def acuity_by_window(visits: pd.DataFrame, study: Study) -> pd.DataFrame:
    """logMAR of each operation (rows, by key) at baseline and at each window (columns).

    Of several visits the one nearest the window's target counts, of two as near the earlier; at
    baseline the last one. A visit without a date counts as on target.
    """
    is_own = ~visits["under_tamponade"].fillna(False).astype(bool)
    measured = visits[is_own & visits["acuity_logmar"].notna()]
    targets = {BASELINE: 0, **{name: window[1] for name, window in study.visits.items()}}
    target = measured["visit"].map(targets).astype("Float64")
    distance = (measured["day"].astype("Float64") - target).abs().fillna(0)
    ranked = measured.assign(distance=distance).sort_values(
        ["operation_key", "visit", "distance", "day"], kind="stable"
    )
    nearest = ranked.groupby(["operation_key", "visit"])["acuity_logmar"].first().unstack("visit")
    return nearest.reindex(columns=list(targets))
