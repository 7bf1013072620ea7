"""Records as a centre means them: what stands in each cell, and what the warehouse must make of it.

A cell carries both, side by side, so that the truth never passes through the tool that it checks.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

Kind = Literal["operation", "visit", "complication"]
WEEKS = ("2026-W46", "2026-W47")
# The day on which the centres close their spreadsheets in each week.
CLOSES = {"2026-W46": date(2026, 11, 11), "2026-W47": date(2026, 11, 18)}


@dataclass(frozen=True)
class ErrorValue:
    """A spreadsheet's own error, as `#DIV/0!`."""

    text: str


@dataclass(frozen=True)
class Formula:
    """A formula whose result the file does not hold, as programs leave it that do not calculate."""

    text: str


Written = str | int | float | date | ErrorValue | Formula | None


@dataclass
class Cell:
    """`written` as it stands in the sheet; `means` the warehouse columns that it gives.

    A constant stands in the crosswalk instead of a sheet.
    """

    written: Written
    means: Mapping[str, object] = field(default_factory=dict)
    is_constant: bool = False


@dataclass(frozen=True)
class Place:
    """An address in an upload."""

    file: str
    sheet: str
    cell: str


@dataclass(eq=False)
class Record:
    """One operation, visit or complication, and the day on which it happened.

    `window` names the window that the sheet gives the visit, where one does; `places` is filled
    when the sheets are laid out.
    """

    kind: Kind
    number: str
    eye: str
    on: date
    since: str
    window: str | None = None
    is_dated: bool = True
    is_held: bool = False
    is_hidden: bool = False
    cells: dict[str, Cell] = field(default_factory=dict)
    loose: dict[str, Written] = field(default_factory=dict)
    places: dict[str, Place] = field(default_factory=dict)

    def means(self) -> dict[str, object]:
        """Columns that the record's own cells give: those of the cells that stand in a sheet."""
        return {
            name: value
            for field, cell in self.cells.items()
            if field in self.places or cell.is_constant
            for name, value in cell.means.items()
        }

    def is_of_same_eye(self, other: Record) -> bool:
        """True where both records are about one eye of one patient."""
        return (self.number, self.eye) == (other.number, other.eye)


@dataclass
class Series:
    """All records of one centre in one week, in the order of its sheets."""

    operations: list[Record]
    visits: list[Record]
    complications: list[Record] = field(default_factory=list)

    @property
    def records(self) -> list[Record]:
        return [*self.operations, *self.visits, *self.complications]

    def visits_of(self, operation: Record) -> list[Record]:
        """Visits of the operation's patient and eye."""
        return [visit for visit in self.visits if visit.is_of_same_eye(operation)]
