"""Acuity: published pairs, every notation, words off the chart, and what is refused."""

import datetime as dt
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from reading_context import cells, context

from transforms.harmonise.acuity import read_acuity

PUBLISHED = pd.read_csv(
    Path(__file__).parents[1] / "reference" / "acuity.csv", dtype={"written": str}
)


def read(value, notation, **habits):
    return read_acuity(cells(value), context("visit", "acuity", notation=notation, **habits)).iloc[
        0
    ]


@pytest.mark.parametrize(
    "row", PUBLISHED.to_dict("records"), ids=lambda r: f"{r['notation']} {r['written']}"
)
def test_published_pairs(row):
    found = read(row["written"], row["notation"])
    assert found["acuity_logmar"] == pytest.approx(row["logmar"], abs=row["tolerance"] + 1e-12)
    assert found["acuity_notation"] == row["notation"]
    assert found["acuity_imputed"] == False  # noqa: E712  numpy truth


@pytest.mark.parametrize(
    ("value", "notation", "decimal", "logmar"),
    [
        (0.5, "decimal", "comma", 0.30103),
        ("0,5", "decimal", "comma", 0.30103),
        ("0,05", "decimal", "comma", 1.30103),
        (1.0, "decimal", "point", 0.0),
        (1.3, "logmar", "point", 1.3),
        ("1,30", "logmar", "comma", 1.3),
        ("-0.1", "logmar", "point", -0.1),
        ("\u22120.1", "logmar", "point", -0.1),
        (35.0, "letters", "point", 1.0),
        ("20/40-2", "snellen_feet", "point", 0.30103),
        ("20/40 (+1)", "snellen_feet", "point", 0.30103),
        ("6 / 12", "snellen_metres", "point", 0.30103),
        ("6/7,5", "snellen_metres", "comma", 0.09691),
        ("3/60", "snellen_metres", "point", 1.30103),
        ("２０/４０", "snellen_feet", "point", 0.30103),
    ],
)  # fmt: skip
def test_every_notation(value, notation, decimal, logmar):
    assert read(value, notation, decimal=decimal)["acuity_logmar"] == pytest.approx(
        logmar, abs=1e-5
    )


@pytest.mark.parametrize(
    ("value", "language", "code", "logmar"),
    [
        ("CF", "en", "counting_fingers", 1.98),
        ("CF@1m", "en", "counting_fingers", 1.98),
        ("CF 2 m", "en", "counting_fingers", 1.98),
        ("HM", "en", "hand_motion", 2.28),
        ("PL", "en", "light_perception", 2.7),
        ("NPL", "en", "no_light_perception", 3.0),
        ("cuenta dedos", "es", "counting_fingers", 1.98),
        ("CLD", "fr", "counting_fingers", 1.98),
        ("VBLM", "fr", "hand_motion", 2.28),
        ("FZ", "de", "counting_fingers", 1.98),
        ("HBW", "de", "hand_motion", 2.28),
        ("nulla lux", "de", "no_light_perception", 3.0),
        ("conta dedos", "pt", "counting_fingers", 1.98),
    ],
)  # fmt: skip
def test_off_chart_words_have_the_value_of_the_set_and_are_imputed(value, language, code, logmar):
    found = read(value, "decimal", language=language)
    assert (found["acuity_off_chart"], found["acuity_logmar"]) == (code, logmar)
    assert found["acuity_imputed"] == True  # noqa: E712


@pytest.mark.parametrize(
    ("value", "notation", "rule"),
    [
        ("20/40", "logmar", "acuity_notation_differs"),
        (0.5, "snellen_feet", "acuity_notation_differs"),
        ("20/40", "letters", "acuity_notation_differs"),
        ("20/40", "decimal", "acuity_notation_differs"),
        (55.0, "decimal", "acuity_notation_differs"),
        ("better", "decimal", "acuity_unreadable"),
        ("0,5", "snellen_feet", "acuity_notation_differs"),
        ("20/0", "snellen_feet", "acuity_notation_differs"),
        (True, "decimal", "acuity_unreadable"),
        (dt.datetime(2026, 9, 6), "snellen_metres", "acuity_became_date"),
        (dt.date(2026, 12, 6), "snellen_metres", "acuity_became_date"),
    ],
)  # fmt: skip
def test_what_is_no_acuity_of_its_column_is_refused(value, notation, rule):
    found = read(value, notation)
    assert found["problem"] == rule
    assert pd.isna(found["acuity_logmar"])


@given(st.floats(0.005, 2.0), st.floats(0.005, 2.0))
def test_better_stays_better(one, other):
    better, worse = max(one, other), min(one, other)
    in_decimal = [read(v, "decimal")["acuity_logmar"] for v in (better, worse)]
    assert in_decimal[0] <= in_decimal[1]
    in_letters = [read(85 - 50 * logmar, "letters")["acuity_logmar"] for logmar in (0.2, 0.4)]
    assert in_letters[0] < in_letters[1]


@given(st.integers(10, 4000))
def test_feet_metres_and_decimal_of_one_acuity_agree(denominator):
    feet = read(f"20/{denominator}", "snellen_feet")["acuity_logmar"]
    metres = read(f"6/{denominator * 0.3:.6f}", "snellen_metres")["acuity_logmar"]
    decimal = read(f"{20 / denominator:.12f}", "decimal")["acuity_logmar"]
    assert feet == pytest.approx(metres, abs=1e-6)
    assert feet == pytest.approx(decimal, abs=1e-6)
