"""ISO 8601 weeks, against calendar dates from outside the project."""

import csv
import datetime as dt
from pathlib import Path

import pytest

from pipelines.iso_week import is_week, last_day

REFERENCE = Path(__file__).parents[1] / "reference" / "iso_weeks.csv"
ROWS = list(csv.DictReader(REFERENCE.read_text(encoding="utf-8").splitlines()))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["week"])
def test_a_week_ends_on_the_sunday_that_the_calendar_says(row):
    assert last_day(row["week"]).isoformat() == row["last_day"]


@pytest.mark.parametrize("year", range(1998, 2041))
def test_the_last_week_of_every_year_is_52_or_53(year):
    """28 December is always in the last week; its week number is the standard library's word."""
    last = dt.date(year, 12, 28).isocalendar().week
    assert is_week(f"{year}-W{last}")
    assert not is_week(f"{year}-W{last + 1}")


@pytest.mark.parametrize(
    "text", ["2026-W00", "2026-W54", "2025-W53", "2026-47", "2026-w47", "2026W47", "26-W47",
             "2026-W7", " 2026-W47", "2026-W47\n", "2026-W47-1", "0000-W01", ""],
)  # fmt: skip
def test_what_is_no_week(text):
    assert not is_week(text)
    with pytest.raises(ValueError):
        last_day(text)


def test_the_mend_shows_how_a_week_is_written():
    with pytest.raises(ValueError, match="'2026-47' is no ISO week; write it as 2026-W47"):
        last_day("2026-47")


def test_weeks_are_written_in_plain_digits():
    """Names of weeks are compared as text: digits of another script would sort wrongly."""
    assert not is_week("２０２６-W47")
