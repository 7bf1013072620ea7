"""Where the cells of a sheet's XML stand, found in bulk.

A sheet of 5,000 by 60 has 300,000 cells. An XML parser's event for each costs more than calamine
takes for all values, array arithmetic on the bytes a tenth of that.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transforms.reading.archive import DAMAGED
from transforms.reading.workbook import Cell, UnreadableUpload

PLACED_CELL = b'<c r="'
_AFTER_NAME = b" \t\r\n/>"
_LETTERS = 26
_LONGEST_COLUMN = 7
_LONGEST_ROW = 10  # digits; beyond any sheet, within 64 bits
_PADDING = b"\0" * (len(PLACED_CELL) + _LONGEST_COLUMN + _LONGEST_ROW)


@dataclass(frozen=True)
class SheetTags:
    """The tags of a sheet, by the position of their opening bracket.

    `are_placed` tells whether every cell opens `<c r="`, as spreadsheet programs write it.
    """

    _bytes: NDArray[np.uint8]
    cells: NDArray[np.int64]
    formula_cells: NDArray[np.int64]
    are_placed: bool
    has_markup: bool

    @classmethod
    def of(cls, xml: bytes) -> SheetTags:
        buffer = np.frombuffer(xml + _PADDING, np.uint8)
        starts = np.flatnonzero(buffer == ord("<"))
        initials = buffer[starts + 1]
        is_cell = initials == ord("c")
        cells = starts[is_cell]
        cells = cells[np.isin(buffer[cells + 2], np.frombuffer(_AFTER_NAME, np.uint8))]
        before_formula = np.append(initials[1:] == ord("f"), False)[: len(initials)]
        return cls(
            buffer,
            cells,
            formula_cells=starts[is_cell & before_formula],
            are_placed=all(
                bool((buffer[cells + place] == byte).all())
                for place, byte in enumerate(PLACED_CELL)
            ),
            has_markup=bool((initials == ord("!")).any()),
        )

    def cell_before(self, position: int) -> int:
        """Where the cell that holds this position opens; 0 where none does."""
        place = int(np.searchsorted(self.cells, position))
        return int(self.cells[place - 1]) if place else 0

    def extent(self, cells: NDArray[np.int64]) -> Cell:
        """Largest row and largest column of placed cells, 0 where there are none.

        Raises UnreadableUpload where an address is none.
        """
        at = cells + len(PLACED_CELL)
        columns = self._read_number(at, "A", _LETTERS, _LONGEST_COLUMN)
        rows = self._read_number(at, "0", 10, _LONGEST_ROW)
        if not ((self._bytes[at] == ord('"')) & (rows > 0) & (columns > 0)).all():
            raise UnreadableUpload(DAMAGED)
        return int(rows.max(initial=0)), int(columns.max(initial=0))

    def _read_number(
        self, at: NDArray[np.int64], first: str, base: int, longest: int
    ) -> NDArray[np.int64]:
        """Numbers whose digits begin at `at`, which is moved past them; "A" counts as 1."""
        offset = ord(first) - (1 if first == "A" else 0)
        numbers = np.zeros(len(at), np.int64)
        for _ in range(longest):
            digits = self._bytes[at].astype(np.int64) - ord(first)
            present = (digits >= 0) & (digits < base)
            if not present.any():
                break
            numbers = np.where(present, numbers * base + digits + ord(first) - offset, numbers)
            at += present
        return numbers
