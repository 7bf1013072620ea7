"""What the warehouse must hold after a week, worked out from what the generator meant to write.

Nothing here reads a file or calls the tool: it is the other side of a comparison.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sample_inputs.generator import worked_out
from sample_inputs.generator.closing import ending
from sample_inputs.generator.records import Record, Series
from sample_inputs.generator.windows import window_of
from sample_inputs.generator.worked_out import TruthRow
from schemas.codebook import table_fields

KEYS = ("site", "record_number", "eye", "operation_ordinal")
# Codes that the warehouse makes at random: no truth can name them.
_RANDOM = ("operation_key", "patient_key", "surgeon_key", "visit_key", "complication_key")


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


def _keys(site: str, standing: Standing) -> TruthRow:
    return dict(zip(KEYS, (site, standing.record.number, standing.record.eye, standing.ordinal),
                    strict=True))  # fmt: skip


def _operation(site: str, series: Series, standing: Sequence[Standing], this: Standing) -> TruthRow:
    record = this.record
    row = _keys(site, this) | record.means()
    row |= {"operation_year": record.on.year, "eye_operation_number": this.ordinal}
    row["surgeon_case_number"] = _case_number(series, record)
    further = [
        other.record.on for other in standing
        if other.record.is_of_same_eye(record) and other.record.on > record.on
    ]  # fmt: skip
    return row | worked_out.of_operation(row) | ending(series, record, further)


def _case_number(series: Series, record: Record) -> int | None:
    surgeon = record.means().get("surgeon")
    if surgeon is None:
        return None
    own = [o for o in series.operations if not o.is_held and o.means().get("surgeon") == surgeon]
    return sorted(own, key=lambda o: o.on).index(record) + 1


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
    window = window_of(day) if day is not None else visit.window
    row = _keys(site, operation) | {"day": day, "visit": window} | visit.means()
    return row | worked_out.of_visit(row)


def _complication(
    site: str, series: Series, standing: Sequence[Standing], event: Record
) -> TruthRow | None:
    operation = _hanging_on(standing, event)
    if event.is_held or operation is None:
        return None
    day = (event.on - operation.record.on).days if event.is_dated else None
    return _keys(site, operation) | {"day": day} | event.means()
