"""Rows of the pooled tables: what is counted or measured in one group of eyes."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd

from schemas.pooled_tables import COLUMNS
from transforms.pooling.groups import Group
from transforms.pooling.intervals import NONE, mean_t, median_binomial, wilson

CRUDE_PROPORTION = "crude proportion, Wilson interval"
CRUDE_MEAN = "crude mean, t interval"
CRUDE_MEDIAN = "crude median, order-statistic interval"
DESCRIPTION = "description of the eyes, no interval"

Row = dict[str, object]


def proportion(outcome: str, visit: str, group: Group, known: pd.Series, sites: pd.Series) -> Row:
    """Share of the eyes with the outcome, of those whose outcome is known (missing dropped)."""
    of_group = known.reindex(group.rows).dropna()
    events, eyes = int(of_group.sum()), len(of_group)
    share = events / eyes if eyes else math.nan
    base = _base(outcome, visit, group, of_group, sites)
    return _row(base, "proportion", share, wilson(events, eyes), CRUDE_PROPORTION, events)


def summary(
    outcome: str, visit: str, group: Group, values: pd.Series, sites: pd.Series
) -> list[Row]:
    """Mean, standard deviation, median and quartiles of a measure, missing dropped."""
    of_group = values.reindex(group.rows).dropna().astype("float64")
    base = _base(outcome, visit, group, of_group, sites)
    numbers = np.sort(of_group.to_numpy())
    if not len(numbers):
        return [_row(base, "mean", math.nan, NONE, CRUDE_MEAN)]
    lower, median, upper = np.quantile(numbers, [0.25, 0.5, 0.75])
    mean = math.fsum(numbers) / len(numbers)
    spread = float(np.std(numbers, ddof=1)) if len(numbers) > 1 else math.nan
    return [
        _row(base, "mean", mean, mean_t(numbers), CRUDE_MEAN),
        _row(base, "sd", spread, NONE, DESCRIPTION),
        _row(base, "median", float(median), median_binomial(numbers), CRUDE_MEDIAN),
        _row(base, "lower_quartile", float(lower), NONE, DESCRIPTION),
        _row(base, "upper_quartile", float(upper), NONE, DESCRIPTION),
    ]


def _base(outcome: str, visit: str, group: Group, known: pd.Series, sites: pd.Series) -> Row:
    return {
        "outcome": outcome, "visit": visit, "technique": group.technique, "group": group.group,
        "level": group.level, "eyes": len(known), "sites": sites.reindex(known.index).nunique(),
    }  # fmt: skip


def _row(
    base: Row, statistic: str, estimate: float, interval: tuple[float, float], method: str,
    events: int | None = None,
) -> Row:  # fmt: skip
    return base | {
        "statistic": statistic, "events": events, "estimate": estimate, "ci_low": interval[0],
        "ci_high": interval[1], "method": method,
    }  # fmt: skip


def as_table(rows: list[Row]) -> pd.DataFrame:
    """The rows in the columns and types of a pooled table; nothing is masked yet."""
    table = pd.DataFrame(rows).reindex(columns=list(COLUMNS))
    numbers = ("estimate", "ci_low", "ci_high", "pi_low", "pi_high", "tau2", "i2")
    types = dict.fromkeys(numbers, "float64") | dict.fromkeys(("eyes", "events", "sites"), "Int64")
    return table.assign(masked=False).astype(types)
