"""logMAR values for acuities that no chart measures, in a named set.

Fingers counted at a known distance d (m) are worth log10(60 / d): a finger is about the size of a
20/200 letter (J Refract Surg 1997;13:388-391, from memory). That overstates the loss near the face,
where measured values are better, so it is never worse than the set's value of hand motion, and
never better than 1.0. Light perception and its absence are no acuities: any number is a label.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from schemas.conventions import OffChartSet

FINGERS = "counting_fingers"
HAND = "hand_motion"
# A finger at 60 m would be seen as a letter of 20/20.
FINGER_AT_20_20_M = 60.0
BEST_OF_FINGERS = 1.0


def off_chart_logmar(codes: pd.Series, distance_m: pd.Series, chosen: OffChartSet) -> pd.Series:
    """logMAR of each off-chart code, missing where there is none.

    `codes` are of `schemas.codes.OFF_CHART`, `distance_m` the distance in metres where one was
    given; both share an index.
    """
    of_the_set = codes.map(chosen.values).astype("float64")
    distance = distance_m.astype("float64").where(by_distance(codes, distance_m))
    at_distance = pd.Series(np.log10(FINGER_AT_20_20_M / distance.to_numpy()), index=codes.index)
    return at_distance.clip(BEST_OF_FINGERS, chosen.values[HAND]).fillna(of_the_set)


def by_distance(codes: pd.Series, distance_m: pd.Series) -> pd.Series:
    """Where the distance decides the value: fingers counted at a known one."""
    return (codes == FINGERS).fillna(False).astype("bool") & distance_m.notna()
