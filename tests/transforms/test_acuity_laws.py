"""Laws of acuity: order, round trip, and that nothing is read into noise."""

import math
import re

import pytest
from acuity_cells import read, read_column
from hypothesis import given, settings
from hypothesis import strategies as st

from schemas.codes import NOTATION
from schemas.crosswalk import LANGUAGES
from schemas.vocabulary import normal_form, vocabulary

LOGMAR = "acuity_logmar"
LAW = settings(deadline=None)  # the machine may be busy


def letters(most, worst=1):
    return st.integers(worst, most).map(float)


def at_4_and_1_m(both):
    return f"{both[0]}+{both[1]}" if both[0] < 20 else str(both[0])


# Each notation: what it can write, and by what the better of two is the larger.
WRITTEN = {
    "snellen_feet": (st.integers(8, 4000).map(lambda d: (f"20/{d}", 20 / d))),
    "snellen_metres": (
        st.tuples(st.sampled_from([6, 5, 4, 3, 2, 1]), st.integers(3, 1200)).map(
            lambda f: (f"{f[0]}/{f[1]}", f[0] / f[1])
        )
    ),
    "decimal": st.integers(1, 250).map(lambda h: (h / 100, h)),
    "logmar": st.integers(-30, 300).map(lambda h: (h / 100, -h)),
    "letters": letters(100).map(lambda n: (n, n)),
    "letters_100": letters(120, 16).map(lambda n: (n, n)),
    "letters_4m": st.tuples(st.integers(0, 70), st.integers(1, 30)).map(
        lambda both: (at_4_and_1_m(both), both[0] + (30 if both[0] >= 20 else both[1]))
    ),
    "letters_1m": letters(30).map(lambda n: (n, n)),
}


def test_every_notation_is_under_the_laws():
    assert WRITTEN.keys() == NOTATION.keys()


@pytest.mark.parametrize("notation", WRITTEN)
@LAW
@given(data=st.data())
def test_better_stays_better_and_equal_stays_equal(notation, data):
    (one, how_good), (other, how_good_other) = data.draw(
        st.tuples(WRITTEN[notation], WRITTEN[notation])
    )
    found = read_column([one, other], notation)[LOGMAR]
    assert found.notna().all()
    if math.isclose(how_good, how_good_other):
        assert found[0] == pytest.approx(found[1])
    else:
        assert (found[0] < found[1]) == (how_good > how_good_other)


@LAW
@given(
    better=st.integers(8, 4000), worse=st.integers(8, 4000),
    beyond=st.integers(-4, 4), short=st.integers(-4, 4),
)  # fmt: skip
def test_letters_of_a_partial_line_order_acuities_within_it_alone(better, worse, beyond, short):
    found = read_column(
        [f"20/{better}{beyond:+}", f"20/{worse}{short:+}"], "snellen_feet", letters_a_line=5
    )
    assert (found[LOGMAR] - found["acuity_line_logmar"]).abs().max() < 0.1
    if better == worse:
        assert (found[LOGMAR][0] < found[LOGMAR][1]) == (beyond > short)


# A logMAR as a centre would write it in a notation, to the digits that are usual there, and the
# largest error that these digits can make.
def in_feet(logmar):
    size = 20 * 10**logmar
    return f"20/{size:.0f}", 0.5 / size


def in_metres(logmar):
    size = 6 * 10**logmar
    return f"6/{size:.1f}", 0.05 / size


def in_decimal(logmar):
    return f"{10**-logmar:.3f}", 0.0005 * 10**logmar


def in_letters_4m(logmar):
    at_4_m = round(55 - 50 * logmar)
    if at_4_m >= 20:
        return f"{at_4_m}", 0.01
    both = round(85 - 50 * logmar)
    return f"{max(both - 30, 0)}+{min(both, 30)}", 0.01


RETURNS = {
    "snellen_feet": (in_feet, -0.3, 2.0),
    "snellen_metres": (in_metres, -0.3, 2.0),
    "decimal": (in_decimal, -0.3, 2.0),
    "logmar": (lambda logmar: (f"{logmar:.2f}", 0.005), -0.3, 2.0),
    "letters": (lambda logmar: (f"{85 - 50 * logmar:.0f}", 0.01), -0.3, 1.67),
    "letters_100": (lambda logmar: (f"{100 - 50 * logmar:.0f}", 0.01), -0.3, 1.67),
    "letters_4m": (in_letters_4m, -0.3, 1.67),
    "letters_1m": (lambda logmar: (f"{85 - 50 * logmar:.0f}", 0.01), 1.1, 1.67),
}


@pytest.mark.parametrize("notation", RETURNS)
@LAW
@given(data=st.data())
def test_written_and_read_back_an_acuity_is_within_the_step_of_its_notation(notation, data):
    write, best, worst = RETURNS[notation]
    logmar = data.draw(st.floats(best, worst))
    text, step = write(logmar)
    found = read(text, notation)
    in_logmar = step if notation.startswith("l") else -math.log10(1 - step)
    assert found[LOGMAR] == pytest.approx(logmar, abs=in_logmar + 1e-9), text
    assert found["acuity_notation"] == notation


@LAW
@given(st.integers(10, 4000))
def test_feet_metres_and_decimal_of_one_acuity_agree(denominator):
    feet = read(f"20/{denominator}", "snellen_feet")[LOGMAR]
    metres = read(f"6/{denominator * 0.3:.6f}", "snellen_metres")[LOGMAR]
    decimal = read(f"{20 / denominator:.12f}", "decimal")[LOGMAR]
    assert feet == pytest.approx(metres, abs=1e-6)
    assert feet == pytest.approx(decimal, abs=1e-6)


@LAW
@given(st.integers(0, 100))
def test_the_two_scales_of_letters_lie_15_apart(score):
    on_85, on_100 = read(float(score), "letters"), read(float(score + 15), "letters_100")
    assert on_85["problem"] == on_100["problem"] == (None if score else "acuity_no_letters")
    assert score == 0 or on_85[LOGMAR] == pytest.approx(on_100[LOGMAR])


NUMBER = r"(?:\d+(?:[.,]\d*)*|[.,]\d+)"
# A number or a fraction, with letters of a partial line or those at 1 m.
MEASURED = re.compile(rf"-?{NUMBER}(?: ?/ ?{NUMBER})?(?: ?\(?[-+] ?\d{{0,2}}\)?)?")
WORD = re.compile(r"[^\W\d_]+")
BESIDE = ("acuity_correction", "acuity_remark", "partial_line")
PIECES = [
    *"0123456789./,+-()@~<?' ", "CF", "HM", "LP", "cc", "PH", "p", "m", "cm", "NI", "sc", "x",
    "logMAR", "letters", "near", "at", "é", "–", "OD", "20/40", "0.5",
]  # fmt: skip
NOISE = st.lists(st.sampled_from(PIECES), max_size=9).map("".join)


def known(word, *concepts):
    return any(normal_form(word) in vocabulary(concept).words for concept in concepts)


@settings(max_examples=400, deadline=None)
@given(text=NOISE, notation=st.sampled_from([*NOTATION, None]), language=st.sampled_from(LANGUAGES))
def test_noise_has_a_value_only_where_it_is_an_acuity_among_known_words(text, notation, language):
    found = read(text, notation, language=language, letters_a_line=5)
    values = int(found[[LOGMAR, "acuity_pinhole_logmar"]].notna().sum())
    if not values:
        assert found["problem"] is not None
        return
    words = WORD.findall(text)
    if any(known(word, "off_chart") for word in words):
        assert all(known(word, *BESIDE, "off_chart", "sight_distance", "inexact") for word in words)
        return
    named = {"logmar", "letters"}
    if "logMAR" in words:
        assert notation in ("logmar", None)
    assert all(word.casefold() in named or known(word, *BESIDE) for word in words)
    assert len(MEASURED.findall(text.replace("–", "-"))) == values


@LAW
@given(st.text(max_size=12), st.sampled_from([*NOTATION, None]))
def test_any_text_is_read_or_refused_by_a_rule(text, notation):
    found = read(text, notation)
    assert found.drop("problem").notna().any() or found["problem"] is not None
