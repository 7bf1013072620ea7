"""Reads text tables: encoding and delimiter are found, every cell is text."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from itertools import islice

from transforms.reading.encoding import decoded
from transforms.reading.number_marks import decimal_mark
from transforms.reading.typed_values import frame_of
from transforms.reading.workbook import (
    ERROR_VALUES,
    MOST_CELLS,
    MOST_COLUMNS,
    MOST_ROWS,
    Sheet,
    UnreadableUpload,
    Workbook,
    refuse_extent,
)

SHEET = "csv"
_TABLE = "the table"

# Where two delimiters split the rows equally well, the one less likely inside a value is meant.
_DELIMITERS = ("\t", ";", "|", ",")
_ROWS_LOOKED_AT = 100

_LINE = re.compile(r"[^\r\n]*(?:\r\n?|\n)|[^\r\n]+")
_DECLARED = re.compile(r"""("?)sep=([^\r\n"])\1(?:\r\n?|\n)""", re.IGNORECASE)
_QUOTED = re.compile(r'"[^"]*"')


class _Strict(csv.excel):
    """A quotation mark left open is an error: it would swallow the rows after it in silence."""

    strict = True


def read_delimited(content: bytes) -> Workbook:
    """A text table as one sheet; encoding, delimiter and decimal mark are found.

    Row numbers are those a spreadsheet program shows: a line break inside quotation marks begins
    no row, and a first line such as "sep=;" is none.
    """
    found = decoded(content)
    declared, text = _declared_delimiter(found.text)
    delimiter = declared or _delimiter(text)
    rows, long_rows = _rows(text, delimiter)
    errors = {
        (row, column): cell
        for row, cells in enumerate(rows, start=1)
        for column, cell in enumerate(cells, start=1)
        if cell in ERROR_VALUES
    }
    sheet = Sheet(
        name=SHEET,
        values=frame_of(rows, without_value=errors),
        state="visible",
        hidden_rows=frozenset(),
        hidden_columns=frozenset(),
        merged=(),
        errors=errors,
        uncached=frozenset(),
        long_rows=frozenset(long_rows),
    )
    return Workbook(
        (sheet,),
        "csv",
        encoding=found.encoding,
        encoding_is_certain=found.is_certain,
        delimiter=delimiter,
        decimal=decimal_mark(cell for row in rows for cell in row if cell),
    )


def _declared_delimiter(text: str) -> tuple[str | None, str]:
    """A first line "sep=;" names the delimiter and is no part of the table."""
    found = _DECLARED.match(text)
    return (found[2], text[found.end() :]) if found else (None, text)


def _delimiter(text: str) -> str:
    """The delimiter that cuts most of the first rows into the same number of cells."""
    return max(_DELIMITERS, key=lambda mark: _consistency(text, mark))  # of equals, the first


def _consistency(text: str, delimiter: str) -> float:
    """Share of the first filled rows that have the commonest number of cells, if over one."""
    widths: list[int] = []
    with suppress(csv.Error):  # told when the rows are read
        reader = csv.reader(_lines(text, delimiter), _Strict, delimiter=delimiter)
        widths.extend(len(row) for row in islice(reader, _ROWS_LOOKED_AT) if any(row))
    several = Counter(width for width in widths if width > 1)
    return max(several.values(), default=0) / max(len(widths), 1)


def _lines(text: str, delimiter: str) -> Iterator[str]:
    """Lines with their ends; one of too many columns is refused before its cells are made."""
    for number, found in enumerate(_LINE.finditer(text), start=1):
        line = found[0]
        if line.count(delimiter) >= MOST_COLUMNS:
            refuse_extent(number, _QUOTED.sub("", line).count(delimiter) + 1, _TABLE)
        yield line


def _rows(text: str, delimiter: str) -> tuple[list[list[str | None]], list[int]]:
    """All rows, filled up to equal length, and the numbers of those that were long."""
    rows: list[list[str | None]] = []
    widest = 1
    reader = csv.reader(_lines(text, delimiter), _Strict, delimiter=delimiter)
    try:
        for record in reader:
            rows.append(list(record))
            widest = max(widest, len(record))
            if len(rows) * widest > MOST_CELLS or len(rows) > MOST_ROWS:
                refuse_extent(len(rows), widest, _TABLE)
    except csv.Error:
        raise UnreadableUpload(
            f"line {reader.line_num}: a quotation mark is not closed or stands inside a quoted "
            "cell, or a cell is longer than any cell may be; export the table again"
        ) from None
    return [row + [None] * (widest - len(row)) for row in rows], _long_rows(rows)


def _long_rows(rows: list[list[str | None]]) -> list[int]:
    """Rows with more cells than most; of several commonest lengths the least counts."""
    lengths = Counter(len(row) for row in rows if any(row))
    usual = max(lengths, key=lambda length: (lengths[length], -length), default=0)
    return [number for number, row in enumerate(rows, start=1) if len(row) > usual]
