"""Sentences of the template: what to do, and what each column takes.

English stands here; the other languages stand in `schemas/languages/`.
"""

from __future__ import annotations

from babel.numbers import format_decimal

from schemas.codebook import RECORD_TABLE, UploadField, table_fields, upload_fields
from schemas.codes import OFF_CHART
from schemas.crosswalk import IN_PLACE_OF, Language
from schemas.field import Limits
from schemas.template import DATE_FORM, is_needed, sheet_title, word_list
from schemas.translation import list_word, translated
from schemas.units import unit_sign

# Each section: what it is about, and its paragraphs.
SECTIONS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "Before you begin",
        (
            "Ethics approval, data-sharing agreement and law in force at your centre go first. "
            "Fill in and send this workbook only as far as they allow.",
            "This workbook is for research. It gives no advice for one patient; care is settled by "
            "licensed practice.",
        ),
    ),
    (
        "What one row is",
        (
            "{operations}: one row for each operation of one eye, re-operations of the macula "
            "included.",
            "{visits}: one row for each examination of one eye. The last one before the operation "
            "is the baseline; enter it too.",
            "{complications}: one row for each adverse event. No event is no row.",
            "Record number and eye tie the three sheets together: write them in the same way on "
            "each.",
        ),
    ),
    (
        "Headings",
        (
            "Leave the headings as they are. Columns that you do not use may stay empty or be "
            "deleted, columns may change places, and columns that you add are not read.",
            "The note on each heading says what belongs into its column.",
        ),
    ),
    (
        "How to write values",
        (
            "Choose words from the lists; '{lists}' explains each of them. Other words of your "
            "language are understood as far as they are known, and you will be asked where they "
            "are not.",
            "Write numbers alone, in the unit of the heading: no unit, no <, no ~, no range.",
            "Write dates as {date_form}, for example {date}.",
            "Write acuities in the notation of the heading, for example {acuity}. Acuities off the "
            "chart are written in words: {off_chart}.",
            "Leave a cell empty where a value was not measured or is not known: no 0, no 999, no "
            "dash, no question mark.",
        ),
    ),
    (
        "What happens with identifiers",
        (
            "Record numbers, surgeons' names and dates are there to tie rows together. At the "
            "coordinator's they become random codes, days from the operation and ages; as they "
            "stand they never come into the pooled data.",
            "Where your agreement forbids sending record numbers, enter numbers of your own in "
            "their place and keep the key at your centre. Let them stay the same each time.",
            "Enter no patient's name, and nothing about patients in further columns, notes or "
            "sheet names.",
        ),
    ),
    (
        "Saving and sending",
        (
            "Name the file by your centre and the year and week alone, for example "
            "centre_2026-W47.xlsx; no patient's name, number or date belongs in it.",
            "Send it to the coordinator of the study, and to nobody else, in the way that your "
            "data-sharing agreement names.",
            "Send the whole workbook each time, earlier rows included: a row that is gone is taken "
            "for withdrawn.",
        ),
    ),
)

# What a column of the template holds, where the codebook says what becomes of it, or leaves to a
# crosswalk how it is written.
OWN_DESCRIPTIONS = {
    "acuity": "Distance acuity at this visit, the best corrected one that was measured.",
    "acuity_pinhole": "Distance acuity through a pinhole; it is kept apart from the other.",
    "graft_diameter": "Trephine or measured diameter of the graft; of an oval one the first of "
    "its two diameters.",
    "perimetry_md": "Negative is loss. Where your perimeter gives a mean defect, positive for "
    "loss, turn the sign.",
}

# What the look of a heading says.
NEEDED = "Needed: a row without it is not counted."
NEEDED_OR_OTHER = "Needed, or else '{title}': a row with neither is not counted."
WANTED = "Wanted for every case: you will be asked where it is empty."
OPTIONAL = "Enter it where your centre records it."

# 20/40 in every notation (DICOM PS3.17, RR.2.2), but for letters at 1 m, where it has none: they
# are of eyes that read no letter at 4 m, and 20 is 20/400.
_ACUITY_EXAMPLES: dict[str, str | float] = {
    "snellen_feet": "20/40",
    "snellen_metres": "6/12",
    "decimal": 0.5,
    "logmar": 0.3,
    "letters": 70,
    "letters_100": 85,
    "letters_4m": "40, 12+18",
    "letters_1m": 20,
}
_DATE_EXAMPLE = "2025-03-14"
_RINGS_EXAMPLE = "2/5/10/15/25"


def number_text(value: float, language: Language) -> str:
    """A number with the language's decimal mark."""
    return format_decimal(value, locale=language, group_separator=False)


def acuity_example(notation: str, language: Language) -> str:
    """The acuity 20/40 in a notation that has it, else another."""
    example = _ACUITY_EXAMPLES[notation]
    return example if isinstance(example, str) else number_text(example, language)


def paragraph(text: str, language: Language, notation: str, **facts: str) -> str:
    """A text in a language, its names and examples filled in; `facts` are further ones."""
    names = {table: sheet_title(kind, language) for kind, table in RECORD_TABLE.items()}
    return translated(text, language).format(
        **names,
        **facts,
        lists=translated("Lists", language),
        date_form=translated(DATE_FORM, language),
        date=_DATE_EXAMPLE,
        rings=_RINGS_EXAMPLE,
        acuity=acuity_example(notation, language),
        off_chart=", ".join(list_word(code, OFF_CHART, language) for code in OFF_CHART),
    )


def is_wanted(field: UploadField) -> bool:
    """Whether the centre is asked for the field wherever it is empty."""
    required = field.spec.required
    return required is not None and required.when is None and not is_needed(field)


def called_for(field: UploadField, language: Language) -> str:
    """When the column is to be filled in."""
    required = field.spec.required
    if is_needed(field):
        return _needed(field, language)
    if required is None or required.when is None:
        return translated(WANTED if is_wanted(field) else OPTIONAL, language)
    other = table_fields(RECORD_TABLE[field.kind])[required.when]
    assert other.codes is not None
    words = ", ".join(list_word(code, other.codes, language) for code in required.codes)
    text = "Wanted where '{title}' is one of: {words}."
    return translated(text, language).format(title=translated(other.title, language), words=words)


def _needed(field: UploadField, language: Language) -> str:
    other = upload_fields(field.kind).get(IN_PLACE_OF.get(field.name, ""))
    if other is None:
        return translated(NEEDED, language)
    title = translated(other.spec.title, language)
    return translated(NEEDED_OR_OTHER, language).format(title=title)


def limits_text(limits: Limits | None, which: str, unit: str | None, language: Language) -> str:
    """The sentence `which` about a range, in the field's unit; empty where there is none."""
    if limits is None:
        return ""
    sign = translated(unit_sign(unit), language) if unit else ""
    return translated(which, language).format(
        low=number_text(limits.low, language),
        high=number_text(limits.high, language),
        unit=f" {sign}" if sign else "",
    )


POSSIBLE = "Possible: {low} to {high}{unit}."
USUAL = "Usual: {low} to {high}{unit}."


def ranges_text(field: UploadField, language: Language) -> str:
    """Possible and usual range of a number; empty for what is no number."""
    spec = field.spec
    if not field.spec.holds_numbers:
        return ""
    parts = (
        limits_text(spec.hard, POSSIBLE, spec.unit, language),
        limits_text(spec.soft, USUAL, spec.unit, language),
    )
    return " ".join(part for part in parts if part)


def _how_to_write(field: UploadField, language: Language, notation: str) -> str:
    if field.spec.reads == "acuity":
        text = "For example {acuity}. Off the chart: {off_chart}."
        return paragraph(text, language, notation)
    if field.spec.reads == "date":
        return paragraph("For example {date}.", language, notation)
    if field.spec.reads == "ring_radii":
        return paragraph("For example {rings}.", language, notation)
    if word_list(field):
        return translated("Choose from the list.", language)
    return ranges_text(field, language)


def heading_note(field: UploadField, language: Language, notation: str) -> str:
    """What the column holds, how it is written, and when: the note on its heading."""
    description = OWN_DESCRIPTIONS.get(field.name, field.spec.description)
    lines = (
        translated(description, language),
        _how_to_write(field, language, notation),
        called_for(field, language),
    )
    return "\n".join(line for line in lines if line)
