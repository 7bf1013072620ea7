"""Templates filled in with invented cases, as a centre would do it."""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Mapping
from io import BytesIO, StringIO

import openpyxl

from reports.template import template_workbook
from schemas.codebook import RECORD_KINDS, RecordKind, UploadField, upload_fields
from schemas.crosswalk import Language
from schemas.template import heading, is_needed, sheet_title, word_list
from schemas.translation import list_word

# As many cases as the longest list of operations or visits has words, so that each is entered.
CASES = max(
    len(codes)
    for kind in ("operation", "visit")
    for field in upload_fields(kind).values()
    if (codes := word_list(field))
)
FIRST_OPERATION = dt.date(2024, 3, 4)
BORN, AGE = dt.date(1959, 1, 2), 65
Row = Mapping[str, object]


def code_of(field: UploadField, place: int) -> str | None:
    """The code that case number `place` has in a field: the list's codes in turn."""
    codes = word_list(field)
    return list(codes)[place % len(codes)] if codes else None


def value_of(field: UploadField, place: int, language: Language) -> object:
    """What case number `place` enters into a field: a word, a date, or the middle of a range."""
    codes, code = word_list(field), code_of(field, place)
    operated = FIRST_OPERATION + dt.timedelta(days=place)
    if codes and code:
        return list_word(code, codes, language)
    if field.spec.reads == "date":
        return BORN if field.name == "birth_date" else operated + _days_after(field)
    if field.name == "age":
        return AGE
    limits = field.spec.soft or field.spec.hard
    if field.spec.reads in ("number", "integer", "acuity") and limits:
        return round((limits.low + limits.high) / 2)
    return f"00{place + 1}" if field.name == "patient_id" else "Brakenholt"


def _days_after(field: UploadField) -> dt.timedelta:
    return dt.timedelta(days=0 if field.kind == "operation" else 90)


def rows_of(kind: RecordKind, language: Language) -> list[Row]:
    """Every case with every field of its kind; complications of as many cases as there are terms,
    the first ones have two."""
    fields = upload_fields(kind)
    terms = len(word_list(fields["complication"]) or ()) if kind == "complication" else CASES
    return [
        {
            name: value_of(
                field, place if name in ("complication", "needed_surgery") else place % CASES,
                language,
            )
            for name, field in fields.items()
        }
        for place in range(terms)
    ]  # fmt: skip


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
        texts = {**row, "axial_length": 24.5}.values()
        writer.writerow(
            str(v).replace(".", decimal) if isinstance(v, float) else str(v) for v in texts
        )
    return target.getvalue().encode()


def optional_headings(kind: RecordKind, language: Language) -> list[str]:
    """Headings of the columns that a centre may delete."""
    return [
        heading(field, language, "logmar")
        for field in upload_fields(kind).values()
        if not is_needed(field)
    ]
