"""Plants defects: spoils cells, and says of each what was done, which rule it breaks and where."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from sample_inputs.generator.grid import Grid, address
from sample_inputs.generator.records import Cell, Place, Record, Series, Written
from schemas.rules import RULES


@dataclass(frozen=True)
class Planted:
    """One defect. `what` says in words what was done; the place is that of the record's field,
    or `place` where the defect belongs to no record."""

    rule: str
    what: str
    record: Record | None = None
    field: str = ""
    place: Place | None = None

    @property
    def where(self) -> Place:
        if self.place is not None:
            return self.place
        if self.record is None:
            return Place("", "", "")
        return self.record.places[self.field or "patient_id"]


def spoil(
    record: Record, field: str, written: Written, rule: str, what: str,
    means: Mapping[str, object] | None = None,
) -> Planted:  # fmt: skip
    """Puts `written` into the cell of `field` and takes the rule's consequence.

    A value that the rule blanks is missing afterwards; one that it asks about means what it
    meant, or `means`.
    """
    old = record.cells.get(field, Cell(None))
    emptied: dict[str, object] = dict.fromkeys(old.means)
    action = RULES[rule].action
    kept = old.means if action == "ask" and rule != "value_missing" else emptied
    record.cells[field] = Cell(written, kept if means is None else means)
    if action == "hold":
        record.is_held = True
    elif action == "blank" and field in ("visit_date", "complication_date"):
        record.is_dated = False
    return Planted(rule, what, record, field)


def hold_row(record: Record, rule: str, what: str) -> Planted:
    """The row as a whole is kept out."""
    record.is_held = True
    return Planted(rule, what, record)


def hide_row(record: Record) -> Planted:
    """The row is hidden in its sheet."""
    record.is_hidden = True
    return Planted("row_hidden", "row hidden", record)


def respell(records: Iterable[Record], number: str) -> Planted:
    """The rows of one patient, in the order of their sheet, carry the number in another spelling;
    they are matched, and told once."""
    rows = list(records)
    for row in rows:
        row.cells["patient_id"] = Cell(number)
    what = "record number spelled unlike the operation's"
    return Planted("record_number_respelled", what, rows[0])


def leave_out(record: Record, field: str, word: Written = None) -> None:
    """The value was never known: the cell is empty or holds the centre's word for that."""
    record.cells[field] = Cell(word, dict.fromkeys(record.cells[field].means))


def without_visits(series: Series, operation: Record) -> Record:
    """Takes the operation's visits out of the follow-up sheet."""
    own = series.visits_of(operation)
    series.visits = [visit for visit in series.visits if visit not in own]
    return operation


def double(records: list[Record], record: Record, rule: str, what: str) -> Planted:
    """The same row is entered a second time, right below."""
    again = Record(record.kind, record.number, record.eye, record.on, record.since)
    again.cells, again.loose = dict(record.cells), dict(record.loose)
    records.insert(records.index(record) + 1, again)
    return hold_row(again, rule, what)


def blank_column(records: Iterable[Record], field: str) -> None:
    """A heading that cannot be found leaves the field missing on every row."""
    for record in records:
        if field in record.cells:
            cell = record.cells[field]
            record.cells[field] = Cell(cell.written, dict.fromkeys(cell.means))


def footer(
    grid: Grid, file_name: str, row: int, values: Mapping[int, Written], what: str
) -> Planted:
    """A line below the table that is no record; `values` by column."""
    for column, value in values.items():
        grid.put(row, column, value)
    place = Place(file_name, grid.name, address(row, min(values)))
    return Planted("row_left_out", what, place=place)
