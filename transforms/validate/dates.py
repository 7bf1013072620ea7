"""Dates as spreadsheets hold them: typed cells, and texts in the order that the crosswalk names."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from functools import cache
from typing import Literal

import pandas as pd

from schemas.codebook import table_fields
from schemas.crosswalk import DateOrder
from schemas.field import Limits
from schemas.vocabulary import normal_form, vocabulary
from transforms.harmonise.numerals import LONGEST_VALUE, plain_text
from transforms.reading import PerCent
from transforms.validate.clock_time import without_time

# What a date is of says in which century two digits of a year can lie.
DateOf = Literal["event", "birth"]

_FIGURES = re.compile(r"(\d{4}|\d{1,2}) ?([./·_ -]) ?(\d{1,2}) ?\2 ?(\d{4}|\d{1,2})")
_EIGHT = re.compile(r"(\d{4})(\d{2})(\d{2})")

_MONTH = r"(?P<month>[^\W\d_]+)"
_DAY = r"(?P<day>\d{1,2})(?!\d)(?:(?:st|nd|rd|th|er|re|[oaº°])(?![^\W\d_]))?"
_YEAR = r"'?(?P<year>\d{4}|\d{2})(?!\d)"
_MARKS = r"[ .,/_-]*"
_OF = rf"{_MARKS}(?:(?:de|del|do|of)\b{_MARKS})?"
_WITH_NAME = tuple(
    re.compile(_OF.join(parts), re.IGNORECASE)
    for parts in ((_DAY, _MONTH, _YEAR), (_MONTH, _DAY, _YEAR))
)
_YEAR_BEFORE_NAME = re.compile(_OF.join((_YEAR, _MONTH, _DAY)), re.IGNORECASE)
_ARTICLE = re.compile(r"^(?:the|on|el|le|am|den|der|em) ", re.IGNORECASE)
_WEEKDAY = re.compile(r"([^\W\d_]+(?:-[^\W\d_]+)?)\.?,? (.+)")


def read_dates(
    values: pd.Series, order: DateOrder, latest: dt.date, of: DateOf = "event"
) -> pd.Series:
    """Dates of the given cells, NaT where a cell cannot be read with certainty.

    `values` holds typed cells without missing ones. A text that begins with a year of four digits
    or names its month says by itself which figure is which, any other is read by `order`; where
    that is year first, a year has four digits. Two digits of a year are read where exactly one
    century makes an event between 1990 and `latest`, or a birth of someone whose age at `latest` is
    possible. Of bare numbers only eight digits are read: year, month, day.
    """
    reader = _Reader(order, latest, of)
    read = cache(reader.date)
    dates = [_from_typed(value) or read(_written(value)) for value in values]
    return pd.to_datetime(pd.Series(dates, index=values.index, dtype="object")).astype(
        "datetime64[s]"
    )


def _from_typed(value: object) -> dt.date | None:
    if isinstance(value, dt.datetime):
        return value.date()
    return value if isinstance(value, dt.date) else None


def _written(value: object) -> str:
    """The text of a cell, and of a whole number its digits; nothing of what can be no date."""
    if isinstance(value, str):
        return value
    if isinstance(value, bool | PerCent) or not isinstance(value, int | float):
        return ""
    return str(int(value)) if float(value).is_integer() else ""


@dataclass(frozen=True)
class _Reader:
    """Reads dates of one column, written by people who keep one order."""

    order: DateOrder
    latest: dt.date
    of: DateOf

    def date(self, text: str) -> dt.date | None:
        plain = plain_text(text).rstrip(" .,;")
        if not plain or len(plain) > LONGEST_VALUE:
            return None
        date = self._with_weekday(plain)
        if date is None and (before := without_time(plain)) is not None:
            return self._with_weekday(before.rstrip(" .,"))
        return date

    def _with_weekday(self, text: str) -> dt.date | None:
        """A date with the day of its week before it or not. If the two differ, neither is right."""
        text = _ARTICLE.sub("", text)
        date = self._alone(text)
        if date is not None or (match := _WEEKDAY.fullmatch(text)) is None:
            return date
        weekday, rest = match.groups()
        date = self._alone(_ARTICLE.sub("", rest))
        return date if date and _number(weekday, "weekday") == date.isoweekday() else None

    def _alone(self, text: str) -> dt.date | None:
        if match := _FIGURES.fullmatch(text):
            first, _, second, third = match.groups()
            return self._in_order(first, second, third)
        if match := _EIGHT.fullmatch(text):
            date = _date(*match.groups())
            return date if date and self._is_possible(date) else None
        return self._with_name(text)

    def _in_order(self, first: str, second: str, third: str) -> dt.date | None:
        if len(first) == 4:
            return self._dated(first, second, third)
        if self.order == "year-first":  # 04.03.25 is likelier a day where years have four digits
            return None
        if self.order == "day-first":
            return self._dated(third, second, first)
        return self._dated(third, first, second)

    def _with_name(self, text: str) -> dt.date | None:
        year_first = _YEAR_BEFORE_NAME.fullmatch(text)
        if year_first and len(year_first["year"]) == 4:
            return self._named(year_first)
        match = next((found for form in _WITH_NAME if (found := form.fullmatch(text))), None)
        if match is None or (len(match["year"]) == 2 and self.order == "year-first"):
            return None
        return self._named(match)

    def _named(self, match: re.Match[str]) -> dt.date | None:
        month = _number(match["month"], "month")
        return self._dated(match["year"], str(month), match["day"]) if month else None

    def _dated(self, year: str, month: str, day: str) -> dt.date | None:
        """The date, of a year in four digits or in two that one century alone makes possible."""
        if len(day) > 2:
            return None
        if len(year) == 4:
            return _date(year, month, day)
        if len(year) != 2:
            return None
        this_century = self.latest.year // 100
        dates = [_date(f"{this_century - ago}{year}", month, day) for ago in range(3)]
        possible = [date for date in dates if date and self._is_possible(date)]
        return possible[0] if len(possible) == 1 else None

    def _is_possible(self, date: dt.date) -> bool:
        if self.of == "event":
            return dt.date(int(_limits("operation_year").low), 1, 1) <= date <= self.latest
        had_birthday = (self.latest.month, self.latest.day) >= (date.month, date.day)
        age = self.latest.year - date.year - (not had_birthday)
        return _limits("age_years").low <= age <= _limits("age_years").high


def _limits(column: str) -> Limits:
    limits = table_fields("operations")[column].hard
    assert limits is not None
    return limits


def _number(word: str, concept: str) -> int | None:
    """Number of a month or a day of the week by its name in any of the five languages."""
    numbers = set(vocabulary(concept).words.get(normal_form(word), {}).values())
    return int(numbers.pop()) if len(numbers) == 1 else None


def _date(year: str, month: str, day: str) -> dt.date | None:
    try:
        return dt.date(int(year), int(month), int(day))
    except ValueError:
        return None
