"""How values are written: each function gives the cell's text or number beside what it means."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from datetime import date

from sample_inputs.generator.records import Cell

# 1 disc diameter is 1500 micrometres by convention.
DISC_UM = 1500


def with_comma(number: float, places: int | None = None) -> str:
    """The number as text with a decimal comma."""
    return (str(number) if places is None else f"{number:.{places}f}").replace(".", ",")


def as_text(cell: Cell, places: int | None = None) -> Cell:
    """The same number as text with a decimal comma."""
    if not isinstance(cell.written, int | float):
        return cell
    return Cell(with_comma(cell.written, places), cell.means)


def number(column: str, value: float | int | None) -> Cell:
    """A plain number in the codebook's unit."""
    return Cell(value, {column: value})


def length(column: str, micrometres: float | None, unit: str, unit_in_cell: str = "") -> Cell:
    """A length in the unit of the centre, as a number, or as text where the cell names a unit.

    One in disc diameters is nominal.
    """
    if micrometres is None:
        return Cell(None, {column: None})
    if unit == "um":
        written: int | float = round(micrometres)
        means: dict[str, object] = {column: float(written)}
    elif unit == "mm":
        written = round(micrometres / 1000, 2)
        means = {column: written * 1000}
    else:
        written = round(micrometres / DISC_UM, 2)
        means = {column: written * DISC_UM, column.replace("_um", "_nominal"): True}
    return Cell(f"{written}{unit_in_cell}" if unit_in_cell else written, means)


def oval(micrometres: float | None, second_micrometres: float | None, unit: str) -> Cell:
    """Both diameters of an oval graft in one cell, in the unit of the centre; of a round one its
    diameter."""
    first = length("graft_diameter_um", micrometres, unit)
    second = length("graft_second_diameter_um", second_micrometres, unit)
    both = f"{first.written} x {second.written}"
    return Cell(both if second.written else first.written, {**first.means, **second.means})


def coded(column: str, code: str | None, words: Mapping[str, Sequence[str]],
          rng: random.Random) -> Cell:  # fmt: skip
    """One of the centre's words for a code."""
    if code is None:
        return Cell(None, {column: None})
    return Cell(rng.choice(list(words[code])), {column: code})


def yes_no(column: str, value: bool | None, words: tuple[str, str]) -> Cell:
    """`words` for yes and no."""
    return Cell(None if value is None else words[0 if value else 1], {column: value})


def dated(on: date | None, style: str) -> Cell:
    """A date: "cell" a date of the spreadsheet, else text in the style `%d.%m.%Y` and the like."""
    if on is None or style == "cell":
        return Cell(on)
    return Cell(on.strftime(style))
