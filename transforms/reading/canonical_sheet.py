"""Writes a sheet's XML the way spreadsheet programs do, so that plain patterns can read it.

Nearly every sheet comes so already and passes through untouched. XML allows more: comments, other
prefixes, cells that do not say where they stand.
"""

from __future__ import annotations

import re

from transforms.reading.addresses import address, column_number
from transforms.reading.archive import DAMAGED
from transforms.reading.sheet_tags import PLACED_CELL, SheetTags
from transforms.reading.workbook import UnreadableUpload

_NO_ELEMENTS = re.compile(rb"<!--(?:.*?-->|.*+)|<!\[CDATA\[(?:.*?\]\]>|.*+)", re.DOTALL)
_PREFIXED = re.compile(rb":(?:row|col|c|f|v)[\s/>]")
_PREFIX = re.compile(rb"<(/?)[^\s<>/:]+:(?=(?:row|col|c|f|v)[\s/>])")
_ROW_OR_CELL = re.compile(rb"<(row|c)(?=[\s/>])([^<>]*)>")
_REFERENCE = re.compile(rb"""\sr\s*=\s*["']([^"']*)["']""")
_LONGEST_NUMBER = 10
_ADDRESS = re.compile(r"([A-Z]+)([0-9]{1,10})", re.ASCII)


def is_unusual(xml: bytes, tags: SheetTags) -> bool:
    """Whether `canonical` would change the sheet."""
    return tags.has_markup or not tags.are_placed or _PREFIXED.search(xml) is not None


def canonical(xml: bytes) -> bytes:
    """The sheet without comments, CDATA sections and prefixes, every cell opening `<c r="A1"`.

    Prefixes go whatever they stand for, as calamine reads elements by local name.
    """
    xml = _PREFIX.sub(rb"<\1", _NO_ELEMENTS.sub(b"", xml))
    return _ROW_OR_CELL.sub(_Placing(), xml)


class _Placing:
    """Gives every cell its address, counting where the file leaves it to be counted."""

    def __init__(self) -> None:
        self.row = 0
        self.column = 0

    def __call__(self, tag: re.Match[bytes]) -> bytes:
        reference = _REFERENCE.search(tag[2])
        if tag[1] == b"row":
            self.row = _row_number(reference[1]) if reference else self.row + 1
            self.column = 0
            return tag[0]
        if reference is None:
            self.column += 1
            return self._placed(address(self.row, self.column), tag[2])
        row, self.column = _position(reference[1])
        rest = tag[2][: reference.start()] + tag[2][reference.end() :]
        return self._placed(address(row, self.column), rest)

    @staticmethod
    def _placed(place: str, attributes: bytes) -> bytes:
        return PLACED_CELL + place.encode() + b'"' + attributes + b">"


def _row_number(text: bytes) -> int:
    if not text.isdigit() or len(text) > _LONGEST_NUMBER:
        raise UnreadableUpload(DAMAGED)
    return int(text)


def _position(reference: bytes) -> tuple[int, int]:
    found = _ADDRESS.fullmatch(reference.decode("utf-8", "replace").upper())
    if found is None:
        raise UnreadableUpload(DAMAGED)
    return int(found[2]), column_number(found[1])
