"""Pooled multifocal electroretinogram: never an amplitude as it stands.

Amplitudes hang on electrode, amplifier, stimulus and rings, so that one laboratory's numbers say
nothing beside another's. What is pooled has no laboratory in it: the natural logarithm of the ratio
to the same eye's baseline, the laboratory's own z-score, and the ratio to the fellow eye.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from schemas.function_measures import LOG_RATIOS, RELATIVE_MEASURES, SAME_RECORDING
from schemas.study import Study
from schemas.visit_names import BASELINE
from transforms.pooling.estimates import Outcomes, Row, estimate_rows
from transforms.pooling.groups import groups
from transforms.pooling.visit_choice import by_window, chosen_visits, differs_from_baseline


def electroretinogram_rows(first: pd.DataFrame, visits: pd.DataFrame, study: Study) -> list[Row]:
    """Log ratios to baseline at each window, z-scores and fellow ratios at baseline too.

    `first` holds the index operations, labelled by operation_key. A row is given where at least one
    eye was measured.
    """
    ratios = {
        ratio.outcome: _log_ratio(chosen_visits(visits, study, ratio.column), ratio.column, study)
        for ratio in LOG_RATIOS
    }
    relative = {
        column: by_window(chosen_visits(visits, study, column)[column], study)
        for column in RELATIVE_MEASURES
    }
    rows: list[Row] = []
    for outcome, values in (ratios | relative).items():
        for window, column in values.items():
            measured = first[first.index.isin(column.dropna().index)]
            if len(measured):
                of = Outcomes(str(window), measures={outcome: column})
                rows += estimate_rows(of, groups(measured, study, ("technique",)))
    return rows


def _log_ratio(chosen: pd.DataFrame, density: str, study: Study) -> pd.DataFrame:
    """ln(density at the visit / at baseline), one row an operation and one column a window.

    Missing where either is 0, or where electrode, number of hexagons or rings are known to differ.
    """
    logarithm = by_window(np.log(chosen[density].where(chosen[density] > 0)), study)
    is_other = pd.DataFrame(False, logarithm.index, logarithm.columns)
    for column in SAME_RECORDING:
        is_other |= differs_from_baseline(chosen[column], study)
    change = logarithm.sub(logarithm[BASELINE], axis=0)
    return change.mask(is_other).drop(columns=BASELINE)
