"""Dates: typed cells, texts in three orders, month names, times attached, and what is no date."""

import datetime as dt
import itertools

import pandas as pd
import pytest
from babel.dates import get_day_names, get_month_names
from hypothesis import given
from hypothesis import strategies as st

from schemas.crosswalk import LANGUAGES
from transforms.reading import PerCent
from transforms.validate.dates import read_dates

LATEST = dt.date(2026, 11, 22)
TWELFTH_OF_MARCH = pd.Timestamp(2026, 3, 12)


def read(value, order="day-first", of="event"):
    return read_dates(pd.Series([value], dtype="object"), order, LATEST, of).iloc[0]


@pytest.mark.parametrize(
    ("value", "order", "date"),
    [
        (dt.datetime(2026, 3, 12), "day-first", "2026-03-12"),
        (dt.datetime(2026, 3, 12, 23, 59), "day-first", "2026-03-12"),
        (dt.date(2026, 3, 12), "day-first", "2026-03-12"),
        ("12/03/2026", "day-first", "2026-03-12"),
        ("12/03/2026", "month-first", "2026-12-03"),
        ("12.3.26", "day-first", "2026-03-12"),
        ("12-03-2026", "day-first", "2026-03-12"),
        ("12 03 2026", "day-first", "2026-03-12"),
        ("12. 3. 2026", "day-first", "2026-03-12"),
        ("12.03.2026.", "day-first", "2026-03-12"),
        ("12_03_2026", "day-first", "2026-03-12"),
        ("2026-03-12", "day-first", "2026-03-12"),
        ("2026/03/12", "month-first", "2026-03-12"),
        ("3/4/2125", "day-first", "2125-04-03"),  # certain; that it is impossible is told elsewhere
    ],
)
def test_dates_in_figures_are_read_in_the_order_of_the_crosswalk(value, order, date):
    assert read(value, order) == pd.Timestamp(date)


@pytest.mark.parametrize(
    "value",
    [
        "12\u201303\u20132026",  # en dash
        "12\u221203\u22122026",  # minus
        "12\u201103\u20112026",  # hyphen that does not break
        "12\uff0f03\uff0f2026",  # full-width slash
        "12\u00b703\u00b72026",  # middle dot
        "12\u00a003\u00a02026",
        "12.\u200903.\u20092026",
        "\ufeff12/03/2026\u200b",
        "\u200f12/03/2026",
        "１２/０３/２０２６",
        "١٢/٠٣/٢٠٢٦",
        "۱۲/۰۳/۲۰۲۶",
        "'12/03/2026",
        " 12/03/2026\n",
    ],
)
def test_marks_spaces_and_digits_of_every_kind_are_read(value):
    assert read(value) == TWELFTH_OF_MARCH


@pytest.mark.parametrize(
    "value",
    [
        "12 March 2026",
        "March 12, 2026",
        "12th March 2026",
        "the 12th of March, 2026",
        "12-Mar-26",
        "12Mar2026",
        "12 Mar '26",
        "2026-Mar-12",
        "12 de marzo de 2026",
        "12 marzo del 2026",
        "marzo 12 de 2026",
        "le 12 mars 2026",
        "12. März 2026",
        "12. Maerz 2026",
        "12. Mrz. 26",
        "12.Mär.2026",
        "12 MÃ¤r 2026",  # UTF-8 read as Windows-1252
        "12º de março de 2026",
        "12 MARCO 2026",
        "Thu 12 Mar 2026",
        "Thursday, March 12, 2026",
        "jueves, 12 de marzo de 2026",
        "jeu. 12 mars 2026",
        "Donnerstag, den 12. März 2026",
        "Do, 12.03.2026",
        "quinta-feira, 12 de março de 2026",
    ],
)
def test_months_and_days_of_the_week_are_read_by_name(value):
    assert read(value) == TWELFTH_OF_MARCH


@pytest.mark.parametrize(
    ("value", "date"),
    [
        ("1er mars 2026", "2026-03-01"),
        ("3 ene 2026", "2026-01-03"),
        ("3 fév 2026", "2026-02-03"),
        ("3 fev 2026", "2026-02-03"),
        ("12 août 2026", "2026-08-12"),
        ("12 aout 2026", "2026-08-12"),
        ("3ago2026", "2026-08-03"),
        ("3 set 2025", "2025-09-03"),
        ("3out2025", "2025-10-03"),
        ("3 Dez. 2025", "2025-12-03"),
        ("3 déc. 2025", "2025-12-03"),
        ("mar 3 mar 2026", "2026-03-03"),  # martes
    ],
)
def test_abbreviations_of_five_languages_are_read_with_and_without_accents(value, date):
    assert read(value) == pd.Timestamp(date)


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_name_that_the_common_locale_data_know_is_read(language):
    """Names from CLDR, by Babel, wide and abbreviated, within a date and alone."""
    days = [dt.date(2026, month, 12) for month in range(1, 10)]
    for width, form in itertools.product(("wide", "abbreviated"), ("format", "stand-alone")):
        months = get_month_names(width, form, language)
        weekdays = get_day_names(width, form, language)
        for day in days:
            written = f"{weekdays[day.weekday()]} {day.day} {months[day.month]} {day.year}"
            assert read(written) == pd.Timestamp(day), written


@pytest.mark.parametrize(
    "time",
    [
        " 00:00", " 10:30", " 10:30:00", " 10:30:00.000", " 10:30:00,5", "T10:30", "T10:30:00Z",
        "T10:30:00.000Z", "T10:30+01:00", " 10:30 +0100", " 10:30 UTC", " 10:30 AM", " 10:30pm",
        " 10:30 a. m.", " 10 AM", ", 10:30", " - 10:30", " @ 10:30", " at 10:30", " 10h30", " 10h",
        " 10 h 30", " à 10h30", " a las 10:30", " às 10:30", " um 10:30 Uhr", " 10.30 Uhr",
        " 10 Uhr", " 10:30 hrs", "T23:00+01:00",
    ],
)  # fmt: skip
@pytest.mark.parametrize("date", ["12/03/2026", "2026-03-12", "12 mars 2026"])
def test_a_time_behind_the_date_is_taken_off(date, time):
    assert read(date + time) == TWELFTH_OF_MARCH


@pytest.mark.parametrize("time", ["T23:00:00.000Z", "T22:00:00Z", " 18:30 UTC", "T23:00+00:00"])
def test_a_late_hour_in_utc_leaves_the_day_open(time):
    assert pd.isna(read("2026-03-12" + time))


@pytest.mark.parametrize(
    "value",
    [
        "31/02/2024", "13/13/2024", "29.02.2023", "00/03/2026", "31 April 2026",
        "03/25/2026",  # fits month-first alone
        "12/03-2026",  # December to March?
        "March 2026", "Mar-26", "03/2026", "2026", "12/03", "Q1 2026", "spring 2026", "KW 12 2026",
        "3 jui 2026",  # juin or juillet
        "3 foo 2026", "12/03/026", "12/03/2026 (OD)", "12/03/2026 25:00", "12/03/2026 24:00",
        "Monday 12 March 2026",  # was a Thursday
        "", "?", "12\u00ad03\u00ad2026",
        45000.0, 2026.0, True, PerCent(20260312.0), float("nan"), float("inf"), dt.time(10, 30),
        dt.timedelta(days=3), "1" * 5000, "1/" * 5000,
    ],
)  # fmt: skip
def test_what_is_no_whole_date_with_certainty_is_not_read(value):
    assert pd.isna(read(value))


@pytest.mark.parametrize(
    "value",
    ["12/03/2026", "03/12/2026", "2026/25/03", "3-Mar-26", "26-03-12", "04.03.25", "26-Mar-03"],
)
def test_where_years_come_first_no_other_order_is_read(value):
    assert pd.isna(read(value, "year-first"))


@pytest.mark.parametrize(
    ("value", "of", "date"),
    [
        ("3/4/25", "event", "2025-04-03"),
        ("22/11/26", "event", "2026-11-22"),
        ("23/11/26", "event", None),  # to come, and 1926 is before there was such surgery
        ("3/4/90", "event", "1990-04-03"),
        ("3/4/89", "event", None),
        ("3-Apr-25", "event", "2025-04-03"),
        ("29/2/00", "event", "2000-02-29"),
        ("3/4/45", "birth", "1945-04-03"),
        ("3/4/26", "birth", "1926-04-03"),  # nobody is operated on in the year of birth
        ("23/11/25", "birth", "1925-11-23"),  # its namesake of 2025 is not yet one year old
        ("22/11/25", "birth", None),
        ("3/4/05", "birth", "2005-04-03"),  # 121 years are no age
        ("3/4/15", "birth", None),  # 11 or 111 years old
        ("3-Apr-15", "birth", None),
    ],
)  # fmt: skip
def test_two_digits_of_a_year_are_read_where_one_century_alone_fits(value, of, date):
    found = read(value, of=of)
    assert pd.isna(found) if date is None else found == pd.Timestamp(date)


@pytest.mark.parametrize("value", ["20260312", 20260312.0, 20260312])
@pytest.mark.parametrize("order", ["day-first", "month-first", "year-first"])
def test_eight_digits_are_year_month_and_day_whatever_the_order(value, order):
    assert read(value, order) == TWELFTH_OF_MARCH


@pytest.mark.parametrize("value", ["19890312", "20270312", "20261312", 18990312.0])
def test_eight_digits_that_can_be_no_date_of_an_event_are_none(value):
    assert pd.isna(read(value))


@given(st.dates(dt.date(1900, 1, 1), dt.date(2100, 12, 31)))
def test_eight_digits_with_the_year_last_are_never_year_month_and_day(date):
    """Read year first, 20122026 would be of the year 2012, with the month 20: where the first four
    digits are a day and a month, the middle ones are the century, which is no month."""
    for written in (date.strftime("%d%m%Y"), date.strftime("%m%d%Y")):
        assert pd.isna(read(written))
        assert pd.isna(read(float(written)))


WRITTEN = {
    "day-first": ["%d/%m/%Y", "%d.%m.%Y", "%d-%m-%Y", "%d %m %Y", "%d. %m. %Y"],
    "month-first": ["%m/%d/%Y", "%m-%d-%Y", "%m.%d.%Y"],
    "year-first": ["%Y.%m.%d", "%Y %m %d"],
}
BY_ITSELF = ["%Y-%m-%d", "%Y/%m/%d", "%Y%m%d", "%d %B %Y", "%B %d, %Y", "%d-%b-%Y", "%Y-%b-%d",
             "%A, %d %B %Y", "%a %d %b %Y"]  # fmt: skip
SCRIPTS = {"ascii": "0123456789", "arabic": "٠١٢٣٤٥٦٧٨٩", "persian": "۰۱۲۳۴۵۶۷۸۹",
           "wide": "０１２３４５６７８９"}  # fmt: skip


@given(
    date=st.dates(dt.date(1990, 1, 1), LATEST),
    order=st.sampled_from(sorted(WRITTEN)),
    data=st.data(),
    time=st.sampled_from(["", " 0:00", " 10:30:00", "T10:30:00Z", " 3:05 PM", " um 10.30 Uhr"]),
    digits=st.sampled_from(sorted(SCRIPTS)),
)
def test_a_date_in_any_spelling_is_read_back(date, order, data, time, digits):
    form = data.draw(st.sampled_from([*WRITTEN[order], *BY_ITSELF]))
    written = (date.strftime(form) + time).translate(str.maketrans("0123456789", SCRIPTS[digits]))
    assert read(written, order) == pd.Timestamp(date), written
