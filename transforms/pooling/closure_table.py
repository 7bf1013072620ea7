"""Pooled closure: primary and final, strict and broad, crude with Wilson intervals."""

from __future__ import annotations

import pandas as pd

from schemas.study import Study
from transforms.pooling.estimates import Outcomes, Row, estimate_rows
from transforms.pooling.groups import groups

LAST_VISIT = "last"


def closure_rows(first: pd.DataFrame, study: Study) -> list[Row]:
    """One row for each closure outcome and group, from the index operations.

    Eyes whose scan at the moment is missing or not gradable are not counted.
    """
    moments = {"primary": study.closure.primary, "final": LAST_VISIT}
    rows: list[Row] = []
    for moment, visit in moments.items():
        for outcome in (f"{moment}_closure_strict", f"{moment}_closure_broad"):
            known = Outcomes(visit, shares={outcome: first[outcome]})
            rows += estimate_rows(known, groups(first, study, ("site", "technique", "size_class")))
    return rows
