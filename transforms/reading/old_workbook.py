"""Reads .xls: what the records of the sheets say beside the values ([MS-XLS])."""

from __future__ import annotations

import struct
from collections.abc import Iterator

from transforms.reading.archive import DAMAGED, PASSWORD
from transforms.reading.compound_file import streams
from transforms.reading.typed_values import read_sheets
from transforms.reading.workbook import Cell, Structure, UnreadableUpload, Workbook, refuse_extent

_SHEET, _PASSWORD, _END = 0x85, 0x2F, 0x0A
_ROW, _COLUMNS, _TRUTH_OR_ERROR, _FORMULA = 0x208, 0x7D, 0x205, 0x06
# Records of one cell each, then the one of several; blank cells are left out.
_CELLS = frozenset({_TRUTH_OR_ERROR, _FORMULA, 0x203, 0x204, 0x27E, 0xFD, 0xD6})
_CELLS_OF_A_ROW = 0xBD
_DIMENSIONS = 0x200
_LARGEST_SHEET = (65_536, 256)

_ROW_HIDDEN, _COLUMN_HIDDEN = 0x20, 0x01
_WIDE_NAME = 0x01
_ERROR_RESULT = 2
_ERRORS = {
    0x00: "#NULL!", 0x07: "#DIV/0!", 0x0F: "#VALUE!", 0x17: "#REF!", 0x1D: "#NAME?",
    0x24: "#NUM!", 0x2A: "#N/A",
}  # fmt: skip


def read_old_workbook(content: bytes) -> Workbook:
    """The workbook. Whether a formula has a stored result cannot be told in this kind of file."""
    found = streams(content)
    if "EncryptedPackage" in found:
        raise UnreadableUpload(PASSWORD)
    stream = found.get("Workbook") or found.get("Book")
    if stream is None:
        raise UnreadableUpload(DAMAGED)
    try:
        structures = dict(_structures(stream))
    except (struct.error, IndexError):  # a record that ends too soon
        raise UnreadableUpload(DAMAGED) from None
    return read_sheets(content, "xls", lambda name: structures.get(name, Structure()))


def _structures(stream: bytes) -> Iterator[tuple[str, Structure]]:
    for kind, data in _records(stream, 0):
        if kind == _PASSWORD:
            raise UnreadableUpload(PASSWORD)
        if kind == _SHEET:
            start, length, options = struct.unpack_from("<I2xBB", data)
            if start >= len(stream):
                raise UnreadableUpload(DAMAGED)
            name = data[8 : 8 + length * (2 if options & _WIDE_NAME else 1)]
            text = name.decode("utf-16-le" if options & _WIDE_NAME else "latin-1", "replace")
            yield text, _structure(text, stream, start)


def _records(stream: bytes, at: int) -> Iterator[tuple[int, bytes]]:
    """Records up to the end of the part that begins at `at`."""
    while at + 4 <= len(stream):
        kind, length = struct.unpack_from("<HH", stream, at)
        if kind == _END:
            return
        yield kind, stream[at + 4 : at + 4 + length]
        at += 4 + length


def _structure(name: str, stream: bytes, start: int) -> Structure:
    hidden_rows, hidden_columns = [], []
    errors: dict[Cell, str] = {}
    last_row = last_column = 0
    for kind, data in _records(stream, start):
        if kind == _DIMENSIONS:
            _refuse_false_dimensions(data)
        elif kind == _ROW and data[12] & _ROW_HIDDEN:
            row = _place(data)[0]
            hidden_rows.append((row, row))
        elif kind == _COLUMNS and data[8] & _COLUMN_HIDDEN:
            first, last = _place(data)
            hidden_columns.append((first, last))
        elif kind in _CELLS or kind == _CELLS_OF_A_ROW:
            row, column = _place(data)
            last_row = max(last_row, row)
            last_column = max(last_column, _last_column(kind, column, data))
            if error := _error(kind, data):
                errors[row, column] = error
    refuse_extent(last_row, last_column, name)
    return Structure(tuple(hidden_rows), tuple(hidden_columns), errors=errors)


def _refuse_false_dimensions(data: bytes) -> None:
    """Calamine asks for memory by what a sheet says of its own extent."""
    first_row, end_row, first_column, end_column = struct.unpack_from(
        "<IIHH" if len(data) >= 14 else "<HHHH", data
    )
    rows, columns = _LARGEST_SHEET
    if not (first_row <= end_row <= rows and first_column <= end_column <= columns):
        raise UnreadableUpload(DAMAGED)


def _place(data: bytes) -> Cell:
    """The two numbers that a record begins with, counted from 1."""
    first, second = struct.unpack_from("<HH", data)
    return first + 1, second + 1


def _last_column(kind: int, column: int, data: bytes) -> int:
    if kind != _CELLS_OF_A_ROW:
        return column
    (last,) = struct.unpack_from("<H", data, len(data) - 2)
    return int(last) + 1


def _error(kind: int, data: bytes) -> str | None:
    """The error that a cell holds or that its formula gave."""
    if kind == _TRUTH_OR_ERROR and data[7:8] == b"\1":
        return _ERRORS.get(data[6])
    if kind == _FORMULA and data[12:14] == b"\xff\xff" and data[6] == _ERROR_RESULT:
        return _ERRORS.get(data[8])
    return None
