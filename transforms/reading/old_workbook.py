"""Reads .xls: what the records of the sheets say beside the values ([MS-XLS])."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from transforms.reading.archive import DAMAGED, PASSWORD
from transforms.reading.binary_records import Numbers, Records, numbers_at
from transforms.reading.compound_file import streams
from transforms.reading.number_formats import CellStyles
from transforms.reading.workbook import (
    BookStructure,
    Cell,
    Epoch,
    Structure,
    UnreadableUpload,
    refuse_extent,
    sheet_number,
)

_STREAMS = ("Workbook", "Book")
_BEGIN, _SHEET, _PASSWORD = 0x809, 0x85, 0x2F
_DATE_MODE, _FORMAT, _STYLE = 0x22, 0x41E, 0xE0
_DIMENSIONS, _ROW, _COLUMNS = 0x200, 0x208, 0x7D
_TRUTH_OR_ERROR, _FORMULA, _FLOAT, _SHORT, _SHORTS_OF_A_ROW = 0x205, 0x06, 0x203, 0x27E, 0xBD
# Records of one cell each, short numbers apart; blank cells are left out.
_CELLS = (_TRUTH_OR_ERROR, _FORMULA, _FLOAT, 0x204, 0xFD, 0xD6)
_LARGEST_SHEET = (65_536, 256)

_FIRST_WIDE_VERSION = 0x600  # texts may have two bytes a sign
_ROW_HIDDEN, _COLUMN_HIDDEN = 0x20, 0x01
_NO_NUMBER, _ERROR_RESULT = 0xFFFF, 2
_ERRORS = {
    0x00: "#NULL!", 0x07: "#DIV/0!", 0x0F: "#VALUE!", 0x17: "#REF!", 0x1D: "#NAME?",
    0x24: "#NUM!", 0x2A: "#N/A",
}  # fmt: skip

# 60 as a short number: whole, as the upper half of a float, and as hundredths ([MS-XLS] 2.5.217).
_SHORT_SIXTIES = (60 << 2 | 2, 0x404E0000, 6000 << 2 | 3)
_SIXTY = struct.unpack("<Q", struct.pack("<d", 60.0))


def old_workbook_structure(content: bytes) -> BookStructure:
    """What the records say. Whether a formula has a stored result cannot be told of this kind."""
    found = streams(content, _STREAMS)
    if "EncryptedPackage" in found:
        raise UnreadableUpload(PASSWORD)
    stream = next((found[name] for name in _STREAMS if name in found), None)
    if stream is None:
        raise UnreadableUpload(DAMAGED)
    try:
        declared = _declared(Records.from_place(stream, 0))
        sheets = tuple(_structures(stream, declared))
    except (struct.error, IndexError):  # a record that ends too soon
        raise UnreadableUpload(DAMAGED) from None
    return BookStructure("xls", declared.epoch, sheets)


@dataclass(frozen=True)
class _Declared:
    """What the workbook's own records say."""

    epoch: Epoch
    styles: CellStyles
    sheet_starts: tuple[int, ...]


def _structures(stream: bytes, declared: _Declared) -> Iterator[Structure]:
    room = len(stream)
    for place, start in enumerate(declared.sheet_starts, start=1):
        records = Records.from_place(stream, start)
        room -= records.size
        if room < 0:  # sheets share their bytes
            raise UnreadableUpload(DAMAGED)
        yield _structure(sheet_number(place), records, declared.styles)


def _declared(records: Records) -> _Declared:
    if _PASSWORD in records.kinds:
        raise UnreadableUpload(PASSWORD)
    starts = records.of([_SHEET], 6).numbers(0, 4)
    if (starts >= len(records.stream)).any():
        raise UnreadableUpload(DAMAGED)
    versions = records.of([_BEGIN], 4).numbers(0)
    is_wide = bool((versions >= _FIRST_WIDE_VERSION).any())
    styles = records.of([_STYLE], 4).numbers(2)
    return _Declared(
        epoch=1904 if records.of([_DATE_MODE], 2).numbers(0).any() else 1900,
        styles=CellStyles.of(styles.tolist(), dict(_formats(records, is_wide))),
        sheet_starts=tuple(starts.tolist()),
    )


def _formats(records: Records, is_wide: bool) -> Iterator[tuple[int, str]]:
    """Number and code of every format that the workbook declares."""
    for data in records.of([_FORMAT], 5 if is_wide else 3).data():
        (number,) = struct.unpack_from("<H", data)
        if not is_wide:
            yield number, data[3:].decode("latin-1")
        elif data[4] & 1:
            yield number, data[5:].decode("utf-16-le", "replace")
        else:
            yield number, data[5:].decode("latin-1")


def _structure(sheet: str, records: Records, known: CellStyles) -> Structure:
    for data in records.of([_DIMENSIONS], 8).data():
        _refuse_false_dimensions(data)
    cells = records.of(_CELLS, 6)
    shorts = _Shorts.of(records)
    rows = np.concatenate([cells.numbers(0), shorts.rows]) + 1
    columns = np.concatenate([cells.numbers(2), shorts.columns]) + 1
    extent = int(rows.max(initial=0)), int(columns.max(initial=0))
    refuse_extent(*extent, sheet)
    styles = np.concatenate([cells.numbers(4), shorts.styles])
    is_sixty = np.isin(shorts.values, _SHORT_SIXTIES)
    return Structure(
        extent,
        hidden_rows=tuple(_hidden_rows(records)),
        hidden_columns=tuple(_hidden_columns(records)),
        errors=dict(_errors(cells)),
        per_cent=_cells(rows, columns, np.isin(styles, list(known.per_cent))),
        dayless=_cells(rows, columns, np.isin(styles, list(known.dayless))),
        sixties=_cells(shorts.rows + 1, shorts.columns + 1, is_sixty) | _long_sixties(cells),
    )


@dataclass(frozen=True)
class _Shorts:
    """Numbers of four bytes, from records of one and of several cells of a row."""

    rows: Numbers
    columns: Numbers
    styles: Numbers
    values: Numbers

    @classmethod
    def of(cls, records: Records) -> _Shorts:
        records = records.of((_SHORT, _SHORTS_OF_A_ROW), 10)
        counts = (records.lengths - 4) // 6
        firsts = np.cumsum(counts) - counts
        places = np.arange(int(counts.sum())) - np.repeat(firsts, counts)
        at = np.repeat(records.starts, counts) + 4 + 6 * places
        return cls(
            rows=np.repeat(records.numbers(0), counts),
            columns=np.repeat(records.numbers(2), counts) + places,
            styles=numbers_at(records.stream, at),
            values=numbers_at(records.stream, at + 2, 4),
        )


def _cells(rows: Numbers, columns: Numbers, chosen: np.typing.NDArray[np.bool_]) -> frozenset[Cell]:
    return frozenset(zip(rows[chosen].tolist(), columns[chosen].tolist(), strict=True))


def _long_sixties(cells: Records) -> frozenset[Cell]:
    floats = cells.of([_FLOAT], 14)
    return _cells(
        floats.numbers(0) + 1, floats.numbers(2) + 1, np.isin(floats.numbers(6, 8), _SIXTY)
    )


def _refuse_false_dimensions(data: bytes) -> None:
    """Calamine asks for memory by what a sheet says of its own extent."""
    first_row, end_row, first_column, end_column = struct.unpack_from(
        "<IIHH" if len(data) >= 14 else "<HHHH", data
    )
    rows, columns = _LARGEST_SHEET
    if not (first_row <= end_row <= rows and first_column <= end_column <= columns):
        raise UnreadableUpload(DAMAGED)


def _hidden_rows(records: Records) -> Iterator[tuple[int, int]]:
    rows = records.of([_ROW], 13)
    is_hidden = rows.numbers(12, 1) & _ROW_HIDDEN != 0
    for row in (rows.numbers(0)[is_hidden] + 1).tolist():
        yield row, row


def _hidden_columns(records: Records) -> Iterator[tuple[int, int]]:
    columns = records.of([_COLUMNS], 9)
    is_hidden = columns.numbers(8, 1) & _COLUMN_HIDDEN != 0
    firsts, lasts = columns.numbers(0)[is_hidden] + 1, columns.numbers(2)[is_hidden] + 1
    yield from zip(firsts.tolist(), lasts.tolist(), strict=True)


def _errors(cells: Records) -> Iterator[tuple[Cell, str]]:
    """Errors that a cell holds or that its formula gave."""
    stored = cells.of([_TRUTH_OR_ERROR], 8)
    given = cells.of([_FORMULA], 14)
    gave_error = (given.numbers(12) == _NO_NUMBER) & (given.numbers(6, 1) == _ERROR_RESULT)
    for found, is_error, offset in (
        (stored, stored.numbers(7, 1) == 1, 6),
        (given, gave_error, 8),
    ):
        codes = found.numbers(offset, 1)[is_error].tolist()
        places = zip(
            (found.numbers(0)[is_error] + 1).tolist(),
            (found.numbers(2)[is_error] + 1).tolist(),
            strict=True,
        )
        yield from (
            (place, _ERRORS[code])
            for place, code in zip(places, codes, strict=True)
            if code in _ERRORS
        )
