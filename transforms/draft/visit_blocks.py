"""Visits in the columns of an operation's row: which window of the study each block belongs to."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace

from schemas.visit_names import BASELINE, UNSCHEDULED, Windows
from transforms.draft.proposal import Line, VisitProposal
from transforms.visit_time import VisitTime, window_of_time

Block = tuple[str | None, VisitTime | None]


def visit_blocks(
    blocks: Mapping[Block, list[Line]], eye: str | None, windows: Windows
) -> list[VisitProposal]:
    """The visits of an eye, those before the operation first, then by time.

    Where two blocks fall into one window, neither is given it.
    """
    times = [time for side, time in blocks if side == eye and time is not None]
    times.sort(key=lambda time: (not time.is_baseline, time.days or float("inf"), time.label))
    proposals = [_visit(time, blocks[(eye, time)], windows) for time in times]
    doubled = Counter(visit.at for visit in proposals)
    return [
        replace(visit, at=None, reason=f"{visit.reason}, as does another block: choose one")
        if visit.at and doubled[visit.at] > 1 else visit
        for visit in proposals
    ]  # fmt: skip


def _visit(time: VisitTime, lines: list[Line], windows: Windows) -> VisitProposal:
    at, reason = _window(time, windows)
    has_date = any(line.field == "visit_date" and line.is_certain for line in lines)
    if at is None:
        reason += "; its date says when" if has_date else "; name a window with at, or a date"
    return VisitProposal(at, f"headings say {reason}", lines)


def _window(time: VisitTime, windows: Windows) -> tuple[str | None, str]:
    if time.is_baseline:
        return BASELINE, "before the operation"
    if time.days is None:
        return None, time.label
    day = round(time.days)
    at = window_of_time(time, windows)
    if at == UNSCHEDULED:
        return None, f"{time.label}, day {day}, which no window of the study holds"
    return at, f"{time.label}, day {day}, which window {at} holds"
