"""Dates as spreadsheets hold them: typed cells, and texts in the order that the crosswalk names."""

from __future__ import annotations

import datetime as dt
import re

import pandas as pd

from schemas.crosswalk import DateOrder
from schemas.vocabulary import normal_form, vocabulary

_NUMERIC = re.compile(r"(\d{1,4})\s*[./\-\s]\s*(\d{1,2})\s*[./\-\s]\s*(\d{1,4})")
_NAMED = re.compile(r"(\d{1,2})\.?\s*(?:de\s+)?([^\W\d]+)\.?\s*(?:de\s+)?(\d{4}|\d{2})")
_TIME = re.compile(r"[T\s]+\d{1,2}:\d{2}(:\d{2}(\.\d+)?)?\s*$")


def read_dates(values: pd.Series, order: DateOrder, latest: dt.date) -> pd.Series:
    """Dates of the given cells, NaT where a cell cannot be read with certainty.

    `values` holds typed cells without missing ones. A text that begins with four digits is read
    year first; of two-digit years the latest century that does not pass `latest` is taken.
    """
    texts = values.map(lambda value: value if isinstance(value, str) else None)
    distinct = {text: _from_text(text, order, latest) for text in texts.dropna().unique()}
    typed = values.map(_from_typed)
    return pd.to_datetime(texts.map(distinct).where(texts.notna(), typed)).astype("datetime64[s]")


def _from_typed(value: object) -> dt.date | None:
    if isinstance(value, dt.datetime):
        return value.date()
    return value if isinstance(value, dt.date) else None


def _from_text(text: str, order: DateOrder, latest: dt.date) -> dt.date | None:
    bare = _TIME.sub("", text.strip())
    if match := _NUMERIC.fullmatch(bare):
        first, second, third = match.groups()
        if len(first) == 4 or (order == "year-first" and len(third) <= 2):
            return _date(first, second, third, latest)
        if order == "year-first":
            return None
        day, month = (first, second) if order == "day-first" else (second, first)
        return _date(third, month, day, latest)
    if match := _NAMED.fullmatch(bare):
        day, name, year = match.groups()
        months = vocabulary("month").words.get(normal_form(name), {})
        if len(set(months.values())) == 1:
            return _date(year, next(iter(months.values())), day, latest)
    return None


def _date(year: str, month: str, day: str, latest: dt.date) -> dt.date | None:
    if len(year) not in (2, 4):
        return None
    full = int(year)
    if len(year) == 2:
        full += 100 * (latest.year // 100)
        full -= 100 if full > latest.year else 0
    try:
        return dt.date(full, int(month), int(day))
    except ValueError:
        return None
