"""Acuities off the chart: words, distances, and what each named set gives them."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from acuity_cells import read, said
from hypothesis import given
from hypothesis import strategies as st
from vocabulary_entries import entries

import schemas
from schemas.codes import OFF_CHART
from schemas.conventions import OFF_CHART_SETS
from transforms.harmonise.acuity.off_chart import off_chart_logmar

WORDS = Path(schemas.__file__).parent / "vocabularies"
FINGERS, HAND = "counting_fingers", "hand_motion"
LIGHT, NO_LIGHT = "light_perception", "no_light_perception"
UNREAD = "acuity_distance_unread"


@pytest.mark.parametrize(
    ("value", "language", "code", "logmar"),
    [
        ("CF", "en", FINGERS, 1.98),
        ("HM", "en", HAND, 2.28),
        ("PL", "en", LIGHT, 2.7),
        ("NPL", "en", NO_LIGHT, 3.0),
        ("cuenta dedos", "es", FINGERS, 1.98),
        ("CLD", "fr", FINGERS, 1.98),
        ("CLD de près", "fr", FINGERS, 1.98),
        ("VBLM", "fr", HAND, 2.28),
        ("FZ", "de", FINGERS, 1.98),
        ("HBW", "de", HAND, 2.28),
        ("nulla lux", "de", NO_LIGHT, 3.0),
        ("conta dedos", "pt", FINGERS, 1.98),
        ("CF face", "en", FINGERS, 1.98),
        ("CF @ face", "en", FINGERS, 1.98),
        ("CFCF", "en", FINGERS, 1.98),
        ("CFNF", "en", FINGERS, 1.98),
        ("CD cara", "es", FINGERS, 1.98),
        ("CLD face", "fr", FINGERS, 1.98),
        ("CD face", "pt", FINGERS, 1.98),
        ("HM close", "en", HAND, 2.28),
        ("PL +ve", "en", LIGHT, 2.7),
        ("PL +ve PR accurate", "en", LIGHT, 2.7),
        ("PL+ PR+", "en", LIGHT, 2.7),
        ("PL+, PR-", "en", LIGHT, 2.7),
        ("LS pos", "de", LIGHT, 2.7),
        ("LS defekte Projektion", "de", LIGHT, 2.7),
        ("PL -ve", "en", NO_LIGHT, 3.0),
        ("LS neg.", "de", NO_LIGHT, 3.0),
        ("niega PL", "es", NO_LIGHT, 3.0),
        ("nega PL", "pt", NO_LIGHT, 3.0),
    ],
)  # fmt: skip
@pytest.mark.parametrize("notation", ["decimal", "letters_4m", None])
def test_words_have_the_value_of_the_set_and_are_imputed(value, language, code, logmar, notation):
    found = read(value, notation, language=language)
    assert (found["acuity_off_chart"], found["acuity_logmar"]) == (code, logmar)
    assert found["acuity_imputed"] == True  # noqa: E712  numpy truth
    assert (found["rule"], found["problem"]) == ("off_chart_measured_2009", None)
    assert said(found["acuity_notation"]) == notation
    assert said(found["acuity_line_logmar"]) is None


# A cell, the metres and logMAR; 2.28 is hand motion, the worst that fingers can be.
AT_A_DISTANCE = [
    ("en", "CF 2m", 2, 1.477), ("en", "CF@1m", 1, 1.778), ("en", "CF at 3 m", 3, 1.301),
    ("en", "CF 2'", 0.6096, 1.993), ("en", "CF 2 ft", 0.6096, 1.993),
    ("en", "CF (2 feet)", 0.6096, 1.993), ("en", "CF 1/2 m", 0.5, 2.079),
    ("en", "CF ½ m", 0.5, 2.079), ("en", "CF: 1.5 m", 1.5, 1.602), ("en", "CF-2m", 2, 1.477),
    ("en", "1 m CF", 1, 1.778), ("en", "counting fingers at 1 metre", 1, 1.778),
    ("en", 'CF 20"', 0.508, 2.072), ("en", "CF 20 inches", 0.508, 2.072),
    ("en", "CF 10 cm", 0.1, 2.28), ("en", "CF 8 m", 8, 1.0),
    ("de", "FZ in 30 cm", 0.3, 2.28), ("de", "FZ aus 1 m", 1, 1.778),
    ("de", "Fingerzählen in 2 Metern", 2, 1.477), ("es", "CD a 50 cm", 0.5, 2.079),
    ("es", "cuenta dedos a 1 metro", 1, 1.778), ("es", "CD 3 pies", 0.9144, 1.817),
    ("fr", "CLD à 1 m", 1, 1.778), ("fr", "compte les doigts à 50cm", 0.5, 2.079),
    ("pt", "conta dedos a 1 m", 1, 1.778), ("pt", "CD 2 pés", 0.6096, 1.993),
    ("en", "CF x 3'", 0.9144, 1.817), ("en", "CF (one metre)", 1, 1.778),
    ("es", "CD x 50 cm", 0.5, 2.079), ("es", "CD a un metro", 1, 1.778),
    ("fr", "CLD à un mètre", 1, 1.778), ("de", "FZ in zwei Metern", 2, 1.477),
    ("pt", "CD a um metro", 1, 1.778),
]  # fmt: skip


@pytest.mark.parametrize(("language", "value", "metres", "logmar"), AT_A_DISTANCE)
def test_fingers_at_a_distance_are_worth_what_the_distance_says(language, value, metres, logmar):
    found = read(value, "snellen_feet", language=language)
    assert found["acuity_distance_m"] == pytest.approx(metres)
    assert found["acuity_logmar"] == pytest.approx(logmar, abs=5e-4)
    assert found["acuity_imputed"] == True  # noqa: E712
    assert (found["rule"], found["problem"]) == ("counting_fingers_at_distance", None)


@pytest.mark.parametrize(
    ("language", "value"),
    [("en", "HM 30cm"), ("en", "HM at 30 cm"), ("es", "MM a 30 cm"), ("de", "HBW in 30 cm")],
)
def test_a_hand_keeps_its_distance_and_the_value_of_the_set(language, value):
    found = read(value, "decimal", language=language)
    assert (found["acuity_distance_m"], found["acuity_logmar"]) == (pytest.approx(0.3), 2.28)
    assert (found["rule"], found["problem"]) == ("off_chart_measured_2009", None)


@pytest.mark.parametrize(
    "value",
    ["CF 2", "CF@2", "CF at 2", "CF (2)", "CF ~1m", "CF about 1 m", "CF 1-2 m", "CF 1 to 2 m",
     "CF <1 m", "CF 0 m", "CF 1,250 m", "CF 20/401 m", "HM 30"],
)  # fmt: skip
def test_a_distance_that_cannot_be_read_leaves_the_value_of_the_set_and_asks(value):
    found = read(value, "snellen_feet")
    assert said(found["acuity_distance_m"]) is None
    assert found["acuity_logmar"] == (2.28 if value.startswith("HM") else 1.98)
    assert (found["rule"], found["problem"]) == ("off_chart_measured_2009", UNREAD)


@pytest.mark.parametrize(
    "value",
    ["CF 20/40", "20/40 CF", "0.5 CF", "CF 2 letters", "CF 2 m 3 m", "CF HM", "CF-HM", "CF 2 mmHg",
     "LP 20/40", "CF m", "CF one", "blind", "blind eye", "PL-ve", "n.l."],
)  # fmt: skip
def test_what_says_more_than_one_thing_or_nothing_certain_is_refused(value):
    found = read(value, "snellen_feet")
    assert found["problem"] == "acuity_unreadable"
    assert found.drop("problem").isna().all()


@pytest.mark.parametrize(("value", "rule"), [("LP 1 m", None), ("LP 0.5", UNREAD)])
def test_a_distance_says_nothing_of_light(value, rule):
    found = read(value, "decimal")
    assert (found["acuity_logmar"], said(found["acuity_distance_m"])) == (2.7, None)
    assert found["problem"] == rule


def test_the_minus_of_no_light_perception_is_no_dash():
    assert read("PL-1 m", "decimal")["acuity_off_chart"] == "no_light_perception"
    assert read("CF-1 m", "decimal")["acuity_off_chart"] == FINGERS
    assert read("light perception-1 m", "decimal")["problem"] == "acuity_unreadable"


def test_a_decimal_mark_other_than_the_centre_s_is_asked_about():
    found = read("CF 1,5 m", "decimal")
    assert (found["acuity_distance_m"], found["problem"]) == (1.5, "decimal_mark_differs")


def test_every_unit_and_every_word_before_a_distance_is_read():
    metres = {"metre": 2, "centimetre": 0.02, "foot": 0.6096, "inch": 0.0508}
    of_distance = entries(WORDS / "sight_distance.toml")
    wrong = []
    for code, language, word in of_distance:
        text = f"CF {word} 2 m" if code == "at" else f"CF 2 {word}"
        found = read(text, "decimal", language=language)
        if found["acuity_distance_m"] != pytest.approx(metres.get(code, 2)):
            wrong.append((language, text))
    assert wrong == []


@pytest.mark.parametrize("name", OFF_CHART_SETS)
class TestEverySet:
    def test_gives_a_value_to_every_word_in_order_of_sight(self, name):
        values = [OFF_CHART_SETS[name].values[code] for code in OFF_CHART]
        assert values == sorted(values)
        words = ("CF", "HM", "LP", "NLP")
        assert [read(w, "decimal", off_chart=name)["acuity_logmar"] for w in words] == values

    @given(st.lists(st.floats(0.01, 100), min_size=2, max_size=5))
    def test_keeps_fingers_between_the_worst_letters_and_a_hand(self, name, metres):
        codes, chosen = pd.Series([FINGERS] * len(metres)), OFF_CHART_SETS[name]
        found = off_chart_logmar(codes, pd.Series(sorted(metres)), chosen)
        assert found.is_monotonic_decreasing
        assert found.between(1.0, chosen.values[HAND]).all()


def test_no_code_has_no_value():
    found = off_chart_logmar(
        pd.Series([None, HAND], dtype="object"), pd.Series([1.0, np.nan]),
        OFF_CHART_SETS["optical_1997"],
    )  # fmt: skip
    assert [said(value) for value in found] == [None, 3.0]
