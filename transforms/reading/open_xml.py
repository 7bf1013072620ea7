"""Reads .xlsx and .xlsm: what the sheets' XML says beside the values."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Iterator, Mapping
from xml.etree.ElementTree import Element, ParseError

import numpy as np
from defusedxml import DefusedXmlException
from defusedxml.ElementTree import fromstring

from transforms.reading.addresses import address, column_number
from transforms.reading.archive import DAMAGED
from transforms.reading.canonical_sheet import canonical, is_unusual
from transforms.reading.sheet_tags import SheetTags
from transforms.reading.typed_values import read_sheets
from transforms.reading.workbook import (
    STORED_ERRORS,
    Cell,
    Structure,
    UnreadableUpload,
    Workbook,
    refuse_extent,
)

_WORKBOOK = "xl/workbook.xml"
_RELATIONS = "xl/_rels/workbook.xml.rels"

# These patterns read sheets as `canonical` leaves them.
_FILLED_CELL = re.compile(rb'<c r="[^>]*(?<!/)>(?!\s*(?:<v\s*/>|<v>\s*</v>)?\s*</c\s*>)')
_HIDDEN_ROW = re.compile(rb"""<row\s[^>]*?\bhidden\s*=\s*["'](?:1|true)["'][^>]*>""")
_HIDDEN_COLUMN = re.compile(rb"""<col\s[^>]*?\bhidden\s*=\s*["'](?:1|true)["'][^>]*>""")
_ROW = re.compile(rb"""<row(?=[\s/>])[^>]*>""")
_NUMBER = {
    name: re.compile(rb"""\s%s\s*=\s*["'](\d+)["']""" % name) for name in (b"r", b"min", b"max")
}
_FORMULA = rb"<f(?=[\s/>])[^>]*?(?:/>|>[^<]*</f\s*>)"
_ERROR_TYPE = re.compile(rb"""\st\s*=\s*["']e["']""")
_ERROR = re.compile(
    rb"""<c r="([A-Z]+)(\d+)"[^>]*?%s[^>]*>\s*(?:%s)?\s*<v[^>]*>([^<]*)"""
    % (_ERROR_TYPE.pattern, _FORMULA)
)
_UNCACHED = re.compile(
    rb"""<c r="([A-Z]+)(\d+)"([^>]*)>\s*%s(?!\s*<v(?:\s[^>]*)?>[^<])(\s*<v)?""" % _FORMULA
)
_TEXT_RESULT = re.compile(rb"""\st\s*=\s*["']str["']""")


def read_open_xml(content: bytes, parts: Mapping[str, bytes]) -> Workbook:
    """The workbook; `parts` are the unpacked parts of `content` by lower-case name.

    All sheets are looked through before calamine sees the file: it asks for memory by the extent of
    a sheet, and a far-out cell in a file of 5 KB would end the process.
    """
    structures = {name: _structure(name, parts[part]) for name, part in _sheet_parts(parts)}
    return read_sheets(content, "xlsx", lambda name: structures.get(name, Structure()))


def _sheet_parts(parts: Mapping[str, bytes]) -> Iterator[tuple[str, str]]:
    """Sheet names with the part that holds each."""
    targets = {
        relation.get("Id"): _part_name(relation.get("Target", ""))
        for relation in _elements(parts, _RELATIONS, "Relationship")
    }
    for sheet in _elements(parts, _WORKBOOK, "sheet"):
        relation = next((v for key, v in sheet.items() if key.endswith("}id")), None)
        part = targets.get(relation, "")
        if part not in parts:
            raise UnreadableUpload(DAMAGED)
        yield sheet.get("name", ""), part


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


def _structure(name: str, xml: bytes) -> Structure:
    tags = SheetTags.of(xml)
    if is_unusual(xml, tags):
        xml = canonical(xml)
        tags = SheetTags.of(xml)
    _refuse_far_cells(name, xml, tags)
    has_hidden = b"hidden" in xml
    return Structure(
        hidden_rows=tuple(_hidden_rows(xml)) if has_hidden else (),
        hidden_columns=tuple(_hidden_columns(xml)) if has_hidden else (),
        errors=_errors(name, xml, tags),
        uncached=_uncached(xml, tags),
    )


def _refuse_far_cells(name: str, xml: bytes, tags: SheetTags) -> None:
    try:
        refuse_extent(*tags.extent(tags.cells), name)
    except UnreadableUpload:
        # Formatting of whole rows and columns leaves empty cells out to the edge: they do no harm.
        filled = np.array([found.start() for found in _FILLED_CELL.finditer(xml)], np.int64)
        refuse_extent(*tags.extent(filled), name)


def _hidden_rows(xml: bytes) -> Iterator[tuple[int, int]]:
    for found in _HIDDEN_ROW.finditer(xml):
        number = _number(found[0], b"r") or _counted_row(xml, found.start())
        yield number, number


def _counted_row(xml: bytes, position: int) -> int:
    """Number of a row that does not say it: one more than the row before."""
    last = 0
    for found in _ROW.finditer(xml, 0, position):
        last = _number(found[0], b"r") or last + 1
    return last + 1


def _hidden_columns(xml: bytes) -> Iterator[tuple[int, int]]:
    for found in _HIDDEN_COLUMN.finditer(xml):
        first, last = _number(found[0], b"min"), _number(found[0], b"max")
        if first and last:
            yield first, last


def _number(tag: bytes, name: bytes) -> int | None:
    found = _NUMBER[name].search(tag)
    return int(found[1]) if found else None


def _errors(name: str, xml: bytes, tags: SheetTags) -> dict[Cell, str]:
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
                f"sheet '{name}', cell {address(*place)}: an error that no other program reads; "
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
