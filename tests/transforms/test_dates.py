"""Dates: typed cells, texts in three orders, month names, and what cannot be read."""

import datetime as dt

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from transforms.validate.dates import read_dates

LATEST = dt.date(2026, 11, 22)


def read(value, order="day-first"):
    return read_dates(pd.Series([value], dtype="object"), order, LATEST).iloc[0]


@pytest.mark.parametrize(
    ("value", "order", "date"),
    [
        (dt.datetime(2026, 3, 12), "day-first", "2026-03-12"),
        (dt.date(2026, 3, 12), "day-first", "2026-03-12"),
        ("12/03/2026", "day-first", "2026-03-12"),
        ("12/03/2026", "month-first", "2026-12-03"),
        ("12.3.26", "day-first", "2026-03-12"),
        ("12-03-2026", "day-first", "2026-03-12"),
        ("2026-03-12", "day-first", "2026-03-12"),
        ("2026/03/12", "month-first", "2026-03-12"),
        ("26-03-12", "year-first", "2026-03-12"),
        ("12/03/2026 00:00", "day-first", "2026-03-12"),
        ("2026-03-12T08:30:00", "day-first", "2026-03-12"),
        ("12 mar 2026", "day-first", "2026-03-12"),
        ("12. März 2026", "day-first", "2026-03-12"),
        ("12 août 2026", "day-first", "2026-08-12"),
        ("12 de agosto de 2026", "day-first", "2026-08-12"),
        ("3/4/45", "day-first", "1945-04-03"),
    ],
)
def test_dates_that_can_be_read(value, order, date):
    assert read(value, order) == pd.Timestamp(date)


@pytest.mark.parametrize(
    "value", ["31/02/2026", "13/13/2026", "March 2026", "2026", "spring", "12/03", 45000.0, True]
)
def test_dates_that_cannot_be_read_with_certainty(value):
    assert pd.isna(read(value))


@given(st.dates(dt.date(1930, 1, 1), LATEST), st.sampled_from("./-"))
def test_a_written_date_is_read_back(date, mark):
    written = date.strftime(f"%d{mark}%m{mark}%Y")
    assert read(written, "day-first") == pd.Timestamp(date)
    assert read(date.strftime(f"%m{mark}%d{mark}%Y"), "month-first") == pd.Timestamp(date)
    assert read(date.isoformat(), "day-first") == pd.Timestamp(date)
