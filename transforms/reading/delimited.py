"""Reads text tables: encoding and delimiter are found, every cell is text."""

from __future__ import annotations

import codecs
import csv
from collections import Counter
from contextlib import suppress
from io import StringIO
from itertools import islice

from transforms.reading.typed_values import frame_of
from transforms.reading.workbook import (
    ERROR_VALUES,
    Sheet,
    UnreadableUpload,
    Workbook,
    refuse_extent,
)

SHEET = "csv"

# Where two delimiters split the rows equally well, the one less likely inside a value is meant.
_DELIMITERS = ("\t", ";", "|", ",")
_ROWS_LOOKED_AT = 100

_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),  # before UTF-16, whose mark it begins with
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_UNMARKED = ("utf-8", "cp1252")

_NOT_TEXT = (
    "the text of the file is in no encoding that is read here; save it as 'CSV UTF-8' and send that"
)


class _Strict(csv.excel):
    """A quotation mark left open is an error: it would swallow the rows after it in silence."""

    strict = True


def read_delimited(content: bytes) -> Workbook:
    """A text table in UTF-8, UTF-16 or UTF-32 with a mark, or Windows-1252, as one sheet.

    Row numbers are those a spreadsheet program shows: a line break inside quotation marks begins
    no row, and a first line such as "sep=;" is none.
    """
    text, encoding = _decoded(content)
    declared, text = _declared_delimiter(text)
    delimiter = declared or _delimiter(text)
    rows = _rows(text, delimiter)
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
    )
    return Workbook((sheet,), "csv", encoding=encoding, delimiter=delimiter)


def _decoded(content: bytes) -> tuple[str, str]:
    marked = [encoding for mark, encoding in _MARKS if content.startswith(mark)]
    for encoding in marked[:1] or _UNMARKED:
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" in text:
            break
        return text, encoding
    raise UnreadableUpload(_NOT_TEXT)


def _declared_delimiter(text: str) -> tuple[str | None, str]:
    """A first line "sep=;" names the delimiter and is no part of the table."""
    first, _, rest = text.partition("\n")
    line = first.rstrip("\r").strip('"')
    if len(line) == len("sep=;") and line.lower().startswith("sep="):
        return line[-1], rest
    return None, text


def _delimiter(text: str) -> str:
    """The delimiter that cuts most of the first rows into the same number of cells."""
    return max(_DELIMITERS, key=lambda mark: _consistency(text, mark))  # of equals, the first


def _consistency(text: str, delimiter: str) -> float:
    """Share of the first filled rows that have the commonest number of cells, if over one."""
    reader = csv.reader(StringIO(text, newline=""), _Strict, delimiter=delimiter)
    widths: list[int] = []
    with suppress(csv.Error):  # told when the rows are read
        widths.extend(len(row) for row in islice(reader, _ROWS_LOOKED_AT) if any(row))
    several = Counter(width for width in widths if width > 1)
    return max(several.values(), default=0) / max(len(widths), 1)


def _rows(text: str, delimiter: str) -> list[list[str | None]]:
    """All rows, filled up to equal length."""
    reader = csv.reader(StringIO(text, newline=""), _Strict, delimiter=delimiter)
    rows: list[list[str | None]] = []
    widest = 0
    try:
        for record in reader:
            rows.append(list(record))
            widest = max(widest, len(record))
            refuse_extent(len(rows), widest, SHEET)
    except csv.Error:
        raise UnreadableUpload(
            f"line {reader.line_num}: a quotation mark is not closed or stands inside a quoted "
            "cell, or a cell is longer than any cell may be; export the table again"
        ) from None
    return [row + [None] * (widest - len(row)) for row in rows]
