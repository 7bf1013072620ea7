"""Intervals for one group of eyes, without a model for differences between centres.

All of them come from scipy; this module fixes the method and the confidence of 95 %.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
from scipy import stats

CONFIDENCE = 0.95
NONE = (math.nan, math.nan)


@cache
def wilson(events: int, eyes: int) -> tuple[float, float]:
    """Wilson score interval of a proportion, as fractions; none without eyes.

    Source: Newcombe, Two-sided confidence intervals for the single proportion, Stat Med
    1998;17:857-872, method 3.
    """
    if eyes == 0:
        return NONE
    interval = stats.binomtest(events, eyes).proportion_ci(CONFIDENCE, method="wilson")
    return float(interval.low), float(interval.high)


def mean_t(values: np.ndarray) -> tuple[float, float]:
    """Student's interval of a mean; none for fewer than two values."""
    if len(values) < 2:
        return NONE
    half = stats.t.ppf(0.5 + CONFIDENCE / 2, len(values) - 1) * stats.sem(values)
    mean = math.fsum(values) / len(values)
    return mean - float(half), mean + float(half)


def median_binomial(values: np.ndarray) -> tuple[float, float]:
    """Distribution-free interval of a median, from order statistics; none where it has no end."""
    if (ranks := _median_ranks(len(values))) is None:
        return NONE
    lower, upper = np.sort(values)[list(ranks)]
    return float(lower), float(upper)


@cache
def _median_ranks(number: int) -> tuple[int, int] | None:
    """Places, from 0, of the two order statistics; they hang on the number of values alone."""
    if number == 0:
        return None
    interval = stats.quantile_test(np.arange(number), p=0.5).confidence_interval(CONFIDENCE)
    ends = (interval.low, interval.high)
    return (int(ends[0]), int(ends[1])) if all(map(math.isfinite, ends)) else None
