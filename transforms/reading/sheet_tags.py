"""Where the cells of a sheet's XML stand, found in bulk.

A sheet of 5,000 by 60 has 300,000 cells. An XML parser's event for each costs more than calamine
takes for all values, array arithmetic on the bytes a tenth of that.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transforms.reading.archive import DAMAGED
from transforms.reading.workbook import Cell, UnreadableUpload

PLACED_CELL = b'<c r="'
_AFTER_NAME = b" \t\r\n/>"
_STYLE = b' s="'
_TEXT = b' t="s">'
_LETTERS = 26
_LONGEST_COLUMN = 7
_LONGEST_ROW = 10  # digits; beyond any sheet, within 64 bits
_LONGEST_STYLE = 5
_STRETCH = 1 << 23

Positions = NDArray[np.int32]  # a part unpacks to no more than 300 MB


@dataclass(frozen=True)
class SheetTags:
    """The tags of a sheet, by the position of their opening bracket.

    `are_placed` tells whether every cell opens `<c r="`, as spreadsheet programs write it. A cell
    is filled if an element stands in it; formatted empty ones are not kept.
    """

    _bytes: NDArray[np.uint8]
    filled_cells: Positions
    formula_cells: Positions
    values: Positions
    are_placed: bool
    has_markup: bool

    @classmethod
    def of(cls, xml: bytes) -> SheetTags:
        buffer = np.frombuffer(xml, np.uint8)
        starts = _brackets(buffer)
        initials = _bytes_at(buffer, starts + 1)
        tags = np.flatnonzero(initials == ord("c"))
        tags = tags[_is_one_of(_bytes_at(buffer, starts[tags] + 2), _AFTER_NAME)]
        cells = starts[tags]
        next_initials = initials.take(tags + 1, mode="clip")
        return cls(
            buffer,
            filled_cells=cells[_is_one_of(next_initials, b"vfi")],
            formula_cells=cells[next_initials == ord("f")],
            values=starts[initials == ord("v")],
            are_placed=bool(_begins(buffer, cells, PLACED_CELL).all()),
            has_markup=bool((initials == ord("!")).any()),
        )

    def cell_before(self, position: int) -> int:
        """Where the filled cell that holds this position opens; 0 where none does."""
        place = int(np.searchsorted(self.filled_cells, position))
        return int(self.filled_cells[place - 1]) if place else 0

    def extent(self, cells: Positions) -> Cell:
        """Largest row and largest column of placed cells, 0 where there are none.

        Raises UnreadableUpload where an address is none.
        """
        _, rows, columns = self._places(cells)
        return int(rows.max(initial=0)), int(columns.max(initial=0))

    def cells_of_value(self, digits: bytes) -> list[int]:
        """Filled cells whose stored value begins with these digits and no others before a point."""
        at = self.values + len(b"<v>")
        begins = _begins(self._bytes, at, digits)
        begins &= _is_one_of(_bytes_at(self._bytes, at + len(digits)), b"<.")
        places = np.searchsorted(self.filled_cells, self.values[begins])
        found: list[int] = self.filled_cells[places[places > 0] - 1].tolist()
        return found

    def cells_of_styles(self, styles: Collection[int]) -> list[int]:
        """Filled cells of these styles, and those whose tag may say its style in another place."""
        at, _, _ = self._places(self.filled_cells)
        says_style = _begins(self._bytes, at + 1, _STYLE)
        numbers = self._read_number(at + 1 + len(_STYLE), "0", 10, _LONGEST_STYLE)
        is_meant = says_style & np.isin(numbers, list(styles))
        says_none = _begins(self._bytes, at + 1, b">") | _begins(self._bytes, at + 1, _TEXT)
        found: list[int] = self.filled_cells[is_meant | ~(says_style | says_none)].tolist()
        return found

    def _places(self, cells: Positions) -> tuple[Positions, NDArray[np.int64], NDArray[np.int64]]:
        """Where each cell's address ends, and its row and column."""
        at = cells + np.int32(len(PLACED_CELL))
        columns = self._read_number(at, "A", _LETTERS, _LONGEST_COLUMN)
        rows = self._read_number(at, "0", 10, _LONGEST_ROW)
        if not ((_bytes_at(self._bytes, at) == ord('"')) & (rows > 0) & (columns > 0)).all():
            raise UnreadableUpload(DAMAGED)
        return at, rows, columns

    def _read_number(self, at: Positions, first: str, base: int, longest: int) -> NDArray[np.int64]:
        """Numbers whose digits begin at `at`, which is moved past them; "A" counts as 1."""
        offset = ord(first) - (1 if first == "A" else 0)
        numbers = np.zeros(len(at), np.int64)
        for _ in range(longest):
            digits = _bytes_at(self._bytes, at).astype(np.int64) - ord(first)
            present = (digits >= 0) & (digits < base)
            if not present.any():
                break
            numbers = np.where(present, numbers * base + digits + ord(first) - offset, numbers)
            at += present
        return numbers


def _brackets(buffer: NDArray[np.uint8]) -> Positions:
    """Positions of all opening brackets, found by stretches so that little memory is in use."""
    found = [
        (np.flatnonzero(buffer[start : start + _STRETCH] == ord("<")) + start).astype(np.int32)
        for start in range(0, len(buffer), _STRETCH)
    ]
    return np.concatenate(found) if found else np.zeros(0, np.int32)


def _is_one_of(values: NDArray[np.uint8], signs: bytes) -> NDArray[np.bool_]:
    is_sign = np.zeros(256, bool)
    is_sign[list(signs)] = True
    found: NDArray[np.bool_] = is_sign[values]
    return found


def _begins(buffer: NDArray[np.uint8], positions: Positions, text: bytes) -> NDArray[np.bool_]:
    """Which of the positions begin with the text."""
    begins = np.ones(len(positions), bool)
    for place, byte in enumerate(text):
        begins &= _bytes_at(buffer, positions + place) == byte
    return begins


def _bytes_at(buffer: NDArray[np.uint8], positions: Positions) -> NDArray[np.uint8]:
    """Past the end, where a tag was cut off, stands the last byte again."""
    return buffer.take(positions, mode="clip")
