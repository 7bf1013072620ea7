"""Templates filled in with invented cases, as a centre would do it."""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Collection, Mapping
from io import BytesIO, StringIO

import openpyxl

from reports.template import template_workbook
from schemas.codebook import RECORD_KINDS, RecordKind, UploadField, upload_fields
from schemas.codes import CLOSURE_UNKNOWN, GASES, GRAFT_MATERIAL, OILS, POSTURE
from schemas.conventions import GAS_CONCENTRATIONS, GasConcentration
from schemas.crosswalk import Language
from schemas.field import Limits
from schemas.template import heading, is_needed, sheet_title, word_list
from schemas.translation import list_word

# Enough cases that each word of each list is entered somewhere, beside words that it goes with.
CASES = 30
FIRST_OPERATION = dt.date(2024, 3, 4)
BORN, AGE = dt.date(1959, 1, 2), 65
DAYS_TO_VISIT = 90
Row = Mapping[str, object]

IN_WORDS: Mapping[Language, str] = {
    "en": "3 months", "es": "3 meses", "fr": "M3", "de": "3 Monate", "pt": "3 meses"
}  # fmt: skip
ARM_UM, FALSE_ANSWERS_PCT = 700, 5
_MIXED_BY = 2
TISSUES = tuple(code for code in GRAFT_MATERIAL if not code.startswith("none_"))

# Fields that are entered only beside these codes of another: elsewhere they would be asked about.
ENTERED_BESIDE: Mapping[str, tuple[str, Collection[str]]] = {
    **dict.fromkeys(
        ("graft_diameter", "graft_second_diameter", "harvest_method", "donor_region",
         "graft_size_reference"), ("technique", TISSUES)
    ),
    "tamponade_pct": ("tamponade", GASES),
    "tamponade_viscosity": ("tamponade", OILS),
    "posture_days": ("posture", [code for code in POSTURE if code != "none"]),
    "under_tamponade": ("closure", CLOSURE_UNKNOWN),
    "graft_position": ("closure", ("closed_retinal_bridging", "closed_unspecified")),
    **dict.fromkeys(
        ("perimetry_false_positive", "perimetry_false_negative"), ("perimetry_reliable", ("yes",))
    ),
}  # fmt: skip


def code_of(field: UploadField, place: int) -> str | None:
    """The code that case number `place` has in a field: the list's codes in turn.

    A list that goes with another begins elsewhere each time round, so that their codes mix.
    """
    codes = word_list(field)
    if not codes or not _is_entered(field, place):
        return None
    shift = _MIXED_BY * (place // len(codes)) if field.name in ENTERED_BESIDE else 0
    return list(codes)[(place + shift) % len(codes)]


def _is_entered(field: UploadField, place: int) -> bool:
    if field.name not in ENTERED_BESIDE:
        return True
    other, codes = ENTERED_BESIDE[field.name]
    return code_of(upload_fields(field.kind)[other], place) in codes


def value_of(field: UploadField, place: int, language: Language) -> object:
    """What case number `place` enters into a field: a word, a date, or the middle of a range."""
    codes, code = word_list(field), code_of(field, place)
    operated = FIRST_OPERATION + dt.timedelta(days=place)
    if codes or not _is_entered(field, place):
        return list_word(code, codes, language) if codes and code else None
    match field.spec.reads:
        case "date":
            return BORN if field.name == "birth_date" else operated + _days_after(field)
        case "visit_time":
            return IN_WORDS[language]
        case "ring_radii":
            return "2/5/10/15/25"
        case "identity":
            return f"00{place + 1}" if field.name == "patient_id" else "Brakenholt"
    return _number_of(field, place)


def _number_of(field: UploadField, place: int) -> float:
    usual = {
        "age": AGE, "hole_arm_one": ARM_UM, "hole_arm_two": ARM_UM,
        "perimetry_false_positive": FALSE_ANSWERS_PCT,
        "perimetry_false_negative": FALSE_ANSWERS_PCT,
    }  # fmt: skip
    if field.name in usual:
        return usual[field.name]
    limits = field.spec.soft or field.spec.hard
    if field.name == "tamponade_pct":
        gas = code_of(upload_fields("operation")["tamponade"], place)
        return _middle(GAS_CONCENTRATIONS[str(gas)])
    assert limits is not None
    return _middle(limits)


def _middle(limits: Limits | GasConcentration) -> int:
    return round((limits.low + limits.high) / 2)


def _days_after(field: UploadField) -> dt.timedelta:
    return dt.timedelta(days=0 if field.kind == "operation" else DAYS_TO_VISIT)


def rows_of(kind: RecordKind, language: Language) -> list[Row]:
    """Every case with every field of its kind; of complications as many as there are terms."""
    fields = upload_fields(kind)
    terms = len(word_list(fields["complication"]) or ()) if kind == "complication" else CASES
    return [
        {name: value_of(field, place, language) for name, field in fields.items()}
        for place in range(terms)
    ]


def same_eyes(rows: list[Row], language: Language) -> list[Row]:
    """The rows, each with the eye that the case's operation has."""
    eyes = {row["patient_id"]: row["eye"] for row in rows_of("operation", language)}
    return [{**row, "eye": eyes[row["patient_id"]]} for row in rows]


def filled_template(
    language: Language, notation: str = "logmar", changes: Mapping[str, object] | None = None
) -> bytes:
    """The template with all cases; `changes` are values for every row, by field."""
    book = openpyxl.load_workbook(BytesIO(template_workbook("Tidewrack", language, notation)))
    for kind in RECORD_KINDS:
        sheet = book[sheet_title(kind, language)]
        places = {cell.value: cell.column for cell in sheet[1]}
        for number, row in enumerate(same_eyes(rows_of(kind, language), language), start=2):
            for name, value in {**row, **(changes or {})}.items():
                field = upload_fields(kind).get(name)
                if field is not None:
                    column = places[heading(field, language, notation)]
                    sheet.cell(number, column, value)
    return saved(book)


def saved(book: openpyxl.Workbook) -> bytes:
    target = BytesIO()
    book.save(target)
    return target.getvalue()


def operations_csv(language: Language, delimiter: str, decimal: str) -> bytes:
    """The operations alone as a text file, as a spreadsheet program writes them."""
    fields = upload_fields("operation")
    target = StringIO()
    writer = csv.writer(target, delimiter=delimiter)
    writer.writerow(heading(field, language, "logmar") for field in fields.values())
    for row in rows_of("operation", language):
        values = {**row, "axial_length": 24.5}.values()
        writer.writerow(str(v).replace(".", decimal) if isinstance(v, float) else v for v in values)
    return target.getvalue().encode()


def optional_headings(kind: RecordKind, language: Language) -> list[str]:
    """Headings of the columns that a centre may delete."""
    return [
        heading(field, language, "logmar")
        for field in upload_fields(kind).values()
        if not is_needed(field)
    ]
