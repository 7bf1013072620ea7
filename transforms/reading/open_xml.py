"""Reads .xlsx and .xlsm: what the sheets' XML says beside the values."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from io import BytesIO
from xml.etree.ElementTree import Element, ParseError

import numpy as np
from defusedxml import DefusedXmlException
from defusedxml.ElementTree import fromstring, iterparse

from transforms.reading.addresses import address, column_number
from transforms.reading.archive import DAMAGED
from transforms.reading.canonical_sheet import canonical, is_unusual
from transforms.reading.number_formats import CellStyles
from transforms.reading.sheet_tags import SheetTags
from transforms.reading.workbook import (
    STORED_ERRORS,
    BookStructure,
    Cell,
    Epoch,
    Structure,
    UnreadableUpload,
    is_within,
    refuse_extent,
    sheet_number,
)

_WORKBOOK = "xl/workbook.xml"
_RELATIONS = "xl/_rels/workbook.xml.rels"
_STYLES = "xl/styles.xml"
_TEXTS = "xl/sharedstrings.xml"
_SHORTEST_TEXT = len("<si/>")
_LONGEST_NUMBER = 10

# These patterns read sheets as `canonical` leaves them.
_PLACE = re.compile(rb'<c r="([A-Z]+)(\d+)"')
_FILLED_CELL = re.compile(rb'<c r="[^<>]*(?<!/)>(?!\s*(?:<v\s*/>|<v>\s*</v>)?\s*</c\s*>)')
_HIDDEN = re.compile(rb"""\shidden\s*=\s*["'](?:1|true)["']""")
_ROW = re.compile(rb"<row(?=[\s/>])[^<>]*>")
_COLUMNS = re.compile(rb"<col(?=[\s/>])[^<>]*>")
_NUMBER = {
    name: re.compile(rb"""\s%s\s*=\s*["'](\d{1,10})["']""" % name)
    for name in (b"r", b"min", b"max")
}
_FORMULA = rb"<f(?=[\s/>])[^<>]*?(?:/>|>[^<]*</f\s*>)"
_ERROR_TYPE = re.compile(rb"""\st\s*=\s*["']e["']""")
_ERROR = re.compile(
    rb"""<c r="([A-Z]+)(\d+)"[^<>]*?%s[^<>]*>\s*(?:%s)?\s*<v[^<>]*>([^<]*)"""
    % (_ERROR_TYPE.pattern, _FORMULA)
)
_UNCACHED = re.compile(
    rb"""<c r="([A-Z]+)(\d+)"([^<>]*)>\s*%s(?!\s*<v(?:\s[^<>]*)?>[^<])(\s*<v)?""" % _FORMULA
)
_TEXT_RESULT = re.compile(rb"""\st\s*=\s*["']str["']""")


def open_xml_structure(parts: Mapping[str, bytes]) -> BookStructure:
    """What the unpacked parts, by lower-case name, say of the workbook."""
    _refuse_more_texts_than_fit(parts.get(_TEXTS, b""))
    styles = _styles(parts)
    sheets = tuple(
        _structure(sheet_number(place), parts[part], styles)
        for place, part in enumerate(_sheet_parts(parts), start=1)
    )
    return BookStructure("xlsx", _epoch(parts), sheets)


def _refuse_more_texts_than_fit(xml: bytes) -> None:
    """Refuse a table of texts that says it has more than its bytes could hold.

    calamine asks at once for the memory of as many as it says: 100 GB in a file of 10 KB.
    """
    if not xml:
        return
    try:
        _, root = next(iterparse(BytesIO(xml), events=("start",), forbid_dtd=True))
    except (ParseError, DefusedXmlException, LookupError, ValueError, StopIteration):
        raise UnreadableUpload(DAMAGED) from None
    count = root.get("uniqueCount", "0").lstrip("+")
    if count.isdecimal() and int(count[:20]) > len(xml) // _SHORTEST_TEXT:
        raise UnreadableUpload(DAMAGED)


def _epoch(parts: Mapping[str, bytes]) -> Epoch:
    settings = _elements(parts, _WORKBOOK, "workbookPr")
    is_later = any(element.get("date1904") in ("1", "true") for element in settings)
    return 1904 if is_later else 1900


def _styles(parts: Mapping[str, bytes]) -> CellStyles:
    """Numbers of the cell styles that change what a number is read as."""
    if _STYLES not in parts:
        return CellStyles()
    custom = {
        number: element.get("formatCode", "")
        for element in _elements(parts, _STYLES, "numFmts/{*}numFmt")
        if (number := _format_number(element)) is not None
    }
    formats = [_format_number(xf) for xf in _elements(parts, _STYLES, "cellXfs/{*}xf")]
    return CellStyles.of(formats, custom)


def _format_number(element: Element) -> int | None:
    text = element.get("numFmtId", "")
    return int(text) if text.isdecimal() and len(text) <= _LONGEST_NUMBER else None


def _sheet_parts(parts: Mapping[str, bytes]) -> Iterator[str]:
    """The parts that hold the sheets, in order."""
    targets = {
        relation.get("Id"): _part_name(relation.get("Target", ""))
        for relation in _elements(parts, _RELATIONS, "Relationship")
    }
    seen = set()
    for sheet in _elements(parts, _WORKBOOK, "sheets/{*}sheet"):
        relation = next((v for key, v in sheet.items() if key.endswith("}id")), None)
        part = targets.get(relation, "")
        if part not in parts or part in seen:
            raise UnreadableUpload(DAMAGED)
        seen.add(part)
        yield part


def _part_name(target: str) -> str:
    """Targets stand relative to xl/, or from the root with a slash."""
    return posixpath.normpath(posixpath.join("/xl", target)).lstrip("/").lower()


def _elements(parts: Mapping[str, bytes], part: str, tag: str) -> list[Element]:
    if part not in parts:
        raise UnreadableUpload(DAMAGED)
    try:
        root = fromstring(parts[part], forbid_dtd=True)
    except (ParseError, DefusedXmlException, LookupError, ValueError):  # the last two: encodings
        raise UnreadableUpload(DAMAGED) from None
    return list(root.iterfind(f".//{{*}}{tag}"))


def _structure(sheet: str, xml: bytes, styles: CellStyles) -> Structure:
    tags = SheetTags.of(xml)
    if is_unusual(xml, tags):
        xml = canonical(xml)
        tags = SheetTags.of(xml)
    extent = _extent(sheet, xml, tags)
    has_hidden = b"hidden" in xml
    return Structure(
        extent,
        hidden_rows=tuple(_hidden_rows(xml)) if has_hidden else (),
        hidden_columns=tuple(_hidden_columns(xml)) if has_hidden else (),
        errors=_errors(sheet, xml, tags),
        uncached=_uncached(xml, tags),
        per_cent=_styled(xml, tags, styles.per_cent),
        dayless=_styled(xml, tags, styles.dayless),
        sixties=_places(xml, _PLACE, tags.cells_of_value(b"60")),
    )


def _extent(sheet: str, xml: bytes, tags: SheetTags) -> Cell:
    extent = tags.extent(tags.filled_cells)
    if not is_within(*extent):
        # Some programs write a value without content into empty cells: they do no harm.
        starts = (start for start in tags.filled_cells.tolist() if _FILLED_CELL.match(xml, start))
        extent = tags.extent(np.fromiter(starts, np.int32))
        refuse_extent(*extent, sheet)
    return extent


def _styled(xml: bytes, tags: SheetTags, styles: Collection[int]) -> frozenset[Cell]:
    """Cells of the given styles."""
    if not styles:
        return frozenset()
    numbers = b"|".join(b"%d" % style for style in styles)
    pattern = re.compile(_PLACE.pattern + rb"""[^<>]*?\ss\s*=\s*["'](?:%s)["']""" % numbers)
    return _places(xml, pattern, tags.cells_of_styles(styles))


def _places(xml: bytes, pattern: re.Pattern[bytes], starts: Iterable[int]) -> frozenset[Cell]:
    """Places of those cells that begin with the pattern."""
    found = (pattern.match(xml, start) for start in starts)
    return frozenset(_cell(cell) for cell in found if cell)


def _hidden_rows(xml: bytes) -> Iterator[tuple[int, int]]:
    number = 0
    for row in _ROW.finditer(xml):
        number = _number(row[0], b"r") or number + 1  # a row that does not say it is the next
        if _HIDDEN.search(row[0]):
            yield number, number


def _hidden_columns(xml: bytes) -> Iterator[tuple[int, int]]:
    for columns in _COLUMNS.finditer(xml):
        first, last = _number(columns[0], b"min"), _number(columns[0], b"max")
        if first and last and _HIDDEN.search(columns[0]):
            yield first, last


def _number(tag: bytes, name: bytes) -> int | None:
    found = _NUMBER[name].search(tag)
    return int(found[1]) if found else None


def _errors(sheet: str, xml: bytes, tags: SheetTags) -> dict[Cell, str]:
    if b'"e"' not in xml and not (b"'" in xml and b"'e'" in xml):
        return {}
    marked = (tags.cell_before(found.start()) for found in _ERROR_TYPE.finditer(xml))
    errors = {
        _cell(found): found[3].decode("utf-8", "replace").strip()
        for found in (_ERROR.match(xml, start) for start in marked)
        if found
    }
    for place, error in errors.items():
        if error not in STORED_ERRORS:  # calamine would give up the workbook without a word on why
            raise UnreadableUpload(
                f"{sheet}, cell {address(*place)}: an error that no other program reads; "
                "mend or clear the formula there, save and send it again"
            )
    return errors


def _uncached(xml: bytes, tags: SheetTags) -> frozenset[Cell]:
    """Formulas whose result is not stored; an empty text that a formula gave is stored."""
    formulas = (_UNCACHED.match(xml, start) for start in tags.formula_cells.tolist())
    return frozenset(
        _cell(found)
        for found in formulas
        if found and not (found[4] and _TEXT_RESULT.search(found[3]))
    )


def _cell(found: re.Match[bytes]) -> Cell:
    return int(found[2]), column_number(found[1].decode())
