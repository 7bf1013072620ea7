"""Columns of a table: which field stands where, and what to say where a heading does not fit."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field

import pandas as pd

from schemas.codebook import RecordKind
from schemas.crosswalk import Source
from transforms.findings import raised
from transforms.layout.blocks import Block
from transforms.layout.headings import Heading
from transforms.reading import UnreadableUpload, address


@dataclass
class ColumnMap:
    """Column of each field of each block, as far as the headings allow."""

    columns: list[dict[str, int]] = field(default_factory=list)
    findings: list[pd.DataFrame] = field(default_factory=list)

    def mapped(self) -> list[int]:
        """Every column that is read, once, from left to right."""
        return sorted({column for block in self.columns for column in block.values()})


def map_columns(
    heading: Heading, blocks: list[Block], needed: Collection[str], sheet: str, sheet_in_words: str
) -> ColumnMap:
    """Finds the column of every source with a heading.

    A heading that is missing or doubled becomes one finding, and its fields are missing; for a
    field of `needed` in a block of the first one's kind, without which no row is a record, the
    upload cannot be read at all: raises UnreadableUpload with the heading and the nearest others.
    """
    kind = blocks[0].kind
    named = [s.heading for block in blocks for s in block.sources.values() if s.heading]
    result = ColumnMap()
    told: set[str] = set()
    for block in blocks:
        columns: dict[str, int] = {}
        for name, source in block.sources.items():
            if source.heading is None:
                continue
            places = heading.columns_of(source.heading)
            if len(places) == 1:
                columns[name] = places[0]
                continue
            if name in needed and block.kind == kind:
                why = _why_unreadable(heading, source, places, named)
                raise UnreadableUpload(f"{sheet_in_words}: {why}")
            if source.heading not in told:
                told.add(source.heading)
                result.findings.append(
                    _heading_finding(heading, block.kind, name, source, places, named, sheet)
                )
        result.columns.append(columns)
    return result


def _nearest(heading: Heading, wanted: str, named: list[str]) -> str:
    close = heading.nearest_to(wanted, named)
    return "nearest: " + ", ".join(f"'{text}'" for text in close) if close else "nothing like it is"


def _why_unreadable(heading: Heading, source: Source, places: list[int], named: list[str]) -> str:
    wanted = str(source.heading)
    if places:
        return f"the heading '{wanted}' stands {len(places)} times; keep one"
    nearest = _nearest(heading, wanted, named)
    return f"the heading '{wanted}' is not there; {nearest}; put it back or change the crosswalk"


def _heading_finding(
    heading: Heading, kind: RecordKind, name: str, source: Source, places: list[int],
    named: list[str], sheet: str,
) -> pd.DataFrame:  # fmt: skip
    wanted = str(source.heading)
    cell = address(heading.last_row, places[0]) if places else None
    where = pd.DataFrame({"kind": [kind], "field": [name], "sheet": [sheet], "cell": [cell]})
    if places:
        return raised("heading_doubled", where, heading=wanted, count=len(places))
    return raised("heading_missing", where, heading=wanted, other=_nearest(heading, wanted, named))
