"""A row of units below the headings: what it is known by, and whether it fits the crosswalk."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import pandas as pd

from schemas.codebook import upload_fields
from schemas.units import UNITS, unit_named, unit_sign
from schemas.vocabulary import normal_form, vocabulary
from transforms.findings import raised
from transforms.layout.blocks import Block
from transforms.layout.columns import ColumnMap
from transforms.layout.headings import Heading
from transforms.reading import address, cell_text

FEWEST_UNITS = 2


def unit_row(values: pd.DataFrame) -> int | None:
    """The first filled row below a heading, if half of its cells are units or the like.

    At least two cells must be, one of them a unit or a notation: "right" alone is no unit row. The
    others may be words, such as "see list"; a row with a number or a date in it holds a record.
    """
    filled = values.index[values.notna().any(axis=1)]
    if filled.empty:
        return None
    first = int(filled[0])
    cells = [value for value in values.loc[first] if value is not None]
    texts = [_bare(value) for value in cells if isinstance(value, str)]
    known = [text for text in texts if _is_unit(text) or _is_kind(text)]
    others = set(texts) - set(known)
    if len(texts) < len(cells) or any(char.isdigit() for text in others for char in text):
        return None
    if len(known) < max(FEWEST_UNITS, len(texts) / 2):
        return None
    return first if any(_is_telling(text) for text in known) else None


def _bare(text: str) -> str:
    """The text without brackets around it: "(mm)" is mm."""
    return text.strip().strip("()[]").strip()


def _is_unit(text: str) -> bool:
    return any(unit_named(text, base) for base in UNITS) or _kind(text) == "notation"


def _is_telling(text: str) -> bool:
    """A unit that is no mere letter: D may be days, or a right eye in Spanish."""
    return _is_unit(text) and not (len(text) == 1 and text.isascii() and text.isalpha())


def _is_kind(text: str) -> bool:
    return _kind(text) is not None


def _kind(text: str) -> str | None:
    found = set(vocabulary("unit_row").words.get(normal_form(text), {}).values())
    return found.pop() if len(found) == 1 else None


def differing_units(
    units: Mapping[int, object], row: int, heading: Heading, blocks: Sequence[Block],
    columns: ColumnMap, sheet: str,
) -> Iterator[tuple[tuple[int, str], pd.DataFrame]]:  # fmt: skip
    """Columns whose unit in the row of units is another one than the crosswalk's.

    `units` is the row by column. Yields (block, field) and the finding; nothing of such a column
    can be used.
    """
    for place, (block, block_columns) in enumerate(zip(blocks, columns.columns, strict=True)):
        for name, column in block_columns.items():
            value = units[column]
            base = upload_fields(block.kind)[name].spec.unit
            if value is None or base is None:
                continue
            said = unit_named(_bare(cell_text(value)), base)
            declared = block.sources[name].unit or base
            if said is None or said == declared:
                continue
            where = {"kind": block.kind, "field": name, "sheet": sheet}
            cell = address(row, column)
            yield (
                (place, name),
                raised(
                    "unit_row_differs",
                    pd.DataFrame([{**where, "cell": cell}]),
                    heading=heading.texts[column],
                    other=unit_sign(said),
                ),
            )
