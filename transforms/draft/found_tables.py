"""Tables in the sheets of a workbook: where their headings stand, and which rows are records."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from statistics import median

from transforms.draft.heading_fields import is_heading
from transforms.layout.headings import DEEPEST_TITLES, TALLEST_HEADING, Heading, HeadingRows
from transforms.layout.unit_row import unit_row
from transforms.reading import Sheet, cell_text

# A sheet has a table where at least so many different headings are known, and this share of all
# headings there: rows of records hold words that may stand over a column, too.
FEWEST_KNOWN_HEADINGS = 3
KNOWN_OF_A_HEADING = 0.4
# A row is a record when it has this share of the cells that rows of its table usually have.
FILLED_OF_A_RECORD = 0.4


@dataclass(frozen=True)
class FoundTable:
    """One table: its headings by sheet column, what a row of units says of them, and its rows."""

    file: str
    sheet: Sheet
    is_text_file: bool
    heading: Heading
    rows: list[int]
    said_below: dict[int, str] = field(default_factory=dict)

    def cells(self, column: int) -> list[object]:
        """The cells of one column, from top to bottom."""
        return list(self.sheet.values.loc[self.rows, column])

    def is_doubled(self, column: int) -> bool:
        """True where another column of the table has the same heading."""
        return len(self.heading.columns_of(self.heading.texts[column])) > 1


def find_tables(file: str, sheet: Sheet, *, is_text_file: bool) -> list[FoundTable]:
    """The tables of a sheet, from top to bottom and from left to right.

    A heading that is said again, at a page break, begins no new table.
    """
    rows = HeadingRows(sheet)
    headings: list[Heading] = []
    begin = 0
    while (heading := _find_heading(sheet, rows, begin)) is not None:
        if not headings or _known(heading) != _known(headings[-1]):
            headings.append(heading)
        begin = heading.last_row
    if not headings:
        return []
    ends = [*(heading.first_row for heading in headings[1:]), len(sheet.values) + 1]
    return [
        _table(file, sheet, part, end, is_text_file=is_text_file)
        for heading, end in zip(headings, ends, strict=True)
        for part in _side_by_side(heading)
    ]


def _table(
    file: str, sheet: Sheet, heading: Heading, end: int, *, is_text_file: bool
) -> FoundTable:
    columns = list(heading.texts)
    body = sheet.values.loc[
        (sheet.values.index > heading.last_row) & (sheet.values.index < end), columns
    ]
    units = unit_row(body)
    said = {column: cell_text(body.at[units, column]) for column in columns if units is not None}
    filled = body.notna().sum(axis=1)
    filled = filled[(filled > 0) & (filled.index != units)]
    enough = max(2.0, FILLED_OF_A_RECORD * median(filled)) if len(filled) else 0.0
    rows = [
        int(str(row)) for row in filled.index[filled >= enough]
        if not _repeats(sheet, int(str(row)), heading)
    ]  # fmt: skip
    return FoundTable(file, sheet, is_text_file, heading, rows, said)


def _find_heading(sheet: Sheet, rows: HeadingRows, begin: int) -> Heading | None:
    """The rows below `begin` in which most different headings are known; of equals the fewest, then
    the highest. Below the first table, the first place that has enough.
    """
    best: tuple[int, int, int] | None = None
    found: Heading | None = None
    for last in _possible_rows(sheet, begin):
        for heading in _headings_to(rows, last, begin):
            known = len(_known(heading))
            rank = (known, heading.first_row - heading.last_row, -heading.first_row)
            is_enough = known >= max(FEWEST_KNOWN_HEADINGS, KNOWN_OF_A_HEADING * len(heading.texts))
            if is_enough and (best is None or rank > best):
                best, found = rank, heading
        if begin and found is not None:
            break
    return found


def _headings_to(rows: HeadingRows, last: int, begin: int) -> Iterator[Heading]:
    """The headings that end in a row and begin below `begin`; names of groups that stand over their
    first column alone are counted on to the right in some.
    """
    for height in range(1, min(TALLEST_HEADING, last - begin) + 1):
        heading = rows.heading(range(last - height + 1, last + 1))
        yield heading
        if heading.spread:
            yield replace(heading, texts=heading.spread)


def _possible_rows(sheet: Sheet, begin: int) -> list[int]:
    """Rows with two texts or more: for the first table not far down, for others texts alone."""
    cells = sheet.values.loc[sheet.values.index > begin]
    cells = cells if begin else cells.iloc[:DEEPEST_TITLES]
    texts = cells.map(lambda value: isinstance(value, str) and not value[:1].isdigit()).sum(axis=1)
    enough = texts >= FEWEST_KNOWN_HEADINGS - 1
    if begin:
        enough &= texts == cells.notna().sum(axis=1)
    return [int(str(row)) for row in cells.index[enough]]


def _side_by_side(heading: Heading) -> list[Heading]:
    """The parts of a heading between empty columns, where one says headings of another again."""
    runs: list[dict[int, str]] = []
    for column, text in sorted(heading.texts.items()):
        if not runs or column - max(runs[-1]) > 1:
            runs.append({})
        runs[-1][column] = text
    tables = [run for run in runs if sum(map(is_heading, run.values())) >= FEWEST_KNOWN_HEADINGS]
    repeated = len(tables) > 1 and set(tables[0].values()) & set(tables[1].values())
    return [replace(heading, texts=run, spread={}) for run in tables] if repeated else [heading]


def _known(heading: Heading) -> frozenset[str]:
    return frozenset(text for text in heading.texts.values() if is_heading(text))


def _repeats(sheet: Sheet, row: int, heading: Heading) -> bool:
    """True for headings that are repeated at a page break."""
    cells = {column: cell_text(sheet.values.at[row, column]).strip() for column in heading.texts}
    same = sum(
        cell != "" and heading.texts[column].endswith(cell) for column, cell in cells.items()
    )
    return same >= max(2, len(cells) // 2)
