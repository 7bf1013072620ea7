"""Rows of the pooled tables: what is counted or measured in one group of eyes."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from schemas.pooled_tables import COLUMNS, MAIN
from transforms.pooling.groups import Group
from transforms.pooling.intervals import NONE, mean_t, median_binomial, wilson

CRUDE_PROPORTION = "crude proportion, Wilson interval"
CRUDE_MEAN = "crude mean, t interval"
CRUDE_MEDIAN = "crude median, order-statistic interval"
DESCRIPTION = "description of the eyes, no interval"

Row = dict[str, object]


@dataclass(frozen=True)
class Outcomes:
    """What is known of each operation at one visit in one analysis, by outcome.

    `measures` are numbers, `shares` whether an eye has the outcome; both are labelled by operation,
    and missing where the outcome is not known. `is_brief` leaves out median and quartiles.
    """

    visit: str
    analysis: str = MAIN
    measures: Mapping[str, pd.Series] = field(default_factory=dict)
    shares: Mapping[str, pd.Series] = field(default_factory=dict)
    is_brief: bool = False


def estimate_rows(outcomes: Outcomes, groups: Iterable[Group]) -> list[Row]:
    """Rows of every outcome, group by group."""
    rows: list[Row] = []
    for group in groups:
        for name, values in outcomes.measures.items():
            known = values.reindex(group.sites.index).dropna().astype("float64")
            base = _base(name, outcomes, group, known)
            numbers = np.sort(known.to_numpy())
            rows += _mean_rows(base, numbers)
            rows += [] if outcomes.is_brief else _median_rows(base, numbers)
        for name, values in outcomes.shares.items():
            known = values.reindex(group.sites.index).dropna()
            rows.append(_proportion(_base(name, outcomes, group, known), known))
    return rows


def count_rows(outcomes: Outcomes, groups: Iterable[Group], why: str) -> list[Row]:
    """One row for each measure and group that gives its eyes and, in words, why no estimate."""
    return [
        _row(_base(name, outcomes, group, known), "mean", math.nan, NONE, why)
        for group in groups
        for name, values in outcomes.measures.items()
        for known in [values.reindex(group.sites.index).dropna()]
    ]


def _proportion(base: Row, known: pd.Series) -> Row:
    events, eyes = int(known.sum()), len(known)
    share = events / eyes if eyes else math.nan
    return _row(base, "proportion", share, wilson(events, eyes), CRUDE_PROPORTION, events)


def _mean_rows(base: Row, numbers: np.ndarray) -> list[Row]:
    if not len(numbers):
        return [_row(base, "mean", math.nan, NONE, CRUDE_MEAN)]
    mean = math.fsum(numbers) / len(numbers)
    spread = float(np.std(numbers, ddof=1)) if len(numbers) > 1 else math.nan
    return [
        _row(base, "mean", mean, mean_t(numbers), CRUDE_MEAN),
        _row(base, "sd", spread, NONE, DESCRIPTION),
    ]


def _median_rows(base: Row, numbers: np.ndarray) -> list[Row]:
    if not len(numbers):
        return []
    lower, median, upper = map(float, np.quantile(numbers, [0.25, 0.5, 0.75]))
    return [
        _row(base, "median", median, median_binomial(numbers), CRUDE_MEDIAN),
        _row(base, "lower_quartile", lower, NONE, DESCRIPTION),
        _row(base, "upper_quartile", upper, NONE, DESCRIPTION),
    ]


def _base(outcome: str, of: Outcomes, group: Group, known: pd.Series) -> Row:
    return {
        "outcome": outcome, "visit": of.visit, "analysis": of.analysis,
        "technique": group.technique, "group": group.group, "level": group.level,
        "eyes": len(known), "sites": group.sites.reindex(known.index).nunique(),
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
