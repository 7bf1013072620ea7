"""Filled templates: known by their headings, in any language and notation, and read by a crosswalk
of their own."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from glob import escape
from itertools import islice

from schemas.codebook import RECORD_KINDS, RecordKind, upload_fields
from schemas.crosswalk import LANGUAGES, Crosswalk, Language, SheetTable, needed_fields
from schemas.decimal_mark import DecimalMark
from schemas.template import (
    NEEDED_MARK,
    TemplateCrosswalk,
    headings,
    sheet_title,
    template_crosswalk,
    template_table,
)
from transforms.layout.headings import DEEPEST_TITLES, heading_form
from transforms.reading import Sheet, UnreadableUpload, Workbook, cell_text

# How a template says in which form a date is wanted, in every language. A heading of a centre's own
# hardly does, so that the languages need not be tried on every upload.
NAMES_DATE_FORM = re.compile(r"\(\w{4}-\w{2}-\w{2}\)")

_Row = dict[str, str]
_Workbooks = Mapping[str, tuple[str, Workbook]]


def effective_crosswalk(workbooks: _Workbooks, own: Crosswalk) -> Crosswalk:
    """The crosswalk by which a centre's files of one week are read.

    Filled templates are read by the template's, everything else by the centre's own. `workbooks`
    gives upload key to (file name, workbook). Raises UnreadableUpload where a centre without a
    crosswalk sends something else than filled templates.
    """
    template = _template_of(workbooks, own.site)
    if template is not None:
        return template
    if isinstance(own, TemplateCrosswalk):
        raise UnreadableUpload(
            f"this centre has no crosswalks/{own.site}.toml and this is no filled template; make a "
            "crosswalk with foveapool draft, or fill in the workbook of foveapool template"
        )
    return own


def _template_of(workbooks: _Workbooks, site: str) -> TemplateCrosswalk | None:
    """The crosswalk of the files if each of them is a filled template, all in one language."""
    rows = {
        key: [(sheet, list(_heading_rows(sheet))) for sheet in workbook.sheets]
        for key, (_, workbook) in workbooks.items()
    }
    if not any(_names_date_form(row) for sheets in rows.values() for _, r in sheets for row in r):
        return None
    for language in LANGUAGES:
        by_file = [
            _tables(file_name, workbook.kind == "csv", rows[key], language)
            for key, (file_name, workbook) in workbooks.items()
        ]
        tables = tuple(table for tables in by_file for table in tables)
        if all(by_file) and any(table.row == "operation" for table in tables):
            return template_crosswalk(site, language, tables, _decimal(workbooks, language))
    return None


def _heading_rows(sheet: Sheet) -> Iterator[_Row]:
    """The first rows of a sheet: form of each text, without the mark of needed columns, to it."""
    for row in islice(sheet.values.itertuples(index=False), DEEPEST_TITLES):
        texts = [" ".join(cell_text(value).split()) for value in row if value is not None]
        yield {_form(text): text for text in texts}


def _form(text: str) -> str:
    return heading_form(text).removesuffix(NEEDED_MARK).rstrip()


def _names_date_form(row: _Row) -> bool:
    return any(NAMES_DATE_FORM.search(form) for form in row)


def _tables(
    file_name: str, is_text: bool, sheets: list[tuple[Sheet, list[_Row]]], language: Language
) -> list[SheetTable]:
    """Tables of one file: each sheet is of the kind that its name says, or of the first that its
    headings allow."""
    found = []
    for sheet, rows in sheets:
        named = [k for k in RECORD_KINDS if _form(sheet_title(k, language)) == _form(sheet.name)]
        for kind in (*named, *RECORD_KINDS):
            columns = _columns(rows, kind, language)
            if columns:
                name = None if is_text else sheet.name
                found.append(template_table(kind, columns, name, escape(file_name)))
                break
    return found


def _columns(
    rows: list[_Row], kind: RecordKind, language: Language
) -> dict[str, tuple[str, str | None]]:
    """Heading and notation of each field in the first row that holds every needed heading."""
    known = {_form(text): place for text, place in headings(kind, language).items()}
    for row in rows:
        found: dict[str, tuple[str, str | None]] = {}
        for form, (name, notation) in known.items():
            if form in row and name not in found:
                found[name] = (row[form], notation)
        if found.keys() >= set(needed_fields(kind, found)):
            return _with_wanted(found, kind, language)
    return {}


def _with_wanted(
    found: dict[str, tuple[str, str | None]], kind: RecordKind, language: Language
) -> dict[str, tuple[str, str | None]]:
    """The columns, and those that every row should fill in, so that they are missed if gone."""
    wanted = {
        name
        for name, field in upload_fields(kind).items()
        if field.spec.required and field.spec.required.when is None
    }
    for text, (name, notation) in headings(kind, language).items():
        if name in wanted - found.keys():
            found[name] = (text, notation)
    return found


def _decimal(workbooks: _Workbooks, language: Language) -> DecimalMark:
    """The decimal mark that a text file shows, else the language's (Unicode CLDR)."""
    from babel.numbers import get_decimal_symbol

    shown = [workbook.decimal for _, workbook in workbooks.values() if workbook.decimal]
    return shown[0] if shown else "comma" if get_decimal_symbol(language) == "," else "point"
