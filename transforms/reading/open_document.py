"""Reads .ods: what its content says beside the values."""

from __future__ import annotations

from collections.abc import Mapping
from xml.parsers import expat

from transforms.reading.archive import DAMAGED, PASSWORD
from transforms.reading.plain_cells import shortened
from transforms.reading.shown_text import SPACES, SPACES_COUNT, ShownText
from transforms.reading.workbook import (
    ERROR_VALUES,
    BookStructure,
    Cell,
    Epoch,
    Range,
    Structure,
    UnreadableUpload,
    error_value,
    refuse_extent,
    sheet_number,
)

_OFFICE = "urn:oasis:names:tc:opendocument:xmlns:office:1.0 "
_TABLE = "urn:oasis:names:tc:opendocument:xmlns:table:1.0 "
_CALC = "urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0 "

_SHEET = f"{_TABLE}table"
_VISIBILITY = f"{_TABLE}visibility"
_HIDDEN = ("collapse", "filter")
_ROWS_REPEATED = f"{_TABLE}number-rows-repeated"
_COLUMNS_REPEATED = f"{_TABLE}number-columns-repeated"
_ROWS_SPANNED = f"{_TABLE}number-rows-spanned"
_COLUMNS_SPANNED = f"{_TABLE}number-columns-spanned"
_FORMULA = f"{_TABLE}formula"
_TYPE = f"{_OFFICE}value-type"
_SHOWN_TYPE = f"{_CALC}value-type"
_NULL_DATE = f"{_TABLE}null-date"
_DATE = f"{_TABLE}date-value"
_CELLS = frozenset({f"{_TABLE}table-cell", f"{_TABLE}covered-table-cell"})

# Calamine asks for memory by the numbers of spaces, told in place of them. All those of a table of
# words are far fewer.
_MOST_SPACES = 1_000_000
_LONGEST_NUMBER = 10


def open_document_structure(parts: Mapping[str, bytes]) -> BookStructure:
    """What the unpacked parts, by lower-case name, say of the workbook."""
    if b"encryption-data" in parts.get("meta-inf/manifest.xml", b""):
        raise UnreadableUpload(PASSWORD)
    if "content.xml" not in parts:
        raise UnreadableUpload(DAMAGED)
    return structures_in(shortened(parts["content.xml"]))


def structures_in(xml: bytes) -> BookStructure:
    """What a document's content says of its sheets."""
    parser = expat.ParserCreate("utf-8", namespace_separator=" ")
    reading = _Reading(parser)
    try:
        parser.Parse(xml, True)
    except expat.ExpatError:
        raise UnreadableUpload(DAMAGED) from None
    return BookStructure("ods", reading.epoch, tuple(reading.structures))


class _Reading:
    """Follows a document's tables cell by cell; repeated rows and cells are counted out."""

    def __init__(self, parser: expat.XMLParserType) -> None:
        self.structures: list[Structure] = []
        self.epoch: Epoch = 1900
        self._open_tables = 0
        self._spaces = 0
        self._text = ShownText()
        self._begin = {
            f"{_TABLE}table-cell": self._begin_cell,
            f"{_TABLE}covered-table-cell": self._begin_cell,
            f"{_TABLE}table-row": self._begin_row,
            f"{_TABLE}table-column": self._add_column,
        }
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end
        parser.CharacterDataHandler = self._add_text

    def _start(self, tag: str, given: dict[str, str]) -> None:
        if tag == _SHEET:
            self._open_tables += 1
            if self._open_tables == 1:
                self._begin_table()
        elif tag == SPACES:
            self._add_spaces(_count(given, SPACES_COUNT))
        elif self._open_tables == 1 and tag in self._begin:  # a table inside a cell is no sheet
            self._begin[tag](given)
        elif self._open_tables == 1:
            self._text.begin(tag)
        elif tag == _NULL_DATE and given.get(_DATE, "").startswith("1904"):
            self.epoch = 1904

    def _add_spaces(self, count: int) -> None:
        self._spaces += count
        if self._spaces > _MOST_SPACES:
            raise UnreadableUpload(DAMAGED)
        self._add_text(" " * count)

    def _add_text(self, text: str) -> None:
        if self._open_tables == 1:
            self._text.add(text)

    def _end(self, tag: str) -> None:
        if tag == _SHEET:
            self._open_tables -= 1
            if self._open_tables == 0:
                self._end_table()
        elif self._open_tables == 1:
            self._text.end(tag)
            if tag in _CELLS:
                self._end_cell()

    def _begin_table(self) -> None:
        self._number = sheet_number(len(self.structures) + 1)
        self._column_count = 0
        self._last_row = 0
        self._hidden_rows: list[tuple[int, int]] = []
        self._hidden_columns: list[tuple[int, int]] = []
        self._merged: list[Range] = []
        self._errors: dict[Cell, str] = {}
        self._uncached: set[Cell] = set()
        self._per_cent: set[Cell] = set()
        self._texts: dict[Cell, str] = {}
        self._widest = 0
        self._last_filled_row = 0

    def _end_table(self) -> None:
        self.structures.append(
            Structure(
                (self._last_filled_row, self._widest),
                tuple(self._hidden_rows),
                tuple(self._hidden_columns),
                tuple(self._merged),
                self._errors,
                frozenset(self._uncached),
                per_cent=frozenset(self._per_cent),
                texts=self._texts,
            )
        )

    def _add_column(self, given: dict[str, str]) -> None:
        first = self._column_count + 1
        self._column_count += _count(given, _COLUMNS_REPEATED)
        if given.get(_VISIBILITY) in _HIDDEN:
            self._hidden_columns.append((first, self._column_count))

    def _begin_row(self, given: dict[str, str]) -> None:
        self._first_row = self._last_row + 1
        self._last_row += _count(given, _ROWS_REPEATED)
        self._last_column = 0
        if given.get(_VISIBILITY) in _HIDDEN:
            self._hidden_rows.append((self._first_row, self._last_row))

    def _begin_cell(self, given: dict[str, str]) -> None:
        if not self._last_row:
            raise UnreadableUpload(DAMAGED)
        self._given = given
        self._text.clear()
        self._first_column = self._last_column + 1
        self._last_column += _count(given, _COLUMNS_REPEATED)

    def _end_cell(self) -> None:
        given = self._given
        if _ROWS_SPANNED in given or _COLUMNS_SPANNED in given:
            self._add_merged(_count(given, _ROWS_SPANNED), _count(given, _COLUMNS_SPANNED))
        may_hide_error = _FORMULA in given or given.get(_SHOWN_TYPE) == "error"
        if _TYPE in given or may_hide_error:
            self._last_filled_row = self._last_row
            self._widest = max(self._widest, self._last_column)
            refuse_extent(self._last_row, self._widest, self._number)
        if may_hide_error:
            self._add_formula(given, str(self._text).strip())
        if given.get(_TYPE) == "percentage":
            self._per_cent.update(self._places())
        elif self._text.has_left_out and _TYPE in given:
            self._texts.update(dict.fromkeys(self._places(), str(self._text)))

    def _add_merged(self, rows: int, columns: int) -> None:
        if (rows, columns) != (1, 1):
            row, column = self._first_row, self._first_column
            self._merged.append((row, column, row + rows - 1, column + columns - 1))

    def _add_formula(self, given: dict[str, str], text: str) -> None:
        """Note a formula, or what is marked as an error, that shows this text."""
        if _is_error(given, text):
            self._errors.update(dict.fromkeys(self._places(), error_value(text)))
        elif _TYPE not in given and not text:
            self._uncached.update(self._places())

    def _places(self) -> list[Cell]:
        return [
            (row, column)
            for row in range(self._first_row, self._last_row + 1)
            for column in range(self._first_column, self._last_column + 1)
        ]


def _is_error(given: dict[str, str], text: str) -> bool:
    return given.get(_SHOWN_TYPE) == "error" or text in ERROR_VALUES or text.startswith("Err:")


def _count(given: dict[str, str], name: str) -> int:
    text = given.get(name, "1")
    if text == "1":
        return 1
    if not text.isdecimal() or len(text) > _LONGEST_NUMBER:
        raise UnreadableUpload(DAMAGED)
    return max(int(text), 1)
