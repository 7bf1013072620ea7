"""The open findings of one centre, numbered in the order in which its files show them."""

from __future__ import annotations

import re
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

import pandas as pd

from reports.labels import field_title
from reports.numerals import is_missing
from schemas.codes import ACTION
from schemas.rules import RULES
from transforms.reading import Sheet, Workbook
from transforms.reading.addresses import column_number

_ADDRESS = re.compile(r"([A-Z]{1,3})([1-9][0-9]*)")
_LAST = 1 << 30


@dataclass(frozen=True)
class ReturnSource:
    """A file that the centre sent, as it was read; `upload_key` is its key in the warehouse."""

    file_name: str
    upload_key: str
    workbook: Workbook


@dataclass(frozen=True)
class Place:
    """Where a finding stands. `position` is (row, column) from 1, None for a sheet or a file."""

    file_name: str
    sheet: str = ""
    cell: str = ""
    position: tuple[int, int] | None = None
    is_here: bool = True
    hidden: str = ""

    @property
    def words(self) -> str:
        """'Surgery log, B7 (hidden row)'; for a matter of the whole file, its name."""
        words = ", ".join(part for part in (self.sheet, self.cell) if part) or self.file_name
        return f"{words} ({self.hidden})" if self.hidden else words


@dataclass(frozen=True)
class Item:
    """One open finding in words, and the key by which an answer finds its way back."""

    number: int
    upload: str
    place: Place
    field: str
    action: str
    message: str
    mend: str
    finding_key: str

    @property
    def done(self) -> str:
        """What was done with the data, in words."""
        return ACTION[self.action]


def listed(sources: Sequence[ReturnSource], findings: pd.DataFrame) -> list[Item]:
    """Open findings of one centre, numbered from 1: by file, sheet, row, column, then rule.

    `findings` has the codebook's columns. A finding about a file that is not among `sources`
    comes last, and is marked as not being here.
    """
    by_key = {source.upload_key: source for source in sources}
    file_order = {key: number for number, key in enumerate(by_key)}
    rule_order = {rule: number for number, rule in enumerate(RULES)}
    found = []
    for row in findings[findings["state"] == "open"].to_dict("records"):
        place, sheet_number = _place(row, by_key.get(str(row["upload"])))
        order = (
            file_order.get(str(row["upload"]), _LAST), sheet_number,
            place.position or (0, 0), rule_order.get(str(row["rule"]), _LAST),
            str(row["finding_key"]),
        )  # fmt: skip
        found.append((order, place, row))
    found.sort(key=lambda entry: entry[0])
    return [
        Item(
            number=number, upload=str(row["upload"]), place=place,
            field=_field(row["field"]), action=str(row["action"]), message=str(row["message"]),
            mend=str(row["mend"]), finding_key=str(row["finding_key"]),
        )
        for number, (_, place, row) in enumerate(found, start=1)
    ]  # fmt: skip


def _field(name: object) -> str:
    return "" if is_missing(name) else field_title(name) or str(name)


def _text(value: object) -> str:
    return "" if is_missing(value) else str(value)


def _place(row: Mapping[Hashable, object], source: ReturnSource | None) -> tuple[Place, int]:
    """Where a finding stands, and the place of its sheet among the file's sheets."""
    sheet_name, cell = _text(row["sheet"]), _text(row["cell"])
    position = _position(cell)
    if source is None:
        earlier = "in an earlier file"
        return Place(earlier, sheet_name, cell, position, is_here=False, hidden=earlier), _LAST
    for number, sheet in enumerate(source.workbook.sheets):
        if sheet.name == sheet_name:
            hidden = _hidden(sheet, position)
            return Place(source.file_name, sheet_name, cell, position, hidden=hidden), number
    return Place(source.file_name, sheet_name, cell), -1


def _position(cell: str) -> tuple[int, int] | None:
    match = _ADDRESS.fullmatch(cell)
    return (int(match[2]), column_number(match[1])) if match else None


def _hidden(sheet: Sheet, position: tuple[int, int] | None) -> str:
    if sheet.state != "visible":
        return "hidden sheet"
    if position and position[0] in sheet.hidden_rows:
        return "hidden row"
    if position and position[1] in sheet.hidden_columns:
        return "hidden column"
    return ""
