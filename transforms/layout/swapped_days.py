"""Days that a spreadsheet program took for months when texts were typed or pasted into it.

In a column of 13/05/2025 and 05/06/2025 a program set to month first leaves the former as text and
makes the latter a date, of the 6th of May. What is left then shows it: every text has a day beyond
12, every date one up to 12.
"""

from __future__ import annotations

import datetime as dt
import re

import pandas as pd

# So many of each, so that chance does not look like it: 0.6 ** 3 * 0.4 ** 3, one column in seventy.
FEWEST_OF_EACH = 3
SWAPPED = "a date whose day and month may be swapped"

_FIGURES = re.compile(r"\s*(\d{1,2})[./-](\d{1,2})[./-](?:\d{4}|\d{2})\b.*")


def without_swapped_days(values: pd.Series) -> pd.Series:
    """A column of dates in which typed dates cannot be read where all look swapped."""
    texts = [value for value in values if isinstance(value, str)]
    figures = [match for text in texts if (match := _FIGURES.fullmatch(text))]
    is_typed = values.map(lambda value: isinstance(value, dt.date)).astype(bool)
    if min(len(figures), int(is_typed.sum())) < FEWEST_OF_EACH:
        return values
    all_beyond = all(max(int(match[1]), int(match[2])) > 12 for match in figures)
    if not all_beyond or any(date.day > 12 for date in values[is_typed]):
        return values
    return values.mask(is_typed, SWAPPED)
