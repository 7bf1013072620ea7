"""Open findings counted: by rule and centre, and by how many weeks they have been open."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from schemas.codes import ACTION
from schemas.rules import RULES

# Least age in weeks, and the words for it.
AGES = ((0, "This week"), (1, "1 week"), (2, "2 to 3 weeks"), (4, "4 weeks or more"))


@dataclass(frozen=True)
class Counts:
    """Counts under one heading, in the order of the columns, and their sum."""

    name: str
    action: str
    counts: tuple[int, ...]

    @property
    def total(self) -> int:
        return sum(self.counts)


def by_rule(findings: pd.DataFrame, sites: Sequence[str]) -> list[Counts]:
    """Open findings of each rule by centre: held rows first, then the most frequent."""
    still_open = findings[findings["state"] == "open"]
    counted = still_open.groupby(["rule", "site"]).size()
    rows = [
        Counts(rule.name, rule.action, tuple(int(counted.get((rule.name, s), 0)) for s in sites))
        for rule in RULES.values()
    ]
    gravity = list(ACTION)
    return sorted(
        (row for row in rows if row.total),
        key=lambda row: (gravity.index(row.action), -row.total, row.name),
    )


def by_age(findings: pd.DataFrame, sites: Sequence[str], week: str) -> list[Counts]:
    """Open findings of each centre by the weeks since they were first seen, in AGES."""
    still_open = findings[findings["state"] == "open"]
    least = [age for age, _ in AGES]
    group = still_open["first_week"].map(
        lambda first: sum(weeks_between(first, week) >= age for age in least) - 1
    )
    counted = still_open.assign(group=group).groupby(["site", "group"]).size()
    return [
        Counts(site, "", tuple(int(counted.get((site, place), 0)) for place in range(len(AGES))))
        for site in sites
    ]


def weeks_between(first: str, last: str) -> int:
    """Whole weeks from one ISO 8601 week to another: 2026-W53 to 2027-W01 is 1; never negative."""
    return max((_monday(last) - _monday(first)).days // 7, 0)


def _monday(week: str) -> dt.date:
    year, number = week.split("-W")
    return dt.date.fromisocalendar(int(year), int(number), 1)
