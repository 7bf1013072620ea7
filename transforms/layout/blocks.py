"""Blocks: what one row of a crosswalk's table may hold, an operation before its visits."""

from __future__ import annotations

from dataclasses import dataclass

from schemas.codebook import RecordKind
from schemas.crosswalk import NEEDED_FIELDS, SheetTable, Source, Sources


@dataclass(frozen=True)
class Block:
    """Fields of one kind of record that stand together in a row.

    A visit block belongs to the operation of its row; `eye` is set where the row holds both eyes,
    and `shared` then names the fields that both eyes have in common.
    """

    kind: RecordKind
    sources: Sources
    at: str | None = None
    eye: str | None = None
    in_operation_row: bool = False
    shared: frozenset[str] = frozenset()


def blocks_of(table: SheetTable) -> list[Block]:
    """The blocks of a table."""
    if table.row != "patient":
        visits = [
            Block("visit", visit.sources, at=visit.at, in_operation_row=True)
            for visit in table.visits
        ]
        return [Block(table.row, table.fields), *visits]
    blocks = []
    for eye in table.eyes:
        common = {**table.fields, "eye": Source(constant=eye.eye)}
        sources = {**common, **eye.fields}
        blocks.append(Block("operation", sources, eye=eye.eye, shared=frozenset(common)))
        blocks += [
            Block("visit", visit.sources, at=visit.at, eye=eye.eye, in_operation_row=True)
            for visit in eye.visits
        ]
    return blocks


def headings_of(blocks: list[Block]) -> list[str]:
    """Every heading that the blocks name."""
    return [s.heading for block in blocks for s in block.sources.values() if s.heading]


def needed_fields(table: SheetTable) -> frozenset[str]:
    """Fields of the table's first block that must have a column."""
    if table.row == "patient":
        return frozenset(NEEDED_FIELDS["operation"]) - {"eye"}
    return frozenset(table.needed_fields)
