"""What the warehouse must hold after a week, worked out from what the generator meant to write.

Nothing here reads a file or calls the tool: it is the other side of a comparison.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sample_inputs.generator.records import Record, Series
from schemas.codebook import table_fields

WINDOWS = {
    "baseline": (-90, 0), "m1": (14, 59), "m3": (60, 135), "m6": (136, 270), "m12": (271, 545),
}  # fmt: skip
PRIMARY, PRIMARY_TARGET = "m3", 90
NOT_GRADED = (None, "not_gradable", "not_done")
KEYS = ("site", "record_number", "eye", "operation_ordinal")
# Codes that the warehouse makes at random: no truth can name them.
_RANDOM = ("operation_key", "patient_key", "surgeon_key", "visit_key", "complication_key")
TruthRow = dict[str, object]


def truth_columns(table: str) -> tuple[str, ...]:
    """Keys, then every column of the warehouse table that is not a random code."""
    own = [name for name in table_fields(table) if name not in (*_RANDOM, *KEYS)]
    return (*KEYS, *(("surgeon",) if table == "operations" else ()), *own)


@dataclass(frozen=True)
class Standing:
    """An operation that is in the pool, with its place among those of the eye."""

    record: Record
    ordinal: int


def _standing(series: Series) -> list[Standing]:
    found: list[Standing] = []
    taken = [record for record in series.operations if not record.is_held]
    for record in sorted(taken, key=lambda r: (r.number, r.eye, r.on)):
        before = sum(s.record.is_of_same_eye(record) for s in found)
        found.append(Standing(record, before + 1))
    return found


def truth_of_week(site: str, series: Series) -> dict[str, list[TruthRow]]:
    """Rows of the three record tables for one centre."""
    standing = _standing(series)
    return {
        "operations": [_operation(site, series, standing, this) for this in standing],
        "visits": [
            row for visit in series.visits if (row := _visit(site, series, standing, visit))
        ],
        "complications": [
            row for event in series.complications
            if (row := _complication(site, series, standing, event))
        ],
    }  # fmt: skip


def _mapped(record: Record) -> TruthRow:
    """Columns that the record's own cells give: those of the cells that stand in a sheet."""
    return {
        name: value
        for field, cell in record.cells.items()
        if field in record.places or cell.is_constant
        for name, value in cell.means.items()
    }


def _keys(site: str, standing: Standing) -> TruthRow:
    return dict(zip(KEYS, (site, standing.record.number, standing.record.eye, standing.ordinal),
                    strict=True))  # fmt: skip


def _operation(site: str, series: Series, standing: Sequence[Standing], this: Standing) -> TruthRow:
    record = this.record
    row = _keys(site, this) | _mapped(record)
    row |= {"operation_year": record.on.year, "eye_operation_number": this.ordinal}
    minimum, base, graft = (
        row.get(name)
        for name in ("hole_min_diameter_um", "hole_base_diameter_um", "graft_diameter_um")
    )
    row.setdefault("hole_size_class", _size_class(minimum))
    row.setdefault("hole_size_band", _size_band(minimum))
    row["graft_oversize_min_pct"] = _oversize(graft, minimum)
    row["graft_oversize_base_pct"] = _oversize(graft, base)
    row["surgeon_case_number"] = _case_number(series, record)
    return row | _primary_closure(series, standing, record) | _final_closure(series, record)


def _size_class(minimum: object) -> str | None:
    if not isinstance(minimum, float | int):
        return None
    return ("small_to_250" if minimum <= 250 else "medium_251_400" if minimum <= 400
            else "large_over_400")  # fmt: skip


def _size_band(minimum: object) -> str | None:
    if not isinstance(minimum, float | int):
        return None
    bands = ((400, "to_400"), (500, "401_500"), (650, "501_650"), (800, "651_800"))
    return next((band for edge, band in bands if minimum <= edge), "over_800")


def _oversize(graft: object, hole: object) -> float | None:
    if not isinstance(graft, float | int) or not isinstance(hole, float | int):
        return None
    return 100 * (graft / hole - 1)


def _case_number(series: Series, record: Record) -> int | None:
    surgeon = _mapped(record).get("surgeon")
    if surgeon is None:
        return None
    own = [o for o in series.operations if not o.is_held and _mapped(o).get("surgeon") == surgeon]
    return sorted(own, key=lambda o: o.on).index(record) + 1


def _graded(series: Series, operation: Record) -> list[tuple[int, str, Record, str]]:
    """Day, window, visit and state of every gradable scan after the operation."""
    found = []
    for visit in series.visits_of(operation):
        state = _mapped(visit).get("closure")
        if visit.is_held or state in NOT_GRADED:
            continue
        day = (visit.on - operation.on).days
        window = _window(day) if visit.is_dated else str(visit.window)
        if day > 0 and window != "baseline":
            found.append((day, window, visit, str(state)))
    return found


def _closure_columns(name: str, state: str | None) -> TruthRow:
    if state is None:
        return {name: None, f"{name}_strict": None, f"{name}_broad": None}
    is_closed = state.startswith("closed_")
    return {
        name: state,
        f"{name}_strict": is_closed,
        f"{name}_broad": is_closed or state == "flat_open",
    }


def _primary_closure(series: Series, standing: Sequence[Standing], operation: Record) -> TruthRow:
    """The graded scan nearest the window's target, before any further operation of the eye.

    Where a further operation came before the window gave one, the first operation has failed.
    """
    further = [
        other.record.on for other in standing
        if other.record.is_of_same_eye(operation) and other.record.on > operation.on
    ]  # fmt: skip
    at_window = [
        entry for entry in _graded(series, operation)
        if entry[1] == PRIMARY and all(entry[2].on < on for on in further)
    ]  # fmt: skip
    if at_window:
        nearest = min(at_window, key=lambda entry: (abs(entry[0] - PRIMARY_TARGET), entry[0]))
        return _closure_columns("primary_closure", nearest[3])
    _, window_ends = WINDOWS[PRIMARY]
    has_failed = any((on - operation.on).days <= window_ends for on in further)
    verdict = False if has_failed else None
    return {"primary_closure": None, "primary_closure_strict": verdict,
            "primary_closure_broad": verdict}  # fmt: skip


def _final_closure(series: Series, operation: Record) -> TruthRow:
    graded = _graded(series, operation)
    last = max(graded, key=lambda entry: entry[0])[3] if graded else None
    return _closure_columns("final_closure", last)


def _window(day: int) -> str:
    inside = (name for name, (start, end) in WINDOWS.items() if start <= day <= end)
    return next(inside, "unscheduled")


def _hanging_on(standing: Sequence[Standing], record: Record) -> Standing | None:
    """The latest operation of the eye on or before the day, else the eye's first one."""
    own = [s for s in standing if s.record.is_of_same_eye(record)]
    earlier = [s for s in own if s.record.on <= record.on]
    return earlier[-1] if earlier else own[0] if own else None


def _visit(
    site: str, series: Series, standing: Sequence[Standing], visit: Record
) -> TruthRow | None:
    operation = _hanging_on(standing, visit)
    if visit.is_held or operation is None:
        return None
    day = (visit.on - operation.record.on).days if visit.is_dated else None
    window = _window(day) if day is not None else visit.window
    return _keys(site, operation) | {"day": day, "visit": window} | _mapped(visit)


def _complication(
    site: str, series: Series, standing: Sequence[Standing], event: Record
) -> TruthRow | None:
    operation = _hanging_on(standing, event)
    if event.is_held or operation is None:
        return None
    day = (event.on - operation.record.on).days if event.is_dated else None
    return _keys(site, operation) | {"day": day} | _mapped(event)
