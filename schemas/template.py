"""The upload template: sheets, headings and lists in each language, and the crosswalk of a filled
one.

Everything derives from the codebook: a field that an upload may hold has its column. A centre that
fills in the template needs no crosswalk.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from schemas.codebook import RECORD_KINDS, RECORD_TABLE, RecordKind, UploadField, upload_fields
from schemas.codes import NOTATION, CodeList
from schemas.crosswalk import (
    LANGUAGES,
    NEEDED_FIELDS,
    Crosswalk,
    Language,
    SheetTable,
    Source,
    crosswalk_path,
    read_crosswalk,
)
from schemas.decimal_mark import DecimalMark
from schemas.study import Study
from schemas.translation import translated
from schemas.units import UNIT_MUST_BE_NAMED, unit_sign

DEFAULT_NOTATION = "logmar"
NEEDED_MARK = "*"
DATE_FORM = "yyyy-mm-dd"

# How a heading names the notation of its acuities; a letter score with its scale, since two are
# fifteen letters apart.
NOTATION_SIGNS = {
    "snellen_feet": "Snellen, feet",
    "snellen_metres": "Snellen, metres",
    "decimal": "decimal",
    "logmar": "logMAR",
    "letters": "letters, 20/20 = 85",
    "letters_100": "letters, 20/20 = 100",
    "letters_4m": "letters at 4 m + at 1 m",
    "letters_1m": "letters at 1 m",
}

YES_NO = CodeList("yes_no", {"yes": "Yes", "no": "No"})


class TemplateCrosswalk(Crosswalk):
    """The crosswalk that comes with the template, for a centre that has none of its own."""

    def texts(self) -> Iterator[str]:
        """The centre's code and the template's own names of sheets, in every language; not those
        that the centre gave to sheets and files."""
        yield self.site
        for language in LANGUAGES:
            yield from (sheet_title(kind, language) for kind in RECORD_KINDS)


def sheet_title(kind: RecordKind, language: Language) -> str:
    """Name of the sheet that holds one kind of record."""
    return translated(RECORD_TABLE[kind].capitalize(), language)


def template_fields(kind: RecordKind) -> tuple[UploadField, ...]:
    """The fields of a sheet in the order of its columns: the codebook's, with those that few
    centres record last."""
    return tuple(sorted(upload_fields(kind).values(), key=lambda field: field.spec.is_seldom))


def is_needed(field: UploadField) -> bool:
    """Whether a row of the template is no record without this field."""
    return field.name in NEEDED_FIELDS[field.kind]


def word_list(field: UploadField) -> CodeList | None:
    """The codes that the field's cells choose from, if it is a field of codes."""
    return YES_NO if field.spec.reads == "yes_no" else field.spec.codes


def heading(field: UploadField, language: Language, notation: str) -> str:
    """A column's heading: title, what it is measured in, and a mark where a row needs it."""
    title = translated(field.spec.title, language)
    measure = _measure(field, notation)
    named = f"{title} ({translated(measure, language)})" if measure else title
    return f"{named} {NEEDED_MARK}" if is_needed(field) else named


def _measure(field: UploadField, notation: str) -> str:
    if field.spec.reads == "acuity":
        return NOTATION_SIGNS[notation]
    return DATE_FORM if field.spec.reads == "date" else unit_sign(field.spec.unit)


def acuity_notation(field: UploadField, notation: str) -> str | None:
    """`notation` for an acuity; nothing else has one."""
    return notation if field.spec.reads == "acuity" else None


def headings(kind: RecordKind, language: Language) -> dict[str, tuple[str, str | None]]:
    """Every heading that the sheet of a kind may have, to its field and the acuity's notation."""
    found: dict[str, tuple[str, str | None]] = {}
    for name, field in upload_fields(kind).items():
        for notation in NOTATION:
            found[heading(field, language, notation)] = (name, acuity_notation(field, notation))
    return found


def template_table(
    kind: RecordKind, columns: Mapping[str, tuple[str, str | None]], sheet: str | None, file: str
) -> SheetTable:
    """One sheet of a filled template. `columns` gives each field its heading as it stands there,
    and an acuity its notation; numbers are read in the unit that the template names."""
    units = {name: field.spec.unit for name, field in upload_fields(kind).items()}
    fields = {
        name: Source(
            heading=text, notation=notation,
            unit=units[name] if units[name] in UNIT_MUST_BE_NAMED else None,
        )
        for name, (text, notation) in columns.items()
    }  # fmt: skip
    return SheetTable(file=file, sheet=sheet, row=kind, fields=fields)


def template_crosswalk(
    site: str, language: Language, tables: tuple[SheetTable, ...], decimal: DecimalMark
) -> TemplateCrosswalk:
    """The crosswalk of a centre's filled templates, whose sheets are `tables`."""
    return TemplateCrosswalk(
        site=site, title=site, language=language, dates="year-first", decimal=decimal, table=tables
    )


def blank_crosswalk(site: str) -> TemplateCrosswalk:
    """The crosswalk of a template as it is handed out in English."""
    tables = []
    for kind in RECORD_KINDS:
        columns = {
            name: (heading(field, "en", DEFAULT_NOTATION), acuity_notation(field, DEFAULT_NOTATION))
            for name, field in upload_fields(kind).items()
        }
        tables.append(template_table(kind, columns, sheet_title(kind, "en"), "*"))
    return template_crosswalk(site, "en", tuple(tables), "point")


def site_crosswalk(study_folder: Path, study: Study, site: str) -> Crosswalk:
    """A centre's own crosswalk, or the template's where it has none. Raises SettingsError."""
    if crosswalk_path(study_folder, site).exists():
        return read_crosswalk(study_folder, study, site)
    return blank_crosswalk(site)
