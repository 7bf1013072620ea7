"""Choosing records by place, the same ones in both weeks; and giving rows their visits."""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator

from sample_inputs.generator.records import WEEKS, Record, Series


def numbers(rng: random.Random, pattern: str, low: int, high: int) -> Iterator[str]:
    """Record numbers of one centre, each once."""
    return (pattern.format(n) for n in rng.sample(range(low, high), 400))


def seen_at(series: Series, window: str, place: int) -> Record:
    """The visit of a window at a place (from 0) among those that week one knows."""
    return [v for v in series.visits if v.window == window and v.since == WEEKS[0]][place]


def that_mean(records: Iterable[Record], **codes: object) -> list[Record]:
    """Records whose cells mean all these values, by warehouse column."""
    return [
        record for record in records
        if all(
            any(cell.means.get(name) == code for cell in record.cells.values())
            for name, code in codes.items()
        )
    ]  # fmt: skip


def operated_in(series: Series, week: str) -> list[Record]:
    """The operations that a week brought."""
    return [record for record in series.operations if record.since == week]


def with_visits(
    operation: Record, series: Series, part: str = "operation", prefix: str = ""
) -> dict[str, Record]:
    """A row: the operation, and its visits by window."""
    visits = {f"{prefix}{v.window}": v for v in series.visits_of(operation) if v.window}
    return {part: operation, **visits}


def by_week(records: list[Record]) -> list[Record]:
    """Rows of the second week stand below those of the first."""
    return sorted(records, key=lambda record: record.since)
