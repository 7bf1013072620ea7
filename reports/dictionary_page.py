"""The dictionary page: the whole codebook in words, derived from its declarations."""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass

from reports.page import render
from reports.run_view import RunView
from schemas import codes
from schemas.codebook import (
    RECORD_KINDS,
    RECORD_TABLE,
    TABLES,
    VERSION,
    UploadField,
    table_fields,
    upload_fields,
)
from schemas.conventions import OFF_CHART_SETS, SIZE_SCHEMES
from schemas.field import FieldSpec, Identifier, Missing, Reading
from schemas.rules import RULES, Rule
from schemas.units import unit_sign, units_for

COLUMN_KINDS = {"Int64": "whole number", "float64": "number", "boolean": "yes or no"}

READINGS: dict[Reading, str] = {
    "acuity": "an acuity in the notation that the crosswalk names, or a word off the chart",
    "code": "words for a code",
    "date": "a date",
    "identity": "text that is turned into a random code",
    "integer": "a whole number",
    "number": "a number",
    "tamponade": "words for a tamponade, with its concentration",
    "technique": "words for a technique and its details",
    "yes_no": "words for yes or no",
}

IDENTIFIERS: dict[Identifier, str] = {
    "direct": "names a person by itself; it never reaches the warehouse as it stands",
    "indirect": "can single out a person together with others; it is kept, and never released "
    "row by row",
    "none": "neither",
}

WITHOUT: dict[Missing, str] = {
    "hold": "the row is kept out of the pool where it is empty",
    "ask": "the centre is asked where it is empty",
}


@dataclass(frozen=True)
class Entry:
    """A field with what can be said of it in words."""

    spec: FieldSpec
    kind: str
    unit: str
    comes_from: str
    called_for: str


@dataclass(frozen=True)
class TableEntry:
    """A table of the warehouse with its fields."""

    name: str
    description: str
    entries: list[Entry]


@dataclass(frozen=True)
class UploadEntry:
    """A field that a crosswalk may name; `columns` are the columns that are made from it."""

    name: str
    title: str
    reads: str
    units: str
    columns: list[str]


@dataclass(frozen=True)
class IdentifierEntry:
    """A field of an upload that is turned into something else; `kinds` are the records with it."""

    spec: FieldSpec
    kinds: list[str]
    called_for: str


def dictionary_page(view: RunView) -> str:
    """The page dictionary.html."""
    return render(
        "dictionary.html",
        title="Dictionary",
        study_name=view.study.study.name,
        week=view.week,
        code_version=view.code_version,
        here="dictionary.html",
        study=view.study,
        codebook_version=VERSION,
        tables=[_table(name) for name in TABLES],
        identifier_classes=IDENTIFIERS,
        uploads={kind: _upload_entries(kind) for kind in RECORD_TABLE},
        record_tables=RECORD_TABLE,
        identifiers=_identifier_entries(),
        rules={action: _rules(action) for action in codes.ACTION},
        actions=codes.ACTION,
        states=codes.STATE,
        off_chart_sets=OFF_CHART_SETS,
        off_chart=codes.OFF_CHART,
        size_schemes=SIZE_SCHEMES,
        size_titles={**codes.SIZE_CLASS, **codes.SIZE_BAND},
    )


def _table(name: str) -> TableEntry:
    columns = TABLES[name].to_schema().columns
    entries = [
        Entry(
            spec=spec,
            kind=_kind(spec, str(columns[column].dtype)),
            unit=unit_sign(spec.unit),
            comes_from=_comes_from(spec),
            called_for=_called_for(spec, name),
        )
        for column, spec in table_fields(name).items()
    ]
    return TableEntry(name, (TABLES[name].__doc__ or "").strip(), entries)


def _kind(spec: FieldSpec, column_type: str) -> str:
    return "code" if spec.codes else COLUMN_KINDS.get(column_type, "text")


def _comes_from(spec: FieldSpec) -> str:
    if not spec.upload:
        return "made by the tool"
    first, *others = spec.upload
    if spec.reads is None:
        return f"worked out from {', '.join(spec.upload)}"
    instead = f"; where it is not given, from {' or '.join(others)}" if others else ""
    return f"{first}, read as {READINGS[spec.reads]}{instead}"


def _called_for(spec: FieldSpec, table: str) -> str:
    """When the field must be filled in, and what happens where it is not."""
    if spec.required is None:
        return ""
    if spec.required.when is None:
        return f"always; {WITHOUT[spec.required.without]}"
    other = table_fields(table)[spec.required.when]
    meanings: dict[str, str] = other.codes or {}
    values = ", ".join(meanings.get(code, code) for code in spec.required.codes)
    return f"where {other.title} is one of: {values}; {WITHOUT[spec.required.without]}"


def _upload_entries(kind: str) -> list[UploadEntry]:
    record = next(known for known in RECORD_KINDS if known == kind)
    made_from: dict[str, list[str]] = defaultdict(list)
    for column, spec in table_fields(RECORD_TABLE[record]).items():
        for upload in spec.upload:
            made_from[upload].append(column)
    return [
        UploadEntry(
            name=name,
            title=upload.spec.title,
            reads=READINGS[upload.spec.reads] if upload.spec.reads else "",
            units=_units(upload),
            columns=made_from[name],
        )
        for name, upload in upload_fields(record).items()
    ]


def _units(upload: UploadField) -> str:
    return ", ".join(unit_sign(unit) for unit in units_for(upload.spec.unit))


def _identifier_entries() -> list[IdentifierEntry]:
    """Fields of uploads that are no columns, each once with the kinds of record that have it."""
    kinds: dict[str, list[str]] = defaultdict(list)
    specs: dict[str, FieldSpec] = {}
    for kind in RECORD_KINDS:
        for name, upload in upload_fields(kind).items():
            if upload.column is None:
                kinds[name].append(kind)
                specs[name] = upload.spec
    return [
        IdentifierEntry(spec, kinds[name], _called_for(spec, "operations"))
        for name, spec in specs.items()
    ]


@dataclass(frozen=True)
class RuleEntry:
    """A rule with its words, where ‹…› stands for what a finding fills in."""

    name: str
    message: str
    mend: str


def _rules(action: str) -> list[RuleEntry]:
    return [
        RuleEntry(rule.name, _open_words(rule, rule.message), _open_words(rule, rule.mend))
        for rule in RULES.values()
        if rule.action == action
    ]


def _open_words(rule: Rule, words: str) -> str:
    return re.sub(r"\{(\w+)\}", lambda name: f"‹{name[1]}›", words.replace("{title}", "{field}"))
