"""How a flagged cell looks: a fill and a word for each action; colour never stands alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import xlsxwriter
from xlsxwriter.format import Format

from reports.returns.listing import Item


@dataclass(frozen=True)
class Mark:
    """The first word of a cell's comment, and the cell's fill."""

    word: str
    fill: str


# The gravest first: where a cell has several findings, its fill is that of the first.
MARKS = {
    "hold": Mark("Held", "#F2B8B0"),
    "blank": Mark("Blanked", "#FAD7A0"),
    "ask": Mark("Confirm", "#FFF4B8"),
}


def gravest(items: Sequence[Item]) -> str | None:
    """The action that decides the fill of a cell with these findings; None without any."""
    return min((item.action for item in items), key=list(MARKS).index, default=None)


def comment(items: Sequence[Item]) -> str:
    """The text of a cell's comment: one paragraph a finding, the gravest first."""
    ordered = sorted(items, key=lambda item: (list(MARKS).index(item.action), item.number))
    return "\n".join(
        f"{MARKS[item.action].word}: {item.message} {item.mend} (finding {item.number})"
        for item in ordered
    )


class CellFormats:
    """Formats of a workbook's cells by fill and number format, each made once."""

    def __init__(self, workbook: xlsxwriter.Workbook) -> None:
        self._workbook = workbook
        self._made: dict[tuple[str | None, str | None], Format | None] = {(None, None): None}

    def of(self, action: str | None, number_format: str | None = None) -> Format | None:
        """The format of a cell; None for one that is neither flagged nor a date."""
        key = (action, number_format)
        if key not in self._made:
            properties: dict[str, object] = {}
            if action:
                properties |= {"bg_color": MARKS[action].fill, "border": 1, "bold": True}
            if number_format:
                properties["num_format"] = number_format
            self._made[key] = self._workbook.add_format(properties)
        return self._made[key]
