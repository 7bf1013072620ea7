"""Heading rows of a table: finding them, joining them, matching them to a crosswalk."""

from __future__ import annotations

import unicodedata
from collections.abc import Collection
from dataclasses import dataclass
from difflib import get_close_matches

from transforms.reading import Sheet, cell_text

DEEPEST_FIRST_ROW = 60
TALLEST_HEADING = 3


def heading_form(text: str) -> str:
    """The form in which headings are compared: NFKC, no case, single spaces."""
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())


@dataclass(frozen=True)
class Heading:
    """The headings of a table by sheet column, and the last row they take up."""

    texts: dict[int, str]
    first_row: int
    last_row: int

    def columns_of(self, heading: str) -> list[int]:
        """Columns that carry this heading."""
        wanted = heading_form(heading)
        return [column for column, text in self.texts.items() if heading_form(text) == wanted]

    def nearest_to(self, heading: str, taken: Collection[str]) -> list[str]:
        """Up to three headings that look like `heading` and that no field is read from."""
        free = {heading_form(text): text for text in self.texts.values()}
        for name in taken:
            free.pop(heading_form(name), None)
        close = get_close_matches(heading_form(heading), list(free), n=3, cutoff=0.5)
        return [free[form] for form in close]


def read_heading(sheet: Sheet, rows: tuple[int, ...]) -> Heading:
    """Headings in the given rows, joined top to bottom with a space.

    A merged cell counts for every column it spans.
    """
    texts: dict[int, str] = {}
    for row in rows:
        for column, text in _row_texts(sheet, row).items():
            texts[column] = f"{texts[column]} {text}" if column in texts else text
    return Heading(texts, rows[0], rows[-1])


def _row_texts(sheet: Sheet, row: int) -> dict[int, str]:
    if row not in sheet.values.index:
        return {}
    texts = {
        int(str(column)): " ".join(cell_text(value).split())
        for column, value in zip(sheet.values.columns, sheet.values.loc[row], strict=True)
        if value is not None and cell_text(value).strip()
    }
    for first_row, first_column, last_row, last_column in sheet.merged:
        if first_row <= row <= last_row and first_column in texts and row == first_row:
            texts |= dict.fromkeys(range(first_column, last_column + 1), texts[first_column])
    return texts


def find_heading(sheet: Sheet, wanted: Collection[str]) -> Heading | None:
    """The one to three rows in which most of the `wanted` headings stand, or None if none do.

    Of equally good places the one with fewest rows, then the highest, is taken.
    """
    forms = {heading_form(heading) for heading in wanted}
    best: tuple[int, int, int] | None = None
    found: Heading | None = None
    rows = [int(row) for row in sheet.values.index if row <= DEEPEST_FIRST_ROW]
    for first in rows:
        for height in range(1, TALLEST_HEADING + 1):
            heading = read_heading(sheet, tuple(range(first, first + height)))
            matched = len(forms & {heading_form(text) for text in heading.texts.values()})
            rank = (matched, -height, -first)
            if matched and (best is None or rank > best):
                best, found = rank, heading
    return found
