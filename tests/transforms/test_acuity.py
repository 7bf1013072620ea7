"""Acuity: published pairs, every notation, partial lines, and what is refused."""

import datetime as dt
from pathlib import Path

import pandas as pd
import pytest
from acuity_cells import read, read_column, said

from schemas.codebook import columns_from
from schemas.codes import NOTATION
from schemas.conversions import conversions
from transforms.harmonise.context import PROBLEM, RULE, columns_of_values

PUBLISHED = pd.read_csv(
    Path(__file__).parents[1] / "reference" / "acuity.csv",
    dtype={"written": str, "notation": str, "off_chart_set": str},
    keep_default_na=False,
).astype({"logmar": float, "tolerance": float})
DIFFERS, NO_LETTERS = "acuity_notation_differs", "acuity_no_letters"
BEYOND = "acuity_beyond_charts"


@pytest.mark.parametrize(
    "row",
    PUBLISHED.to_dict("records"),
    ids=lambda row: f"{row['notation']}{row['off_chart_set']} {row['written']}",
)
def test_published_pairs(row):
    found = read(
        row["written"], row["notation"] or "snellen_feet",
        off_chart=row["off_chart_set"] or "measured_2009",
    )  # fmt: skip
    assert found["acuity_logmar"] == pytest.approx(row["logmar"], abs=row["tolerance"] + 1e-12)
    assert found["acuity_notation"] == (row["notation"] or "snellen_feet")
    assert bool(found["acuity_imputed"]) == bool(row["off_chart_set"])
    assert row["source"]


def test_every_notation_and_every_off_chart_set_has_published_pairs():
    assert set(PUBLISHED["notation"]) == {*NOTATION, ""}
    assert len(set(PUBLISHED["off_chart_set"])) == 5  # four sets, and none


@pytest.mark.parametrize(
    ("value", "notation", "decimal", "logmar"),
    [
        ("20/40", "snellen_feet", "point", 0.30103),
        ("２０/４０", "snellen_feet", "point", 0.30103),
        ("10/200", "snellen_feet", "point", 1.30103),
        ("6 / 12", "snellen_metres", "point", 0.30103),
        ("6/7,5", "snellen_metres", "comma", 0.09691),
        ("5/10", "snellen_metres", "point", 0.30103),
        ("4/40", "snellen_metres", "point", 1.0),
        ("3/60", "snellen_metres", "point", 1.30103),
        ("1/60", "snellen_metres", "point", 1.77815),
        (0.5, "decimal", "comma", 0.30103),
        ("0,5", "decimal", "comma", 0.30103),
        ("0,05", "decimal", "comma", 1.30103),
        (1.0, "decimal", "point", 0.0),
        ("5/10", "decimal", "point", 0.30103),
        ("1/20", "decimal", "point", 1.30103),
        (1.3, "logmar", "point", 1.3),
        ("1,30", "logmar", "comma", 1.3),
        ("−0.1", "logmar", "point", -0.1),
        ("logMAR 0.3", "logmar", "point", 0.3),
        ("0.3 logMAR", "logmar", "point", 0.3),
        (85.0, "letters", "point", 0.0),
        (1.0, "letters", "point", 1.68),
        ("70 letters", "letters", "point", 0.3),
        (100.0, "letters_100", "point", 0.0),
        (115.0, "letters_100", "point", -0.3),
        (16.0, "letters_100", "point", 1.68),
        (70.0, "letters_4m", "point", -0.3),
        ("12 + 18", "letters_4m", "point", 1.1),
        ("0+1", "letters_4m", "point", 1.68),
        ("19+25", "letters_4m", "point", 0.82),
        ("25+30", "letters_4m", "point", 0.6),  # none is read at 1 m, 30 are credited
        ("20+30", "letters_4m", "point", 0.7),
        (30.0, "letters_1m", "point", 1.1),
    ],
)  # fmt: skip
def test_every_notation(value, notation, decimal, logmar):
    found = read(value, notation, decimal=decimal)
    assert (found[PROBLEM], found["acuity_notation"]) == (None, notation)
    assert found["acuity_logmar"] == pytest.approx(logmar, abs=1e-5)
    assert found["acuity_line_logmar"] == found["acuity_logmar"]


@pytest.mark.parametrize(("value", "notation"), [("20/20", "snellen_feet"), (1.0, "decimal")])
def test_zero_has_no_sign(value, notation):
    assert str(float(read(value, notation)["acuity_logmar"])) == "0.0"


@pytest.mark.parametrize(
    ("value", "notation", "rule"),
    [
        ("20/40", "logmar", DIFFERS),
        (0.5, "snellen_feet", DIFFERS),
        ("0,5", "snellen_feet", DIFFERS),
        ("20/40", "letters", DIFFERS),
        ("20/40", "decimal", DIFFERS),
        ("20/0", "snellen_feet", DIFFERS),
        (55.0, "decimal", DIFFERS),
        ("0.3 logMAR", "letters", DIFFERS),
        ("0 logMAR", "letters", DIFFERS),
        ("logMAR 0.5", "decimal", DIFFERS),
        ("6/9 logMAR", "logmar", DIFFERS),
        (".20/40", "snellen_feet", "acuity_unreadable"),  # 0.2/40, or a stray point
        ("55 letters", "logmar", DIFFERS),
        (101.0, "letters", DIFFERS),  # on the scale of 100 it would be better than 20/20
        (115.0, "letters", DIFFERS),
        (54.5, "letters", DIFFERS),
        (-1.0, "letters", DIFFERS),
        (121.0, "letters_100", DIFFERS),
        (71.0, "letters_4m", DIFFERS),
        ("12+31", "letters_4m", DIFFERS),
        ("25+5", "letters_4m", DIFFERS),  # from 20 at 4 m on none is read at 1 m
        ("20+0", "letters_4m", DIFFERS),
        (31.0, "letters_1m", DIFFERS),
        (0.0, "letters", NO_LETTERS),
        ("0", "letters_1m", NO_LETTERS),
        (0.0, "letters_4m", NO_LETTERS),
        ("0+0", "letters_4m", NO_LETTERS),
        (15.0, "letters_100", NO_LETTERS),  # 0 on the scale of 85
        (0.0, "letters_100", NO_LETTERS),
        (0.0, "decimal", NO_LETTERS),
        ("0/10", "decimal", NO_LETTERS),
        ("0/60", "snellen_metres", NO_LETTERS),
        ("better", "decimal", "acuity_unreadable"),
        ("12+18", "letters", "acuity_unreadable"),
        (True, "decimal", "acuity_unreadable"),
        (dt.datetime(2026, 9, 6), "snellen_metres", "acuity_became_date"),
        (dt.date(2026, 12, 6), "snellen_metres", "acuity_became_date"),
    ],
)  # fmt: skip
def test_what_is_no_acuity_of_its_column_is_refused_whole(value, notation, rule):
    found = read(value, notation)
    assert found[PROBLEM] == rule
    assert found.drop(PROBLEM).isna().all()


def test_fewer_than_20_letters_at_4_m_without_those_at_1_m_are_asked_about():
    found = read(19.0, "letters_4m")
    assert (found["acuity_logmar"], found[PROBLEM]) == (pytest.approx(0.72), "acuity_letters_at_4m")
    assert read(20.0, "letters_4m")[PROBLEM] is None


@pytest.mark.parametrize(
    ("value", "notation", "rule"),
    [
        (1.72, "logmar", BEYOND),
        ("1,98", "logmar", BEYOND),
        ("2.3 logMAR", None, BEYOND),
        (3.0, "logmar", BEYOND),
        (0.019, "decimal", BEYOND),
        ("0.01", "decimal", BEYOND),
        ("2.0 cc", "logmar", BEYOND),
        (1.7, "logmar", None),
        (0.02, "decimal", None),
        (3.4, "logmar", None),  # refused as impossible, which is enough
        ("1/60", "decimal", None),  # a fraction says from where the line was read
        ("1/60", "snellen_metres", None),
        ("20/2000", "snellen_feet", None),
        (16.0, "letters_100", None),
        ("CF", "logmar", None),
        ("HM", "decimal", None),
    ],
)
def test_a_number_worse_than_charts_measure_is_used_and_asked_about(value, notation, rule):
    found = read(value, notation, decimal="comma" if "," in str(value) else "point")
    assert found[PROBLEM] == rule
    assert found["acuity_logmar"] > 1.67
    assert bool(found["acuity_imputed"]) == (value in ("CF", "HM"))


def test_a_number_beyond_charts_through_a_pinhole_is_asked_about_too():
    assert read(2.0, "logmar", "acuity_pinhole")[PROBLEM] == BEYOND
    assert read("2.0 PH 1.0", "logmar")[PROBLEM] == BEYOND


# A cell, then letters and logMAR, where 20/40, 6/12 or 0.5 is 0.301.
PARTIAL = [
    ("20/40-2", -2, 0.341), ("20/40 - 2", -2, 0.341), ("20/40 (-2)", -2, 0.341),
    ("20/40⁻²", -2, 0.341), ("20/40 −2 letters", -2, 0.341), ("20/40+1", 1, 0.281),
    ("20/40 (+1)", 1, 0.281), ("20/40+4", 4, 0.221), ("20/40-4", -4, 0.381),
    ("20/40-", None, 0.301), ("20/40+", None, 0.301), ("20/40 p", None, 0.301),
    ("20/40p", None, 0.301), ("20/40 (P)", None, 0.301), ("20/40 partial", None, 0.301),
]  # fmt: skip


@pytest.mark.parametrize(("value", "letters", "logmar"), PARTIAL)
class TestPartialLines:
    def test_count_by_letter_on_charts_with_five_letters_a_line(self, value, letters, logmar):
        found = read(value, "snellen_feet", letters_a_line=5)
        assert found["acuity_logmar"] == pytest.approx(logmar, abs=5e-4)
        assert found["acuity_line_logmar"] == pytest.approx(0.301, abs=5e-4)
        by_letter = "" if letters is None else "_by_letter"
        assert found[RULE] == f"acuity_snellen_feet{by_letter}"

    @pytest.mark.parametrize("letters_a_line", [None, 8])
    def test_count_as_the_line_on_others(self, value, letters, logmar, letters_a_line):
        found = read(value, "snellen_feet", letters_a_line=letters_a_line)
        assert found["acuity_logmar"] == pytest.approx(0.301, abs=5e-4)
        assert found[RULE] == "acuity_snellen_feet"

    def test_are_kept_beside_it(self, value, letters, logmar):
        found = read(value, "snellen_feet")
        assert found["acuity_partial"] == ("beyond_line" if "+" in value else "short_of_line")
        assert said(found["acuity_partial_letters"]) == letters
        assert found[PROBLEM] is None


@pytest.mark.parametrize(
    ("value", "notation", "language", "partial", "letters"),
    [
        ("0.5p", "decimal", "en", "short_of_line", None),
        ("0,5 pp", "decimal", "de", "short_of_line", None),
        ("0,5 part.", "decimal", "de", "short_of_line", None),
        ("5/10f", "decimal", "fr", "short_of_line", None),
        ("5/10 faible", "decimal", "fr", "short_of_line", None),
        ("6/12 parcial", "snellen_metres", "es", "short_of_line", None),
        ("6/12 con dificultad", "snellen_metres", "es", "short_of_line", None),
        ("20/40 com dificuldade", "snellen_feet", "pt", "short_of_line", None),
        ("6/12 plus", "snellen_metres", "en", "beyond_line", None),
        ("0,5⁻²", "decimal", "de", "short_of_line", -2),
    ],
)
def test_partial_lines_in_five_languages(value, notation, language, partial, letters):
    decimal = "point" if "." in value else "comma"
    found = read(value, notation, language=language, decimal=decimal)
    assert found["acuity_logmar"] == pytest.approx(0.30103, abs=1e-5)
    assert found["acuity_partial"] == partial
    assert said(found["acuity_partial_letters"]) == letters


@pytest.mark.parametrize(
    ("value", "notation", "letters_a_line", "rule"),
    [
        ("20/40-5", "snellen_feet", 5, "acuity_unreadable"),  # that is the next line
        ("20/40+5", "snellen_feet", 5, "acuity_unreadable"),
        ("20/40-8", "snellen_feet", 8, "acuity_unreadable"),
        ("0.3 -2", "logmar", None, "value_range"),
        ("0.5-2", "decimal", None, "value_range"),
        ("35 p", "letters", None, "acuity_unreadable"),  # a score has no line
        ("35 -2", "letters", 5, "acuity_unreadable"),
        ("5/10 f", "decimal", None, "acuity_unreadable"),  # French alone
        ("p 20/40", "snellen_feet", None, "acuity_unreadable"),
        ("20/40-2 p", "snellen_feet", None, "acuity_unreadable"),
        ("CF p", "snellen_feet", None, "acuity_unreadable"),
    ],
)
def test_what_is_no_partial_line_is_refused(value, notation, letters_a_line, rule):
    found = read(value, notation, letters_a_line=letters_a_line)
    assert found[PROBLEM] == rule
    assert found.drop(PROBLEM).isna().all()


@pytest.mark.parametrize("value", ["0.3 -2", "0.3-2", "0.3 (-2)", "0.3(-2)"])
def test_a_number_behind_a_number_is_letters_where_the_crosswalk_says_how_many_a_line_has(value):
    found = read(value, "logmar", letters_a_line=5)
    assert (found["acuity_logmar"], found["acuity_line_logmar"]) == (pytest.approx(0.34), 0.3)
    assert found[RULE] == "acuity_logmar_by_letter"


def test_no_letters_beyond_the_line_are_a_whole_line():
    found = read("20/40+0", "snellen_feet")
    assert (said(found["acuity_partial"]), found["acuity_partial_letters"]) == (None, 0)


@pytest.mark.parametrize("field", ["acuity", "acuity_pinhole"])
def test_the_reader_gives_the_columns_that_the_codebook_says_its_field_fills(field):
    found = read_column(["20/40"], "snellen_feet", field)
    filled = {column for column, fields in columns_from("visit").items() if field in fields}
    assert set(columns_of_values(found)) == filled


def test_every_value_has_a_rule_that_is_declared():
    typed = ["20/40", "20/40-2", "CF", "CF 1m", "20/60 PH", "~20/40", "6/13.7"]
    found = read_column(typed, "snellen_feet", letters_a_line=5)
    is_read = found.drop(columns=[PROBLEM, RULE]).notna().any(axis=1)
    assert list(is_read) == [True, True, True, True, True, False, True]
    assert found[RULE].notna().equals(is_read)
    assert set(found[RULE].dropna()) <= conversions().keys()
