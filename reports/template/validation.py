"""What a cell of the template accepts: the codebook's hard limits stop, lists only warn."""

from __future__ import annotations

import datetime as dt
from typing import Any

from reports.template.wording import limits_text, paragraph, ranges_text
from schemas.codebook import RECORD_TABLE, UploadField, table_fields
from schemas.crosswalk import Language
from schemas.field import Limits
from schemas.template import word_list
from schemas.translation import translated
from transforms.harmonise.acuity.notations import SCALES

# Before it no one was born whose eye is operated on; spreadsheets count days from here.
_EARLIEST = dt.date(1900, 1, 1)

NOT_IN_LIST = (
    "This is not in the list. It may be understood all the same; you will be asked if it is not."
)
NOT_POSSIBLE = "Only a number from {low} to {high}{unit} is possible, or an empty cell."
NO_DATE = "Only a date from {earliest} to today is possible, as {date_form}."
NO_ACUITY = "Write it as {acuity}, or off the chart as one of: {off_chart}."

Rule = dict[str, Any]


def cell_rule(field: UploadField, language: Language, notation: str, first: str) -> Rule | None:
    """Arguments of xlsxwriter's `data_validation` for the cells of a column.

    `first` is the address of its first cell. None where any text will do.
    """
    reads = field.spec.reads
    codes = word_list(field)
    if codes is not None:
        return _warn({"validate": "list", "source": f"={list_name(codes.name)}"}, language)
    if reads == "date":
        return _date_rule(field, language, notation)
    if reads == "acuity":
        return _acuity_rule(field, language, notation, first)
    if field.spec.holds_numbers and field.spec.hard is not None:
        return _number_rule(field, field.spec.hard, language)
    return None


def list_name(concept: str) -> str:
    """The workbook's name for the cells that hold the words of a list."""
    return f"list_{concept}"


def _warn(rule: Rule, language: Language) -> Rule:
    return {**rule, "error_type": "warning", "error_message": translated(NOT_IN_LIST, language)}


def _number_rule(field: UploadField, hard: Limits, language: Language) -> Rule:
    return {
        "validate": "integer" if field.spec.reads == "integer" else "decimal",
        "criteria": "between",
        "minimum": hard.low,
        "maximum": hard.high,
        "input_message": ranges_text(field, language),
        "error_message": limits_text(hard, NOT_POSSIBLE, field.spec.unit, language),
    }


def _date_rule(field: UploadField, language: Language, notation: str) -> Rule:
    earliest = _earliest(field)
    return {
        "validate": "date",
        "criteria": "between",
        "minimum": earliest,
        "maximum": "=TODAY()",
        "error_message": paragraph(NO_DATE, language, notation, earliest=earliest.isoformat()),
    }


def _earliest(field: UploadField) -> dt.date:
    """The first day of the earliest year that the codebook allows for what is made of the date."""
    years = [
        spec.hard.low
        for spec in table_fields(RECORD_TABLE[field.kind]).values()
        if spec.unit == "year" and spec.hard and field.name in spec.upload
    ]
    return dt.date(int(years[0]), 1, 1) if years else _EARLIEST


def _acuity_rule(field: UploadField, language: Language, notation: str, first: str) -> Rule:
    """Text is accepted: fractions, and words off the chart. A number must lie on the chart."""
    scale = SCALES.get(notation)
    if notation == "logmar" and field.spec.hard is not None:
        scale = (field.spec.hard.low, field.spec.hard.high)
    number = f",AND(ISNUMBER({first}),{first}>={scale[0]:g},{first}<={scale[1]:g})" if scale else ""
    return {
        "validate": "custom",
        "value": f"=OR(ISTEXT({first}){number})",
        "error_message": paragraph(NO_ACUITY, language, notation),
    }
