"""Numbers with a unit, to the codebook's unit."""

from __future__ import annotations

import datetime as dt
import re

import pandas as pd

from schemas.units import Unit, units_for
from transforms.harmonise.context import PROBLEM, Context
from transforms.harmonise.numerals import plain_text, to_number

# Marks a second column: whether the value came in a unit whose size differs from eye to eye.
NOMINAL = ":nominal"

_ABOUT = re.compile(
    r"^([~<>≈≤≥±]|(ca|approx|about|circa|etwa|env|environ|aprox|cerca)\b\.?)|\d ?(±|\+/?-)", re.I
)
_RANGE = re.compile(r"^\d+([.,]\d+)? ?(-|to|a|à|bis|até) ?\d+([.,]\d+)?\b", re.I)
_SPLIT = re.compile(r"([+-]?[\d.,]+(?: ?/ ?\d+)?) ?(.*)")

UNREADABLE = "number_unreadable"
APPROXIMATE = "value_approximate"
UNIT_UNKNOWN = "unit_unknown"
_Row = tuple[float | None, bool | None, str | None]


def read_number(values: pd.Series, context: Context) -> pd.DataFrame:
    """Distinct cells of a quantity in the codebook's unit.

    A unit in the cell goes before the crosswalk's; without either the number is in the codebook's
    unit. Returns, labelled as `values`, the field's column, the same with `:nominal`, and
    `problem`. Estimates, bounds and ranges are refused: they are no measurements.
    """
    rows = [_read_one(value, context) for value in values]
    columns = [context.column, context.column + NOMINAL, PROBLEM]
    return pd.DataFrame(rows, index=values.index, columns=columns)


def read_integer(values: pd.Series, context: Context) -> pd.DataFrame:
    """The same for counts and whole years: what is no whole number cannot be read."""
    read = read_number(values, context)
    numbers = read[context.column].astype("float64")
    is_broken = numbers.notna() & (numbers % 1 != 0)
    read.loc[is_broken, PROBLEM] = UNREADABLE
    return read.assign(**{context.column: numbers.where(~is_broken).astype("Int64")})


def _read_one(value: object, context: Context) -> _Row:
    units = units_for(context.field.spec.unit)
    default = units[context.source.unit or str(context.field.spec.unit)] if units else _PLAIN
    if isinstance(value, bool | dt.date | dt.time):
        return None, None, UNREADABLE
    if isinstance(value, int | float):
        return _in_unit(float(value), default)
    text = plain_text(str(value))
    if _ABOUT.search(text) or _RANGE.match(text):
        return None, None, APPROXIMATE
    parts = _SPLIT.fullmatch(text)
    number = _amount(parts[1], context) if parts else None
    if parts is None or number is None:
        return None, None, UNREADABLE
    unit = _unit_of(parts[2], units) if parts[2] else default
    return _in_unit(number, unit) if unit else (None, None, UNIT_UNKNOWN)


_PLAIN = Unit(1.0, ())


def _amount(text: str, context: Context) -> float | None:
    """A number, or a plain fraction such as 1/3 (of a disc diameter)."""
    top, slash, bottom = (part.strip() for part in text.partition("/"))
    number = to_number(top, context.decimal)
    if not slash or number is None:
        return number
    divisor = to_number(bottom, context.decimal)
    return number / divisor if divisor else None


def _unit_of(text: str, units: dict[str, Unit]) -> Unit | None:
    wanted = text.casefold().rstrip(".")
    return next(
        (unit for name, unit in units.items() if wanted in (name.casefold(), *unit.spellings)), None
    )


def _in_unit(number: float, unit: Unit) -> _Row:
    return number * unit.factor, unit.is_nominal, None
