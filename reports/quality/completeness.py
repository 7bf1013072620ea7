"""How much of each field each centre has filled in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from reports.quality.checks import Condition, condition_of, expected_share
from schemas.codebook import table_fields


@dataclass(frozen=True)
class Filled:
    """Rows of one centre that call for a field, and those that have it."""

    called_for: int
    filled: int
    expected: float | None

    @property
    def share(self) -> float:
        """Between 0 and 1; NaN where no row calls for the field."""
        return self.filled / self.called_for if self.called_for else float("nan")

    @property
    def percent(self) -> int:
        """Whole per cent, rounded down: 100 means every row. Zero where no row calls for it."""
        return 100 * self.filled // self.called_for if self.called_for else 0

    @property
    def is_low(self) -> bool:
        """Less than is expected."""
        return self.expected is not None and self.share < self.expected


@dataclass(frozen=True)
class FieldCompleteness:
    """One field over the centres, in their order."""

    title: str
    column: str
    expected: float | None
    condition: Condition | None
    by_site: tuple[Filled, ...]

    @property
    def is_given(self) -> bool:
        """Some centre has a value."""
        return any(filled.filled for filled in self.by_site)


def completeness(table: str, frame: pd.DataFrame, sites: Sequence[str]) -> list[FieldCompleteness]:
    """Every field of a table that uploads give, by centre; `frame` has a column `site`."""
    by_site = [frame[frame["site"] == site] for site in sites]
    return [
        FieldCompleteness(
            spec.title,
            name,
            expected_share(table, spec),
            condition_of(spec),
            tuple(
                _filled(rows, name, condition_of(spec), expected_share(table, spec))
                for rows in by_site
            ),
        )
        for name, spec in table_fields(table).items()
        if spec.upload
    ]  # fmt: skip


def _filled(
    rows: pd.DataFrame, column: str, condition: Condition | None, expected: float | None
) -> Filled:
    if condition:
        value = rows[condition.column]
        rows = rows[value.isin(condition.codes) if condition.codes else value.notna()]
    return Filled(len(rows), int(rows[column].notna().sum()), expected)
