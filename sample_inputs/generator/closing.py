"""How holes ended, from the graded scans of a series: primary and final closure, and reopening."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sample_inputs.generator.records import Record, Series
from sample_inputs.generator.windows import WINDOWS, window_of
from sample_inputs.generator.worked_out import TruthRow

PRIMARY, PRIMARY_TARGET = "m3", 90
NOT_GRADED = ("not_gradable", "not_done")


@dataclass(frozen=True)
class _Scan:
    """A scan after an operation: days after it, window, the visit's date and what it showed."""

    day: int
    window: str
    on: date
    is_dated: bool
    state: str

    @property
    def is_graded(self) -> bool:
        return self.state not in NOT_GRADED

    @property
    def is_closed(self) -> bool:
        return self.state.startswith("closed_")


def ending(series: Series, operation: Record, further: list[date]) -> TruthRow:
    """The columns of closure; `further` are the days of later operations on the same eye."""
    scans = _scans(series, operation)
    own = [scan for scan in scans if all(scan.on < on for on in further)]
    last = max(scans, key=lambda scan: (scan.is_graded, scan.day), default=None)
    return {
        **_primary_closure(own, operation, further),
        **_closure_columns("final_closure", last),
        **_reopening([scan for scan in own if scan.is_graded]),
    }


def _scans(series: Series, operation: Record) -> list[_Scan]:
    found = []
    for visit in series.visits_of(operation):
        state = visit.means().get("closure")
        if visit.is_held or state is None:
            continue
        day = (visit.on - operation.on).days
        window = window_of(day) if visit.is_dated else str(visit.window)
        if day > 0 and window != "baseline":
            found.append(_Scan(day, window, visit.on, visit.is_dated, str(state)))
    return found


def _closure_columns(name: str, scan: _Scan | None) -> TruthRow:
    """The state, the reason where there is none, and the two verdicts on it."""
    state = scan.state if scan is not None else None
    is_graded = scan is not None and scan.is_graded
    is_closed = scan is not None and scan.is_closed
    return {
        name: state,
        f"{name}_strict": is_closed if is_graded else None,
        f"{name}_broad": is_closed or state == "flat_open" if is_graded else None,
    }


def _primary_closure(own: list[_Scan], operation: Record, further: list[date]) -> TruthRow:
    """The graded scan nearest the window's target, before any further operation of the eye.

    Where a further operation came before the window gave one, the first operation has failed.
    """
    at_window = [scan for scan in own if scan.window == PRIMARY]
    nearest = min(
        at_window,
        key=lambda scan: (not scan.is_graded, abs(scan.day - PRIMARY_TARGET), scan.day),
        default=None,
    )
    _, window_ends = WINDOWS[PRIMARY]
    has_failed = any((on - operation.on).days <= window_ends for on in further)
    if has_failed and (nearest is None or not nearest.is_graded):
        return {"primary_closure": None, "primary_closure_strict": False,
                "primary_closure_broad": False}  # fmt: skip
    return _closure_columns("primary_closure", nearest)


def _reopening(graded: list[_Scan]) -> TruthRow:
    """Whether a scan before any further operation was not closed after one that was, and when."""
    if not graded:
        return {"reopened": None, "reopened_day": None}
    ordered = sorted(graded, key=lambda scan: scan.day)
    closed = [place for place, scan in enumerate(ordered) if scan.is_closed]
    later = ordered[closed[0] :] if closed else []
    again = next((scan for scan in later if not scan.is_closed), None)
    return {
        "reopened": again is not None,
        "reopened_day": again.day if again is not None and again.is_dated else None,
    }
