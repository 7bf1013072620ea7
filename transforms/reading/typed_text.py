"""The text a person would have typed for a typed value."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

import pandas as pd

from transforms.reading.workbook import PerCent

# Spreadsheets store and show numbers to 15 significant digits.
SIGNIFICANT_DIGITS = ".15g"


def cell_text(value: object) -> str:
    """5.0 to "5", 0.1 to "0.1", 14 % to "14%", True to "TRUE", a date to ISO 8601, None to ""."""
    if isinstance(value, str):
        return value
    if value is None or value is pd.NaT:
        return ""
    return next((text(value) for kind, text in _TEXTS if isinstance(value, kind)), str(value))


def _truth_text(value: bool) -> str:
    return "TRUE" if value else "FALSE"


def _number_text(value: float) -> str:
    if math.isnan(value):
        return ""
    if value.is_integer():
        return str(int(value))
    text = format(value, SIGNIFICANT_DIGITS)
    return format(Decimal(text), "f") if "e" in text else text


def _per_cent_text(value: PerCent) -> str:
    return f"{_number_text(value)}%"


def _moment_text(value: datetime) -> str:
    if value.time() == time(0):
        return value.date().isoformat()
    return value.isoformat(sep=" ", timespec="seconds")


def _duration_text(value: timedelta) -> str:
    minutes, seconds = divmod(round(value.total_seconds()), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02}:{seconds:02}"


# A datetime is also a date, a PerCent also a float; they must be met first.
_TEXTS: tuple[tuple[type, Callable[[Any], str]], ...] = (
    (bool, _truth_text),
    (PerCent, _per_cent_text),
    (float, _number_text),
    (datetime, _moment_text),
    (date, date.isoformat),
    (time, time.isoformat),
    (timedelta, _duration_text),
)
