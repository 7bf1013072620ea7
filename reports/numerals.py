"""How numbers are written on pages: one place for digits, signs, intervals and missing values."""

from __future__ import annotations

from typing import cast

import pandas as pd

MISSING = "–"
_MINUS = "\u2212"


def is_missing(value: object) -> bool:
    """True for None, NaN and pandas' missing value."""
    return value is None or bool(pd.isna(cast("float", value)))


def as_number(value: float | None) -> float | None:
    """A float, or None for every kind of missing value."""
    return None if value is None or is_missing(value) else float(value)


def as_whole(value: float | None) -> int | None:
    """A whole number, or None for every kind of missing value."""
    return None if value is None or is_missing(value) else int(value)


def count(value: float | None) -> str:
    """A whole number: 1234 becomes '1,234'."""
    number = as_whole(value)
    return MISSING if number is None else f"{number:,}".replace("-", _MINUS)


def decimal(value: float | None, digits: int = 2) -> str:
    """A number with fixed digits; never a negative zero."""
    number = as_number(value)
    if number is None:
        return MISSING
    return f"{round(number, digits) + 0.0:.{digits}f}".replace("-", _MINUS)


def plain(value: float | None) -> str:
    """A number as it was declared: 1600.0 becomes '1600'."""
    number = as_number(value)
    return MISSING if number is None else f"{number:.10g}".replace("-", _MINUS)


def signed(value: float | None, digits: int = 2) -> str:
    """A difference: zero has no sign, everything else has one."""
    text = decimal(value, digits)
    if is_missing(value) or text.startswith(_MINUS) or not text.strip("0."):
        return text
    return f"+{text}"


def percent(fraction: float | None, digits: int = 1) -> str:
    """A share between 0 and 1 as per cent, without the sign for it: 0.875 becomes '87.5'."""
    number = as_number(fraction)
    return MISSING if number is None else decimal(100 * number, digits)


def percent_interval(low: float | None, high: float | None, digits: int = 1) -> str:
    """An interval of shares as per cent: '71.2 to 88.0'; missing where either end is."""
    if is_missing(low) or is_missing(high):
        return MISSING
    return f"{percent(low, digits)} to {percent(high, digits)}"


def plural(number: float | None, one: str, many: str | None = None) -> str:
    """'1 finding', '3 findings'."""
    word = one if as_whole(number) == 1 else many or f"{one}s"
    return f"{count(number)} {word}"
