"""Pooled estimates by what they are about, ready to be written on a page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import pandas as pd

from reports.numerals import MISSING, as_number, as_whole, count, decimal, is_missing, percent
from reports.rows import records
from schemas.pooled_tables import MAIN

MASKED = "masked"


class Subject(NamedTuple):
    """What one row of a pooled table is about; the main analysis unless another is named."""

    outcome: str
    visit: str
    group: str = "all"
    level: str = "all"
    statistic: str = "proportion"
    analysis: str = MAIN


@dataclass(frozen=True)
class Estimate:
    """One estimate with its interval; numbers that are missing or masked are None."""

    eyes: int | None = None
    events: int | None = None
    value: float | None = None
    low: float | None = None
    high: float | None = None
    masked: bool = False

    @property
    def fraction(self) -> str:
        """'52/61'."""
        if self.masked:
            return MASKED
        return MISSING if not self.eyes else f"{count(self.events)}/{count(self.eyes)}"

    @property
    def share(self) -> str:
        """A proportion in per cent with its interval: '85.2 [74.3, 92.0]'."""
        if self.value is None:
            return MASKED if self.masked else MISSING
        bounds = "" if self.low is None else f" [{percent(self.low)}, {percent(self.high)}]"
        return f"{percent(self.value)}{bounds}"

    @property
    def measure(self) -> str:
        """A number with its interval, if it has one: '0.92 [0.85, 0.99]'."""
        if self.value is None:
            return MASKED if self.masked else MISSING
        bounds = "" if self.low is None else f" [{decimal(self.low)}, {decimal(self.high)}]"
        return f"{decimal(self.value)}{bounds}"


NONE = Estimate()

Estimates = dict[Subject, Estimate]


def index_estimates(table: pd.DataFrame) -> Estimates:
    """The rows of a pooled table by subject. Raises ValueError where two rows have the same."""
    found: Estimates = {}
    for row in records(table):
        subject = Subject(*(str(row[part]) for part in Subject._fields))
        if subject in found:
            raise ValueError(f"the pooled table holds two rows for {' / '.join(subject)}")
        found[subject] = Estimate(
            eyes=as_whole(row["eyes"]),
            events=as_whole(row["events"]),
            value=as_number(row["estimate"]),
            low=as_number(row["ci_low"]),
            high=as_number(row["ci_high"]),
            masked=not is_missing(row["masked"]) and bool(row["masked"]),
        )
    return found


def levels_of(estimates: Estimates, group: str, titles: dict[str, str]) -> dict[str, str]:
    """Levels of a grouping that have an estimate, with their titles: known ones in their order,
    then what has no title, by name."""
    present = {subject.level for subject in estimates if subject.group == group}
    known = {level: title for level, title in titles.items() if level in present}
    return known | {level: level.replace("_", " ") for level in sorted(present - set(known))}
