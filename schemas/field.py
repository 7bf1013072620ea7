"""One field of the codebook: everything that is known about a column stands in its declaration.

`field` is used inside the pandera models of `schemas.tables`. It turns the declaration into a
pandera field (type, codes and hard limits are checked by pandera itself) and keeps the whole
declaration as a `FieldSpec` in the field's metadata, from which the warehouse tables, the
dictionary page, the heading matcher and the checks are derived.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import pandera.pandas as pa

from schemas.codes import CodeList

Identifier = Literal["direct", "indirect", "none"]
Missing = Literal["hold", "ask"]

# How the cell of an upload is read: `transforms.validate` reads identities and dates,
# `transforms.harmonise` everything else.
Reading = Literal[
    "acuity", "code", "date", "deviation", "diameter", "identity", "integer", "number",
    "posture", "ring_radii", "tamponade", "technique", "visit_time", "yes_no",
]  # fmt: skip

# Readings of a number with a unit, and of plain numbers; an acuity is none.
QUANTITIES: tuple[Reading, ...] = ("deviation", "diameter", "number")
_NUMBERS: tuple[Reading, ...] = (*QUANTITIES, "integer")


@dataclass(frozen=True)
class Limits:
    """A closed range in the field's unit, and where the range comes from."""

    low: float
    high: float
    source: str


A_SHARE = Limits(0, 100, "a share")


@dataclass(frozen=True)
class Required:
    """When a field must be filled in, and what happens to the row where it is not.

    `when` names another column of the same table and `codes` the values of it that call for this
    field; without `when` the field is always called for. `without` is the action of the finding.
    """

    without: Missing
    when: str | None = None
    codes: tuple[str, ...] = ()


@dataclass(frozen=True)
class FieldSpec:
    """The declaration of one field.

    `upload` names the fields of an upload that the value comes from: one for a value that is
    read from a cell, several for a value that is worked out from others, none for a value that
    the tool itself makes. `reads` says how the cell is read; it is empty for what is worked out.
    `version` counts the ways in which a column has been worked out, and is raised with each change.
    `is_seldom` marks what few centres record: the upload template has its column last.
    """

    name: str
    title: str
    description: str
    unit: str | None
    codes: CodeList | None
    hard: Limits | None
    soft: Limits | None
    identifier: Identifier
    required: Required | None
    upload: tuple[str, ...]
    reads: Reading | None
    source: str | None
    version: int
    is_seldom: bool

    @property
    def uploaded_as(self) -> str | None:
        """Name of the upload field whose cell holds this value, if one cell does."""
        return self.upload[0] if self.reads else None

    @property
    def holds_numbers(self) -> bool:
        """Whether the cells of its column are plain numbers."""
        return self.reads in _NUMBERS


def field(
    title: str,
    description: str,
    *,
    unit: str | None = None,
    codes: CodeList | None = None,
    hard: Limits | None = None,
    soft: Limits | None = None,
    identifier: Identifier = "none",
    required: Required | None = None,
    upload: str | tuple[str, ...] = (),
    reads: Reading | None = None,
    source: str | None = None,
    version: int = 1,
    is_seldom: bool = False,
    nullable: bool = True,
    unique: bool = False,
    alias: str | None = None,
) -> Any:
    """Declare a field in a pandera model; see `FieldSpec` for the meaning of the arguments.

    `alias` names the column where its name cannot be an attribute of the model.
    Returns `Any` because pandera's model syntax gives a field where the annotation says a type.
    """
    declaration = {
        "title": title,
        "description": description,
        "unit": unit,
        "codes": codes,
        "hard": hard,
        "soft": soft,
        "identifier": identifier,
        "required": required,
        "upload": (upload,) if isinstance(upload, str) else upload,
        "reads": reads,
        "source": source,
        "version": version,
        "is_seldom": is_seldom,
    }
    return pa.Field(
        nullable=nullable,
        unique=unique,
        alias=alias,
        title=title,
        description=description,
        isin=list(codes) if codes else None,
        ge=hard.low if hard else None,
        le=hard.high if hard else None,
        metadata={"declaration": declaration},
    )


class Table(pa.DataFrameModel):
    """Base of every table: no column beside the declared ones, in the declared order."""

    class Config:
        strict = True
        ordered = True
