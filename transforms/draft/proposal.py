"""What a draft proposes, before it is written as TOML."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from schemas.crosswalk import DateOrder, Language, RowKind, Source
from schemas.decimal_mark import DecimalMark
from transforms.draft.habits import Told

# Lines at or above this confidence stand; below it they are comments.
CONFIDENCE_LIMIT = 0.8


@dataclass(frozen=True)
class Line:
    """One field of the crosswalk: its heading and details, how surely, and why."""

    field: str
    source: Source
    confidence: float
    reason: str

    @property
    def heading(self) -> str:
        return str(self.source.heading)

    @property
    def is_certain(self) -> bool:
        return self.confidence >= CONFIDENCE_LIMIT


@dataclass(frozen=True)
class VisitProposal:
    """One visit in the columns of an operation's row; `at` is None where only its date says when.

    `reason` says why `at` is what it is, or that the block has neither window nor date.
    """

    at: str | None
    reason: str
    lines: list[Line]

    @property
    def is_certain(self) -> bool:
        return any(line.is_certain for line in self.lines) and (
            self.at is not None
            or any(line.field == "visit_date" and line.is_certain for line in self.lines)
        )


@dataclass(frozen=True)
class EyeProposal:
    """One eye's operation, and its visits, in a row that holds both eyes.

    `has_date` where the date of operation is certain, for this eye or for both.
    """

    eye: str
    has_date: bool
    lines: list[Line]
    visits: list[VisitProposal]

    @property
    def is_certain(self) -> bool:
        return self.has_date


class PlacedLine(NamedTuple):
    """A line, the eye and the visit to whose block it belongs if any, and whether it stands."""

    eye: EyeProposal | None
    visit: VisitProposal | None
    line: Line
    stands: bool


@dataclass(frozen=True)
class TableProposal:
    """One table of a workbook.

    `file_pattern` is None where the file's name is not needed, or where no pattern tells it from
    the others (`is_file_known`). `unread` names headings, with their cell, that no field is read
    from; `lacking` needed fields without a certain line; `asked_for` and `possible` other fields of
    the codebook that no heading names, those that it asks for first.
    """

    file: str
    file_pattern: str | None
    is_file_known: bool
    sheet: str | None
    is_hidden: bool
    row: RowKind
    reason: str
    header: tuple[int, ...]
    lines: list[Line]
    visits: list[VisitProposal]
    eyes: list[EyeProposal]
    unread: list[tuple[str, str]]
    lacking: list[str]
    asked_for: list[str]
    possible: list[str]

    @property
    def is_certain(self) -> bool:
        return not self.lacking and self.is_file_known

    def placed(self) -> Iterator[PlacedLine]:
        """Every line: it stands where it, its visit, its eye and its table are certain."""
        for eye, visit, line in self._lines():
            around = (self, eye, visit)
            stands = line.is_certain and all(each is None or each.is_certain for each in around)
            yield PlacedLine(eye, visit, line, stands)

    def _lines(self) -> Iterator[tuple[EyeProposal | None, VisitProposal | None, Line]]:
        yield from ((None, None, line) for line in self.lines)
        yield from ((None, visit, line) for visit in self.visits for line in visit.lines)
        for eye in self.eyes:
            yield from ((eye, None, line) for line in eye.lines)
            yield from ((eye, visit, line) for visit in eye.visits for line in visit.lines)


@dataclass(frozen=True)
class Proposal:
    """A crosswalk for one centre; `other_sheets` holds no table that is known, with the reason."""

    site: str
    language: Told[Language]
    dates: Told[DateOrder]
    decimal: Told[DecimalMark]
    missing: dict[str, int]
    tables: list[TableProposal]
    other_sheets: list[tuple[str, str]]
