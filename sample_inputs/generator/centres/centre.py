"""What the generator asks of every centre."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from sample_inputs.generator.defects import Planted
from sample_inputs.generator.grid import File
from sample_inputs.generator.records import Series


@dataclass(frozen=True)
class Centre:
    """`draw` gives all records of both weeks; `plant` spoils one week's copy of them; `lay_out`
    writes the files and tells the defects that belong to no record. `others` are identifiers in
    notes and properties, as (kind, value); `breaks_in` is the week whose file cannot be opened."""

    site: str
    draw: Callable[[], Series]
    plant: Callable[[str, Series], list[Planted]]
    lay_out: Callable[[str, Series], tuple[list[File], list[Planted]]]
    others: tuple[tuple[str, str], ...] = ()
    breaks_in: str = ""
