"""Heading rows of a table: finding them, joining them, matching them to a crosswalk."""

from __future__ import annotations

import unicodedata
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from functools import lru_cache

from transforms.reading import Sheet, cell_text

# Titles, an address, a logo's rows above a table reach at most so far down.
DEEPEST_TITLES = 60
TALLEST_HEADING = 3
# The last group of an upper heading row reaches at most so many columns on.
WIDEST_GROUP = 30
# A later row repeats a heading when it holds this share of the headings found there, and two.
REPEATED_SHARE = 0.6


@lru_cache(maxsize=50_000)
def heading_form(text: str) -> str:
    """The form in which headings are compared: NFKC, no case, single spaces, nothing unseen."""
    plain = unicodedata.normalize("NFKC", text).casefold()
    return " ".join("".join(char for char in plain if unicodedata.category(char) != "Cf").split())


@dataclass(frozen=True)
class Heading:
    """The headings of a table by sheet column, and the rows they take up.

    `spread` has them once more with every upper heading counted on to the right until the next one,
    as people write the name of a group over its first column alone.
    """

    texts: dict[int, str]
    first_row: int
    last_row: int
    spread: dict[int, str] = field(default_factory=dict)

    def columns_of(self, heading: str) -> list[int]:
        """Columns that carry this heading."""
        wanted = heading_form(heading)
        for texts in (self.texts, self.spread):
            if found := [c for c, text in texts.items() if heading_form(text) == wanted]:
                return found
        return []

    def matched(self, wanted: Collection[str]) -> list[int]:
        """Columns under headings of the given forms, from left to right."""
        found = {
            column
            for texts in (self.texts, self.spread)
            for column, text in texts.items()
            if heading_form(text) in wanted
        }
        return sorted(found)

    def nearest_to(self, heading: str, taken: Collection[str]) -> list[str]:
        """Up to three headings that look like `heading` and that no field is read from."""
        free = {heading_form(text): text for text in self.texts.values()}
        for name in taken:
            free.pop(heading_form(name), None)
        close = get_close_matches(heading_form(heading), list(free), n=3, cutoff=0.5)
        return [free[form] for form in close]


class HeadingRows:
    """The texts of a sheet's rows, each row taken once."""

    def __init__(self, sheet: Sheet) -> None:
        self._sheet = sheet
        self._texts: dict[int, dict[int, str]] = {}

    def texts(self, row: int) -> dict[int, str]:
        """Texts of a row by column; a merged cell counts for every column it spans."""
        if row not in self._texts:
            self._texts[row] = _row_texts(self._sheet, row)
        return self._texts[row]

    def heading(self, rows: Iterable[int]) -> Heading:
        """Headings in the given rows, joined top to bottom with a space."""
        numbers = tuple(rows)
        lines = [self.texts(row) for row in numbers]
        texts = _joined(lines)
        if len(lines) == 1:
            return Heading(texts, numbers[0], numbers[-1])
        spread = _joined([*map(_spread_right, lines[:-1]), lines[-1]])
        return Heading(texts, numbers[0], numbers[-1], {c: spread[c] for c in texts})

    def ending_in(self, wanted: Collection[str]) -> dict[int, int]:
        """Rows that may be the last of a heading, and how many wanted ones it can have at most:
        as many as cells of these rows end one."""
        endings = {form[at:] for form in wanted for at in _word_starts(form)}
        is_ending: dict[str, bool] = {}
        found: dict[int, int] = {}
        for row, cells in zip(self._sheet.values.index, self._sheet.values.to_numpy(), strict=True):
            count = 0
            for value in cells:
                if type(value) is not str:
                    if value is None or row > DEEPEST_TITLES:
                        continue
                    value = cell_text(value)  # noqa: PLW2901  a year may be a heading
                if value not in is_ending:
                    is_ending[value] = heading_form(value) in endings
                count += is_ending[value]
            if count:
                found[int(row)] = count
        heights = range(TALLEST_HEADING)
        return {row: sum(found.get(row - above, 0) for above in heights) for row in found}


def _word_starts(form: str) -> list[int]:
    return [0, *(at + 1 for at, char in enumerate(form) if char == " ")]


def _joined(lines: list[dict[int, str]]) -> dict[int, str]:
    texts: dict[int, str] = {}
    for line in lines:
        for column, text in line.items():
            texts[column] = f"{texts[column]} {text}" if column in texts else text
    return texts


def _spread_right(line: dict[int, str]) -> dict[int, str]:
    if not line:
        return {}
    spread: dict[int, str] = {}
    last = ""
    for column in range(min(line), max(line) + WIDEST_GROUP):
        last = line.get(column, last)
        spread[column] = last
    return spread


def _row_texts(sheet: Sheet, row: int) -> dict[int, str]:
    if row not in sheet.values.index:
        return {}
    texts = {
        int(str(column)): " ".join(cell_text(value).split())
        for column, value in zip(sheet.values.columns, sheet.values.loc[row], strict=True)
        if value is not None and cell_text(value).strip()
    }
    width = len(sheet.values.columns)
    for first_row, first_column, _, last_column in sheet.merged:
        if first_row == row and first_column in texts:
            columns = range(first_column, min(last_column, width) + 1)
            texts |= dict.fromkeys(columns, texts[first_column])
    return texts


def read_heading(sheet: Sheet, rows: tuple[int, ...]) -> Heading:
    """Headings in the given rows of a sheet, see `HeadingRows.heading`."""
    return HeadingRows(sheet).heading(rows)


def find_heading(sheet: Sheet, wanted: Collection[str]) -> Heading | None:
    """The one to three rows in which most of the `wanted` headings stand, or None if none do.

    Of equally good places the one with fewest rows, then the highest, is taken.
    """
    forms = {heading_form(heading) for heading in wanted}
    rows = HeadingRows(sheet)
    best: tuple[int, int, int] = (0, 0, 0)
    found: Heading | None = None
    most = rows.ending_in(forms)
    for last in sorted(most, key=lambda row: (-most[row], row)):
        if most[last] < best[0]:
            break
        for height in range(1, min(TALLEST_HEADING, last) + 1):
            heading = rows.heading(range(last - height + 1, last + 1))
            matched = len(heading.matched(forms))
            rank = (matched, -height, -heading.first_row)
            if matched and rank > best:
                best, found = rank, heading
    return found


def repeats_of(
    sheet: Sheet, heading: Heading, wanted: Collection[str], most_repeats: int
) -> list[Heading]:
    """Later rows of the sheet that say most of a found heading again, from top to bottom; at most
    one more than `most_repeats`.

    A table goes on below each of them, in its own order of columns; where the last row of a taller
    heading is repeated alone, the columns are those of the heading itself.
    """
    rows = HeadingRows(sheet)
    forms = {heading_form(text) for text in wanted}
    enough = max(2, REPEATED_SHARE * len(heading.matched(forms)))
    repeats: list[Heading] = []
    for last, most in rows.ending_in(forms).items():
        taken = repeats[-1].last_row if repeats else heading.last_row
        if last <= taken or most < enough:
            continue
        if again := _said_again(rows, heading, forms, taken, last):
            repeats.append(again)
        if len(repeats) > most_repeats:
            break
    return repeats


def _said_again(
    rows: HeadingRows, heading: Heading, forms: Collection[str], taken: int, last: int
) -> Heading | None:
    """The heading that ends in row `last`, if it says most of `heading` again below row `taken`."""
    columns = heading.matched(forms)
    enough = max(2, REPEATED_SHARE * len(columns))
    height = heading.last_row - heading.first_row + 1
    if last - height >= taken:
        whole = rows.heading(range(last - height + 1, last + 1))
        if len(whole.matched(forms)) >= enough:
            return whole
    bottom, texts = rows.texts(heading.last_row), rows.texts(last)
    same = [
        column for column in columns if column in bottom and texts.get(column) == bottom[column]
    ]
    return replace(heading, first_row=last, last_row=last) if len(same) >= enough else None
