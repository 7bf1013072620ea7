"""Numbers with a unit, to the codebook's unit."""

from __future__ import annotations

import math
import re

import pandas as pd

from schemas.conversions import AS_TYPED, unit_rule
from schemas.units import Unit, unit_named, units_for
from transforms.harmonise.context import PROBLEM, RULE, Context
from transforms.harmonise.inexact import BOUND, inexact_rule
from transforms.harmonise.numerals import (
    LONGEST_VALUE,
    NUMERAL,
    UNREADABLE,
    Numeral,
    plain_text,
    read_numeral,
)
from transforms.reading import PerCent

# Marks a second column: whether the value came in a unit whose size differs from eye to eye.
NOMINAL = ":nominal"

_AMOUNT = re.compile(rf"({NUMERAL})(?: ?(\D.*))?")
_SIGN_FIRST = re.compile(rf"^(%|μm?) ?({NUMERAL})$")  # German "um 450" would say: about 450
_FRACTION = re.compile(r"(?:(\d{1,2}) )?(\d{1,2}) ?/ ?(\d{1,2})(?: ?(\D.*))?")
_OR_MORE = re.compile(r"\+(?=$| [^\W\d])")
# Letters or signs without a second number; the 2 of mm2 is none.
_FOREIGN_UNIT = re.compile(r"(?!.*(?<![\w^])\d).*([^\W\d_]|[%°]).*")
# Larger whole numbers are not held exactly.
_LARGEST_COUNT = 2**53

UNIT_UNKNOWN = "unit_unknown"
_Row = tuple[float | None, bool | None, str | None, str | None]


def read_number(values: pd.Series, context: Context) -> pd.DataFrame:
    """Distinct cells of a quantity in the codebook's unit.

    A unit in the cell goes before the crosswalk's; without either the number is in the codebook's
    unit. Returns, labelled as `values`, the field's column, the same with `:nominal`, and
    `problem`. Estimates, bounds and ranges are refused: they are no measurements. The only problem
    that comes with a value is a decimal mark other than the centre's.
    """
    rows = [_read_one(value, context) for value in values]
    columns = [context.column, context.column + NOMINAL, RULE, PROBLEM]
    return pd.DataFrame(rows, index=values.index, columns=columns)


def is_nominal(values: pd.DataFrame, column: str) -> pd.Series:
    """Which values of a column, read by `read_number`, came in a unit of no certain size."""
    if column + NOMINAL not in values:
        return pd.Series(False, index=values.index)
    return values[column + NOMINAL].fillna(False).astype(bool)


def read_integer(values: pd.Series, context: Context) -> pd.DataFrame:
    """The same for counts and whole years: what is no whole number cannot be read."""
    read = read_number(values, context)
    numbers = read[context.column].astype("float64")
    is_broken = numbers.notna() & ((numbers % 1 != 0) | (numbers.abs() > _LARGEST_COUNT))
    read.loc[is_broken, PROBLEM] = UNREADABLE
    return read.assign(**{context.column: numbers.where(~is_broken).astype("Int64")})


def _read_one(value: object, context: Context) -> _Row:
    if isinstance(value, PerCent):
        unit = _unit_of("%", context)
        return _in_unit(Numeral(float(value)), unit, context) if unit else _refused(UNIT_UNKNOWN)
    if isinstance(value, str):
        return _read_text(plain_text(value), context)
    if isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value):
        return _in_unit(Numeral(float(value)), _declared(context), context)
    return _refused(UNREADABLE)


def _read_text(text: str, context: Context) -> _Row:
    if len(text) > LONGEST_VALUE:
        return _refused(UNREADABLE)
    if (fraction := _read_fraction(text, context)) is not None:
        return fraction
    amount = _AMOUNT.fullmatch(_SIGN_FIRST.sub(r"\2\1", text))
    if amount is None:
        return _refused(inexact_rule(text) or UNREADABLE)
    number, said = amount.groups()
    numeral = read_numeral(number, context.decimal)
    unit = _unit_of(said, context) if said else _declared(context)
    if unit is not None:
        return _in_unit(numeral, unit, context)
    if rule := BOUND if _OR_MORE.match(said) else inexact_rule(text):
        return _refused(rule)
    carries_unit = numeral.value is not None and _FOREIGN_UNIT.fullmatch(said)
    return _refused(UNIT_UNKNOWN if carries_unit else UNREADABLE)


def _read_fraction(text: str, context: Context) -> _Row | None:
    """A plain fraction such as 1/3 or 1 1/2, which only disc diameters are given in.

    Elsewhere 3/12 is three months, and 14/16 two pressures.
    """
    fraction = _FRACTION.fullmatch(text)
    if fraction is None or int(fraction[3]) == 0:
        return None
    whole, top, bottom, said = fraction.groups()
    unit = _unit_of(said, context) if said else _declared(context)
    if unit is None or not _units(context)[unit].is_nominal:
        return None
    return _in_unit(Numeral(int(whole or 0) + int(top) / int(bottom)), unit, context)


# The unit of counts, shares of one and other numbers for which the codebook names none.
_NO_UNIT = ""


def _units(context: Context) -> dict[str, Unit]:
    return units_for(context.field.spec.unit) or {_NO_UNIT: Unit(1.0, ())}


def _declared(context: Context) -> str:
    """The crosswalk's unit, or the codebook's."""
    base = context.field.spec.unit
    return context.source.unit or str(base) if units_for(base) else _NO_UNIT


def _unit_of(text: str, context: Context) -> str | None:
    return unit_named(text, context.field.spec.unit)


def _in_unit(numeral: Numeral, name: str, context: Context) -> _Row:
    unit, area = _units(context)[name], context.source.area_deg2
    if unit.is_per_area and area is None:
        return _refused(UNIT_UNKNOWN)
    if numeral.value is None:
        return _refused(numeral.problem or UNREADABLE)
    value = numeral.value * unit.factor_of(area)
    rule = unit_rule(name, str(context.field.spec.unit)) if name else AS_TYPED
    return value, unit.is_nominal, rule, numeral.problem


def _refused(rule: str) -> _Row:
    return None, None, None, rule
