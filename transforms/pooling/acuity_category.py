"""Acuity by ordered category, so that words off the chart need no number.

On the chart < counting fingers < hand motion < light perception < no light perception. An eye that
went from one to another is better or worse; off the chart in the same category it is the same; on
the chart at both visits the change in logMAR decides.
"""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from schemas.codes import OFF_CHART
from schemas.pooled_tables import ORDERED_CATEGORY
from schemas.study import Study
from schemas.visit_names import BASELINE
from transforms.pooling.acuity_change import acuity_change, gained, lost
from transforms.pooling.estimates import Outcomes
from transforms.pooling.visit_choice import by_window

_ON_CHART = 0
_RANK = {code: rank for rank, code in enumerate(OFF_CHART, _ON_CHART + 1)}
_DIRECTION = {
    "acuity_better_by_category": -1, "acuity_same_by_category": 0, "acuity_worse_by_category": 1,
}  # fmt: skip


def by_category(chosen: pd.DataFrame, study: Study) -> Iterator[Outcomes]:
    """Which eyes are better, the same or worse at each window than at baseline.

    `chosen` holds the visits whose acuity counts, see `chosen_visits`.
    """
    ranks = by_window(chosen["acuity_off_chart"].map(_RANK).fillna(_ON_CHART), study)
    logmar = by_window(chosen["acuity_logmar"], study)
    for window in study.visits:
        steps = ranks[window] - ranks[BASELINE]
        on_chart = (ranks[window] == _ON_CHART) & (ranks[BASELINE] == _ON_CHART)
        change = acuity_change(logmar[BASELINE], logmar[window])
        on_chart_steps = lost(change).astype("float64") - gained(change).astype("float64")
        direction = steps.clip(-1, 1).mask(on_chart, on_chart_steps)
        shares = {
            outcome: (direction == value).where(direction.notna())
            for outcome, value in _DIRECTION.items()
        }
        yield Outcomes(window, ORDERED_CATEGORY, shares=shares)
