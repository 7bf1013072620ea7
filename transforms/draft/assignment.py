"""One field for each column, one column for each field: the surest candidates go first."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from transforms.draft.candidates import UNSETTLED, Candidate
from transforms.draft.found_tables import FoundTable
from transforms.visit_time import VisitTime

# Two candidates nearer than this are as good as each other.
AS_GOOD = 0.02

Place = tuple[tuple[str | None, VisitTime | None], str, str]


def assign(found: Iterable[Candidate], table: FoundTable) -> dict[int, Candidate]:
    """Gives each column, by number, at most one field, and each field of a block one column.

    The surest candidate goes first; of equals the one whose heading says more. Where another
    column is as good for the field, or the heading stands twice, the choice is no more than likely.
    """
    ranked = sorted(found, key=lambda c: (-round(c.confidence, 2), -len(c.words), c.column.number))
    chosen: dict[int, Candidate] = {}
    taken: dict[Place, Candidate] = {}
    for candidate in ranked:
        place = (candidate.block, candidate.kind, candidate.field)
        if candidate.column.number in chosen:
            continue
        if place in taken:
            _doubt(chosen, taken, place, candidate)
            continue
        if table.is_doubled(candidate.column.number):
            candidate = _unsettled(candidate, "another column has the same heading: rename one")  # noqa: PLW2901
        chosen[candidate.column.number] = candidate
        taken[place] = candidate
    return chosen


def _doubt(
    chosen: dict[int, Candidate], taken: dict[Place, Candidate], place: Place, other: Candidate
) -> None:
    """Lowers what was chosen for a field where another column says it as plainly."""
    first = taken[place]
    says_more = first.words > other.words  # "date of surgery" beside "date"
    is_same = first.column.heading == other.column.heading
    if says_more or is_same or first.confidence - other.confidence > AS_GOOD:
        return
    doubted = _unsettled(first, f"'{other.column.heading}' fits as well: choose one")
    chosen[first.column.number] = taken[place] = doubted


def _unsettled(candidate: Candidate, reason: str) -> Candidate:
    return replace(
        candidate, confidence=min(candidate.confidence, UNSETTLED),
        reason=f"{candidate.reason}; {reason}",
    )  # fmt: skip
