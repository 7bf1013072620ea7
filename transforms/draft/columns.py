"""A column of a table that is being drafted: its heading and its values."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from transforms.draft.column_values import ColumnValues
from transforms.draft.heading_parts import Parts, is_unit, unit_said, ways_to_read
from transforms.draft.notation_words import letters_at_distance, said_by


@dataclass(frozen=True)
class Column:
    """One column of a table: its heading, what a row of units says below it, and its values."""

    number: int
    heading: str
    said_below: str
    values: ColumnValues

    def ways_to_read(self, language: str, *, with_time: bool, with_eye: bool) -> Iterator[Parts]:
        """The ways in which the heading can be taken apart, with the notation that each says."""
        said = said_by(f"{self.heading} {self.said_below}")
        headings = [(self.heading, said)]
        if at_distance := letters_at_distance(self.heading):
            headings.append(at_distance)
        for heading, notation in headings:
            for parts in ways_to_read(heading, language, with_time=with_time, with_eye=with_eye):
                yield replace(parts, notation=notation)

    @property
    def unit_said(self) -> tuple[str | None, str]:
        """The unit that stands over the values, as written, and where it stands."""
        in_heading = unit_said(self.heading)
        return (in_heading, "heading") if in_heading else (self._unit_below, "row of units")

    @property
    def _unit_below(self) -> str | None:
        text = self.said_below.strip("()[] ")
        return text if is_unit(text) else None
