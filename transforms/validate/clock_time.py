"""Times of day behind a date: taken off, as dates alone are read."""

from __future__ import annotations

import re

# Written in UTC, a later hour may have been the next day where it was typed: midnight in Central
# Europe is 22:00 or 23:00 UTC, in India 18:30.
_LATEST_HOUR_IN_UTC = 18

_HOUR = r"(?P<hour>[01]?\d|2[0-3])"
_MINUTES = r":[0-5]\d(?::[0-5]\d(?:[.,]\d+)?)?"
_HALF = r" ?[ap]\.? ?m\.?"
_ZONE = r" ?(?:(?P<utc>Z|UTC|GMT|[+-]00:?(?:00)?)|[+-]\d{2}:?(?:\d{2})?)"
_BEFORE = r"(?: ?T ?|,? (?:- |@ ?|(?:at|à|às|as|a las?|a|um) )?)"
_CLOCK = "|".join(
    (
        rf"{_MINUTES}(?:{_HALF}| ?(?:Uhr|hrs?|h)|{_ZONE})?",  # 10:30, 10:30 AM, 10:30Z
        r" ?h(?: ?[0-5]\d)?",  # 10h30
        r"(?:\.[0-5]\d)? ?Uhr",
        _HALF,
    )
)
_TIME = re.compile(rf"(?P<date>.+?){_BEFORE}{_HOUR}(?:{_CLOCK})", re.IGNORECASE)


def without_time(text: str) -> str | None:
    """The part of a plain text before a time of day, or None where it ends in none.

    So it is where the time is late in the day of UTC, and the day it was typed on is not certain.
    """
    match = _TIME.fullmatch(text)
    if match is None or (match["utc"] and int(match["hour"]) >= _LATEST_HOUR_IN_UTC):
        return None
    return match["date"]
