"""Pooled closure: primary and final, strict and broad, crude with Wilson intervals."""

from __future__ import annotations

import pandas as pd

from schemas.study import Study
from transforms.pooling.estimates import as_table, proportion
from transforms.pooling.groups import groups, index_operations

LAST_VISIT = "last"


def closure_table(operations: pd.DataFrame, study: Study) -> pd.DataFrame:
    """One row for each closure outcome and group, from the warehouse's operations.

    Eyes whose scan at the moment is missing or not gradable are not counted.
    """
    first = index_operations(operations)
    moments = {"primary": study.closure.primary, "final": LAST_VISIT}
    outcomes = [(f"{m}_closure_{s}", v) for m, v in moments.items() for s in ("strict", "broad")]
    return as_table(
        [
            proportion(outcome, visit, group, first[outcome], first["site"])
            for outcome, visit in outcomes
            for group in groups(first, study, ("site", "technique", "size_class"))
        ]
    )
