"""ISO 8601 weeks, as 2026-W47: Monday to Sunday, week 1 holds the first Thursday."""

from __future__ import annotations

import datetime as dt
import re

_WEEK = re.compile(r"([0-9]{4})-W([0-9]{2})")


def last_day(week: str) -> dt.date:
    """The Sunday of the week. Raises ValueError for what is no week."""
    match = _WEEK.fullmatch(week)
    if not match:
        raise ValueError(f"'{week}' is no ISO week; write it as 2026-W47")
    return dt.date.fromisocalendar(int(match[1]), int(match[2]), 7)


def is_week(text: str) -> bool:
    """True for the name of a week that the calendar has."""
    try:
        last_day(text)
    except ValueError:
        return False
    return True
