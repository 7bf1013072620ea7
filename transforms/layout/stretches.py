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
    """A heading and the rows below it, as far as they are the table's; `is_repeat` where the
    heading stood above before."""

    heading: Heading
    last_row: int
    is_repeat: bool


def stretches_of(sheet: Sheet, tables: Sequence[SheetTable]) -> list[list[Stretch]]:
    """The stretches of each of the tables that stand in a sheet, from top to bottom.

    A table ends where the heading of another one begins below it, in columns of its own. Raises
    UnreadableUpload where none of a table's headings is there.
    """
    headings = [_headings_of(sheet, table) for table in tables]
    spans = [
        [_span(heading, table) for heading in of_table]
        for of_table, table in zip(headings, tables, strict=True)
    ]
    every = [
        (heading, span)
        for of_table, of_spans in zip(headings, spans, strict=True)
        for heading, span in zip(of_table, of_spans, strict=True)
    ]
    bottom = len(sheet.values.index)
    return [
        [
            Stretch(heading, _end(heading, span, every, bottom), is_repeat=place > 0)
            for place, (heading, span) in enumerate(zip(of_table, of_spans, strict=True))
        ]
        for of_table, of_spans in zip(headings, spans, strict=True)
    ]


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


def _span(heading: Heading, table: SheetTable) -> tuple[int, int]:
    """First and last column of the table."""
    forms = {heading_form(text) for text in headings_of(blocks_of(table))}
    columns = heading.matched(forms)
    return (columns[0], columns[-1]) if columns else (0, -1)


def _end(
    heading: Heading,
    span: tuple[int, int],
    others: Sequence[tuple[Heading, tuple[int, int]]],
    bottom: int,
) -> int:
    below = [
        other.first_row - 1
        for other, (first, last) in others
        if other.first_row > heading.last_row and first <= span[1] and last >= span[0]
    ]
    return min(below, default=bottom)
