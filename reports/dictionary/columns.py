"""The warehouse's columns in words: kind, unit, limits, codes, what each comes from and when."""

from __future__ import annotations

from dataclasses import dataclass

from reports.dictionary.words import Link, words_of
from schemas.codebook import RECORD_KINDS, RECORD_TABLE, TABLES, table_fields, upload_fields
from schemas.field import FieldSpec, Missing, Reading
from schemas.units import unit_sign

COLUMN_KINDS = {"Int64": "whole number", "float64": "number", "boolean": "yes or no"}

READINGS: dict[Reading, str] = {
    "acuity": "an acuity in the notation that the crosswalk names, or a word off the chart",
    "code": "words for a code",
    "date": "a date",
    "deviation": "a number, its sign turned where the crosswalk says that loss is positive",
    "diameter": "a diameter, or the two diameters of an oval",
    "identity": "text that is turned into a random code",
    "integer": "a whole number",
    "number": "a number",
    "posture": "words for a posture, with its days",
    "ring_radii": "increasing radii, parted in any way",
    "tamponade": "words for a tamponade, with its concentration or viscosity",
    "technique": "words for a technique and its details",
    "visit_time": "words for the time of a visit",
    "yes_no": "words for yes or no",
}

WITHOUT: dict[Missing, str] = {
    "hold": "the row is kept out of the pool where it is empty",
    "ask": "the centre is asked where it is empty",
}


@dataclass(frozen=True)
class ColumnEntry:
    """A column with what can be said of it in words.

    `origins` are the upload fields that it is made of, by name: where it is read, it is so from the
    first, as what `reads` says, and the others stand in. `own_version` is the version of the
    column's own rule where it is worked out, else empty; `words` the vocabulary that it is read by,
    if there is one.
    """

    spec: FieldSpec
    kind: str
    unit: str
    reads: str
    origins: tuple[Link, ...]
    called_for: str
    own_version: str
    words: Link | None


@dataclass(frozen=True)
class TableEntry:
    """A table of the warehouse with its columns."""

    name: str
    description: str
    columns: list[ColumnEntry]


def table_entries() -> list[TableEntry]:
    """Every table of the warehouse, in the order of the codebook."""
    return [_table(name) for name in TABLES]


def _table(name: str) -> TableEntry:
    types = TABLES[name].to_schema().columns
    columns = [
        _column(name, spec, str(types[column].dtype)) for column, spec in table_fields(name).items()
    ]
    return TableEntry(name, (TABLES[name].__doc__ or "").strip(), columns)


def _column(table: str, spec: FieldSpec, column_type: str) -> ColumnEntry:
    is_worked_out = bool(spec.upload) and spec.reads is None
    return ColumnEntry(
        spec=spec,
        kind="code" if spec.codes else COLUMN_KINDS.get(column_type, "text"),
        unit=unit_sign(spec.unit),
        reads=READINGS[spec.reads] if spec.reads else "",
        origins=tuple(Link(name, _upload_anchor(name, table)) for name in spec.upload),
        called_for=called_for(spec, table),
        own_version=str(spec.version) if is_worked_out else "",
        words=words_of(spec),
    )


def _upload_anchor(name: str, table: str) -> str:
    """The entry of an upload field: of the table's own records where these have it."""
    kinds = sorted(RECORD_KINDS, key=lambda kind: RECORD_TABLE[kind] != table)
    kind = next(kind for kind in kinds if name in upload_fields(kind))
    return f"upload-{kind}-{name}"


def called_for(spec: FieldSpec, table: str) -> str:
    """When the field must be filled in, and what happens where it is not."""
    if spec.required is None:
        return ""
    if spec.required.when is None:
        return f"always; {WITHOUT[spec.required.without]}"
    other = table_fields(table)[spec.required.when]
    meanings: dict[str, str] = other.codes or {}
    values = ", ".join(meanings.get(code, code) for code in spec.required.codes)
    return f"where {other.title} is one of: {values}; {WITHOUT[spec.required.without]}"
