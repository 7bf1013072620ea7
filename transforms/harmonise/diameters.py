"""Diameters of a graft: one, or the two of an oval one in a single cell ("2.0 x 1.5 mm")."""

from __future__ import annotations

import re

import pandas as pd

from transforms.harmonise.context import PROBLEM, RULE, Context
from transforms.harmonise.numerals import plain_text
from transforms.harmonise.quantities import NOMINAL, read_number

SECOND = "graft_second_diameter_um"

# "2.0 x 1.5 mm", "2,0 × 1,5", "1500 um by 1200 um", "2 por 1,5 mm". The unit behind the second
# number is the first one's too, where that has none.
_TWO = re.compile(
    r"(?P<first>[\d.,]+ ?)(?P<unit>[^\W\d]*) ?(?:[x×*]|by|por|sur|mal|auf) ?"
    r"(?P<second>[\d.,]+ ?(?P<last>[^\W\d]*))",
    re.IGNORECASE,
)


def read_diameter(values: pd.Series, context: Context) -> pd.DataFrame:
    """Diameters of distinct cells in micrometres, see `read_number`.

    Returns, labelled as `values`, the field's column, its mark of nominal units, the second
    diameter where the cell has two, `rule` and `problem`. Where one of two cannot be read, neither
    is.
    """
    first, second = _parted(values)
    read = read_number(first, context)
    of_second = read_number(second.dropna(), context).reindex(values.index)
    problem = of_second[PROBLEM].astype("object")
    read[PROBLEM] = read[PROBLEM].astype("object").where(problem.isna(), problem)
    read[SECOND] = of_second[context.column].astype("float64")
    is_broken = second.notna() & (read[SECOND].isna() | read[context.column].isna())
    return read.assign(
        **{
            name: read[name].astype("object").where(~is_broken, None)
            for name in (context.column, context.column + NOMINAL, SECOND, RULE)
        }
    )


def _parted(values: pd.Series) -> tuple[pd.Series, pd.Series]:
    """The first number of each cell with its unit, or the cell as it stands; and the second."""
    parts = [_numbers_of(value) for value in values]
    first, second = zip(*parts, strict=True) if parts else ((), ())
    return (
        pd.Series(first, index=values.index, dtype="object"),
        pd.Series(second, index=values.index, dtype="object"),
    )


def _numbers_of(value: object) -> tuple[object, str | None]:
    two = _TWO.fullmatch(plain_text(value)) if isinstance(value, str) else None
    if two is None:
        return value, None
    return f"{two['first'].strip()} {two['unit'] or two['last']}".strip(), two["second"]
