"""Stretches of a sheet: the rows that belong to one table under one heading.

A sheet may hold several tables, side by side or one below the other, and a table may say its
headings again, at each page or year.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain

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

# A table of 5,000 rows with its headings on every page has 125 of them.
MOST_HEADINGS = 2_000

Rows = tuple[int, int]


@dataclass(frozen=True)
class Stretch:
    """A heading, and the rows below it and the columns that are the table's.

    `behind` is the column right behind its last heading, None where that is another table's. `rows`
    has the first and last row of each part; a part ends where the heading is said again,
    `said_again` has the last row of each of these. A heading that is said again in another order of
    columns begins a stretch of its own, in which `is_repeat` is true.
    """

    heading: Heading
    rows: tuple[Rows, ...]
    columns: tuple[int, ...]
    behind: int | None
    said_again: tuple[int, ...]
    is_repeat: bool


@dataclass(frozen=True)
class _Span:
    """A heading with the first and last column that its table's crosswalk names."""

    heading: Heading
    columns: tuple[int, int]


def stretches_of(sheet: Sheet, tables: Sequence[SheetTable]) -> list[list[Stretch]]:
    """The stretches of each of the tables that stand in a sheet, from top to bottom.

    A table ends where the heading of another one begins below it, in columns of its own; columns
    between the headings of its row are its, except those of a table beside it. Raises
    UnreadableUpload where none of a table's headings is there.
    """
    spans = [_spans_of(sheet, table) for table in tables]
    begins: dict[tuple[int, int], list[int]] = {}
    for span in chain.from_iterable(spans):
        begins.setdefault(span.columns, []).append(span.heading.first_row)
    for first_rows in begins.values():
        first_rows.sort()
    bottom = len(sheet.values.index)
    return [_stretches(of_table, begins, bottom) for of_table in spans]


def _stretches(
    spans: Sequence[_Span], begins: Mapping[tuple[int, int], list[int]], bottom: int
) -> list[Stretch]:
    """The stretches of one table; `begins` has the first rows of all headings by their columns."""
    stretches: list[Stretch] = []
    for span in spans:
        heading = span.heading
        rows = (heading.last_row + 1, _end(span, begins, bottom))
        columns, behind = _columns(span, begins)
        above = stretches[-1] if stretches else None
        said_again = (heading.last_row,) if above else ()
        if above and (above.heading.texts, above.columns) == (heading.texts, columns):
            stretches[-1] = replace(
                above, rows=(*above.rows, rows), said_again=above.said_again + said_again
            )
        else:
            stretches.append(
                Stretch(heading, (rows,), columns, behind, said_again, bool(stretches))
            )
    return stretches


def _spans_of(sheet: Sheet, table: SheetTable) -> list[_Span]:
    wanted = {heading_form(text) for text in headings_of(blocks_of(table))}
    spans = []
    for heading in _headings_of(sheet, table):
        columns = heading.matched(wanted) or sorted(heading.texts) or [0]
        spans.append(_Span(heading, (columns[0], columns[-1])))
    if len(spans) > MOST_HEADINGS:
        raise UnreadableUpload(
            f"{table.sheet_in_words}: the headings stand more than {MOST_HEADINGS:,} times; "
            "keep them at the top of the table, or at the top of each page"
        )
    return spans


def _headings_of(sheet: Sheet, table: SheetTable) -> list[Heading]:
    wanted = headings_of(blocks_of(table))
    found = find_heading(sheet, wanted)
    if table.header is not None:
        named = read_heading(sheet, table.header)
        _refuse_moved(table, named, found, {heading_form(text) for text in wanted})
        found = named
    if found is None:
        raise UnreadableUpload(
            f"{table.sheet_in_words}: none of the crosswalk's headings is there; "
            "send the sheet as before, or change the crosswalk"
        )
    return [found, *repeats_of(sheet, found, wanted, MOST_HEADINGS)]


def _refuse_moved(
    table: SheetTable, named: Heading, found: Heading | None, wanted: Collection[str]
) -> None:
    """Raise where more of the headings stand in other rows than those that the crosswalk names."""
    if found is None or len(found.matched(wanted)) <= len(named.matched(wanted)):
        return
    raise UnreadableUpload(
        f"{table.sheet_in_words}: the headings stand in row {found.last_row}, where the crosswalk "
        f"names row {named.last_row}; move them back, or change the crosswalk's header (left out, "
        "they are looked for)"
    )


def _meet(one: tuple[int, int], other: tuple[int, int]) -> bool:
    return one[0] <= other[1] and other[0] <= one[1]


def _end(span: _Span, begins: Mapping[tuple[int, int], list[int]], bottom: int) -> int:
    below = [bottom]
    for columns, first_rows in begins.items():
        following = bisect_right(first_rows, span.heading.last_row)
        if following < len(first_rows) and _meet(span.columns, columns):
            below.append(first_rows[following] - 1)
    return min(below)


def _columns(span: _Span, others: Iterable[tuple[int, int]]) -> tuple[tuple[int, ...], int | None]:
    """The columns of a table, and the one right behind its last heading if it is no other's."""
    beside = {
        column
        for first, last in others
        if not _meet(span.columns, (first, last))
        for column in range(first, last + 1)
    }
    own = [column for column in span.heading.texts if column not in beside]
    between = range(min(own, default=1), max(own, default=0) + 1)
    behind = max(own, default=0) + 1
    columns = tuple(column for column in between if column not in beside)
    return columns, None if behind in beside else behind
