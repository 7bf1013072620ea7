"""Stretches of a sheet: the rows that belong to one table under one heading.

A sheet may hold several tables, side by side or one below the other, and a table may say its
headings again, at each page or year.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from schemas.crosswalk import SheetTable
from transforms.layout.blocks import blocks_of, headings_of
from transforms.layout.headings import (
    Heading,
    find_heading,
    heading_form,
    read_heading,
    repeats_of,
)
from transforms.reading import Sheet, UnreadableUpload


@dataclass(frozen=True)
class Stretch:
    """A heading, and the rows below it and the columns that are the table's.

    `is_repeat` where the table's heading stood above before.
    """

    heading: Heading
    last_row: int
    columns: tuple[int, ...]
    is_repeat: bool


@dataclass(frozen=True)
class _Span:
    """A heading with the first and last column that its table's crosswalk names."""

    heading: Heading
    first: int
    last: int

    def meets(self, other: _Span) -> bool:
        return self.first <= other.last and other.first <= self.last

    @property
    def columns(self) -> range:
        return range(self.first, self.last + 1)


def stretches_of(sheet: Sheet, tables: Sequence[SheetTable]) -> list[list[Stretch]]:
    """The stretches of each of the tables that stand in a sheet, from top to bottom.

    A table ends where the heading of another one begins below it, in columns of its own; columns
    between the headings of its row are its, except those of a table beside it. Raises
    UnreadableUpload where none of a table's headings is there.
    """
    spans = [_spans_of(sheet, table) for table in tables]
    every = [span for of_table in spans for span in of_table]
    bottom = len(sheet.values.index)
    return [
        [
            Stretch(span.heading, _end(span, every, bottom), _columns(span, every), place > 0)
            for place, span in enumerate(of_table)
        ]
        for of_table in spans
    ]


def _spans_of(sheet: Sheet, table: SheetTable) -> list[_Span]:
    wanted = {heading_form(text) for text in headings_of(blocks_of(table))}
    spans = []
    for heading in _headings_of(sheet, table):
        columns = heading.matched(wanted) or sorted(heading.texts)
        spans.append(_Span(heading, columns[0], columns[-1]) if columns else _Span(heading, 1, 0))
    return spans


def _headings_of(sheet: Sheet, table: SheetTable) -> list[Heading]:
    wanted = headings_of(blocks_of(table))
    if table.header is not None:
        heading = read_heading(sheet, table.header)
        return [heading, *repeats_of(sheet, heading, wanted)]
    found = find_heading(sheet, wanted)
    if found is None:
        raise UnreadableUpload(
            f"sheet '{sheet.name}': none of the crosswalk's headings is there; "
            "send the sheet as before, or change the crosswalk"
        )
    return [found, *repeats_of(sheet, found, wanted)]


def _end(span: _Span, every: Sequence[_Span], bottom: int) -> int:
    below = [
        other.heading.first_row - 1
        for other in every
        if other.heading.first_row > span.heading.last_row and span.meets(other)
    ]
    return min(below, default=bottom)


def _columns(span: _Span, every: Sequence[_Span]) -> tuple[int, ...]:
    beside = {column for other in every if not span.meets(other) for column in other.columns}
    own = range(min(span.heading.texts, default=1), max(span.heading.texts, default=0) + 1)
    return tuple(column for column in own if column not in beside)
