"""The codebook: every table, every field, and what an upload may name.

Everything that needs to know about fields asks here: the warehouse for its tables, the dictionary
page for its text, the crosswalk for the names it may use, the checks for their limits.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal, get_args

from schemas.field import FieldSpec, Table
from schemas.tables.complications import Complications
from schemas.tables.intake import ComplicationIntake, OperationIntake, VisitIntake
from schemas.tables.operations import Operations
from schemas.tables.provenance import Cells, Findings, Headings, Unread, Uploads, Weeks
from schemas.tables.visits import Visits

VERSION = "3"

RecordKind = Literal["operation", "visit", "complication"]
RECORD_KINDS: tuple[RecordKind, ...] = get_args(RecordKind)

TABLES: dict[str, type[Table]] = {
    "operations": Operations,
    "visits": Visits,
    "complications": Complications,
    "findings": Findings,
    "cells": Cells,
    "unread": Unread,
    "headings": Headings,
    "uploads": Uploads,
    "weeks": Weeks,
}

RECORD_TABLE: dict[RecordKind, str] = {
    "operation": "operations",
    "visit": "visits",
    "complication": "complications",
}

_INTAKE: dict[RecordKind, type[Table]] = {
    "operation": OperationIntake,
    "visit": VisitIntake,
    "complication": ComplicationIntake,
}

IDENTITY_FIELDS = ("patient_id", "eye")


@dataclass(frozen=True)
class UploadField:
    """A field that a crosswalk may name for one kind of record.

    `column` is the warehouse column that the cell is read into, or None for what becomes
    something else at de-identification.
    """

    name: str
    kind: RecordKind
    spec: FieldSpec
    column: str | None

    @property
    def is_direct_identifier(self) -> bool:
        return self.spec.identifier == "direct"


@cache
def fields(model: type[Table]) -> dict[str, FieldSpec]:
    """Column name to declaration, in the order of the table."""
    return {
        name: FieldSpec(name=name, **column.metadata["declaration"])
        for name, column in model.to_schema().columns.items()
    }


def table_fields(table: str) -> dict[str, FieldSpec]:
    """Declarations of a warehouse table, by column."""
    return fields(TABLES[table])


@cache
def upload_fields(kind: RecordKind) -> dict[str, UploadField]:
    """Every field that an upload may hold for one kind of record, by upload name."""
    found = {
        spec.name: UploadField(spec.name, kind, spec, None)
        for spec in fields(_INTAKE[kind]).values()
    }
    for column, spec in table_fields(RECORD_TABLE[kind]).items():
        if spec.uploaded_as:
            found[spec.uploaded_as] = UploadField(spec.uploaded_as, kind, spec, column)
    return found


@cache
def columns_from(kind: RecordKind) -> dict[str, tuple[str, ...]]:
    """Warehouse column to the upload fields that it is read or worked out from."""
    return {
        column: spec.upload
        for column, spec in table_fields(RECORD_TABLE[kind]).items()
        if spec.upload
    }
