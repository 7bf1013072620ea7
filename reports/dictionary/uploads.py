"""What an upload may hold: fields, what a crosswalk may declare of them, how columns are headed."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from reports.dictionary.columns import READINGS, called_for
from reports.dictionary.words import Link, words_of
from schemas.codebook import (
    RECORD_KINDS,
    RECORD_TABLE,
    RecordKind,
    UploadField,
    columns_from,
    upload_fields,
)
from schemas.crosswalk import LANGUAGES, Source, details_of
from schemas.field import FieldSpec
from schemas.translation import translated
from schemas.units import UNIT_MUST_BE_NAMED
from schemas.word_lists import Words, word_list


@dataclass(frozen=True)
class UploadEntry:
    """A field that a crosswalk may name.

    `details` are what the crosswalk may say of it, each with the names of which it is one;
    `becomes` the columns that are made from it; `headings` the words by which a column is known.
    """

    name: str
    spec: FieldSpec
    reads: str
    called_for: str
    words: Link | None
    details: dict[str, tuple[str, ...]]
    must_name_unit: bool
    becomes: list[str]
    headings: Words


@dataclass(frozen=True)
class DetailEntry:
    """A detail of a crosswalk's source, and the fields that may have it; all where there are none
    named."""

    name: str
    description: str
    titles: tuple[str, ...]


@dataclass(frozen=True)
class IdentifierEntry:
    """A field of an upload that is turned into something else; `kinds` are the records with it."""

    spec: FieldSpec
    kinds: list[str]
    called_for: str


def upload_entries(kind: RecordKind) -> list[UploadEntry]:
    """The fields of one kind of record, in the order of the codebook."""
    headings = _headings(kind)
    becomes = _columns_made(kind)
    return [
        UploadEntry(
            name=name,
            spec=upload.spec,
            reads=READINGS[upload.spec.reads] if upload.spec.reads else "",
            called_for=called_for(upload.spec, RECORD_TABLE[kind]),
            words=words_of(upload.spec),
            details=_told_details(upload),
            must_name_unit=upload.spec.unit in UNIT_MUST_BE_NAMED,
            becomes=becomes[name],
            headings=headings[name],
        )
        for name, upload in upload_fields(kind).items()
    ]


def detail_entries() -> list[DetailEntry]:
    """Every detail that a crosswalk may give beside a heading, with the fields that may have it."""
    titles: dict[str, dict[str, None]] = defaultdict(dict)
    for kind in RECORD_KINDS:
        for upload in upload_fields(kind).values():
            for detail in details_of(upload.spec):
                titles[detail][upload.spec.title] = None
    return [
        DetailEntry(name, field.description or "", tuple(titles[name]))
        for name, field in Source.model_fields.items()
    ]


def identifier_entries() -> list[IdentifierEntry]:
    """Fields of uploads that are no columns, each once with the kinds of record that have it."""
    kinds: dict[str, list[str]] = defaultdict(list)
    specs: dict[str, FieldSpec] = {}
    for kind in RECORD_KINDS:
        for name, upload in upload_fields(kind).items():
            if upload.column is None:
                kinds[name].append(kind)
                specs[name] = upload.spec
    return [
        IdentifierEntry(spec, kinds[name], called_for(spec, "operations"))
        for name, spec in specs.items()
    ]


def _told_details(upload: UploadField) -> dict[str, tuple[str, ...]]:
    """The field's details; codes stand at its column, so they are not told again."""
    found = details_of(upload.spec)
    return {name: () if name == "codes" else names for name, names in found.items()}


def _columns_made(kind: RecordKind) -> dict[str, list[str]]:
    made: dict[str, list[str]] = defaultdict(list)
    for column, names in columns_from(kind).items():
        for name in names:
            made[name].append(column)
    return made


def _headings(kind: RecordKind) -> dict[str, Words]:
    """Words for the heading of each field: its title in each language, then the listed ones."""
    listed = {**word_list("headings/case").codes, **word_list(f"headings/{kind}").codes}
    return {
        name: {
            language: tuple(
                dict.fromkeys(
                    (
                        translated(upload.spec.title, language),
                        *listed.get(name, {}).get(language, ()),
                    )
                )
            )
            for language in LANGUAGES
        }
        for name, upload in upload_fields(kind).items()
    }
