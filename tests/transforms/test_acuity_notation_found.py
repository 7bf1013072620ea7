"""The notation of a column that declares none: found where its cells allow one alone."""

import pytest
from acuity_cells import read_column, said
from hypothesis import given
from hypothesis import strategies as st

from transforms.harmonise.acuity.lines import decimal_lines
from transforms.harmonise.acuity.notation_found import notation_of_numbers

UNNAMED = "acuity_notation_unnamed"


@pytest.mark.parametrize(
    ("typed", "notation"),
    [
        (["20/40", "20/200", "CF"], "snellen_feet"),
        (["20/40-2", "20/200 cc"], "snellen_feet"),
        (["20/40"], "snellen_feet"),
        (["6/12", "3/60"], "snellen_metres"),
        (["20/40", "6/12"], "snellen_metres"),
        (["5/10", "6/12"], "snellen_metres"),
        (["20/40", "5/200"], "snellen_metres"),
        (["5/10", "1/20", "10/10"], "decimal"),
    ],
)
def test_fractions_are_always_certain(typed, notation):
    found = read_column(typed)
    measured = [cell for cell in typed if cell != "CF"]
    assert found["rule"].tolist()[: len(measured)] == [f"acuity_{notation}"] * len(measured)
    assert found["acuity_notation"].dropna().tolist() == [notation] * len(measured)
    assert UNNAMED not in set(found["problem"])


@pytest.mark.parametrize(
    ("typed", "notation"),
    [
        # Lines of decimal charts; 0.03, 0.125 and 0.63 are no logMAR that anyone scores.
        (["0.63", "0.125", "0.32", "0.16", "0.8"], "decimal"),
        (["0.016", "0.032", "0.063", "0.1"], "decimal"),
        ([0.03, 0.1, 0.25, 0.5, 0.63], "decimal"),
        (["0.125", "0.25", "0.63", "1.0", "CF"], "decimal"),
        ([0.05, 0.1, 0.15, 0.2, 0.3, 0.5, 0.8, 1.0], None),  # may be logMAR, cut off
        ([0.09, 0.17, 0.69, 1.0], None),  # so may 20/25, 20/30 and 20/100 in logMAR
        ([0.76, 0.72, 0.58, 0.5], None),  # logMAR, or letter scores turned into decimals
        ([0.25, 0.63, 0.1, 0.5], None),  # one tells, two must
        ([0.03, 0.63, 0.1], None),  # too few
        ([0.35, 1.15, 1.25, 0.75, 0.45], None),  # half lines
        ([1.45, 1.65, 1.25, 1.0, 1.3], None),
        ([0.33, 0.41, 0.57, 0.63, 0.03], None),  # a machine's hundredths of logMAR
        ([0.67, 0.33, 0.29, 0.13], None),  # 20/30 to 20/150 worked out, or such hundredths
        # Letter scores and whole lines of logMAR; 1.34 is no decimal line.
        ([-0.1, 0.3, 0.88, 1.34], "logmar"),
        ([0.0, 0.48, 0.88, 1.34, 1.7, 2.3], "logmar"),
        ([-0.05, 0.35, 1.35, 1.85, 2.15], "logmar"),
        ([0.3, 1.0, 1.98, 2.28, 2.7], "logmar"),  # among them values given to words
        (["0.3010", "0.4771", "1.0", "1.176", "1.398", "2.1"], "logmar"),
        ([0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0], None),
        ([-0.1, 0.3, 1.0], None),  # one tells
        ([0.03, 0.125, 0.63, 1.34], None),  # both, or neither
        ([-0.1, 0.88, 1.34, 0.37], None),  # 0.37 is neither
        ([55.0, 70.0, 85.0, 35.0], None),  # letters, on one scale or the other
        ([0.0], None),
    ],
)
def test_numbers_are_told_where_all_fit_one_notation_and_several_do_not_fit_the_other(
    typed, notation
):
    found = read_column(typed)
    measured = found["acuity_off_chart"].isna()
    assert {said(name) for name in found["acuity_notation"][measured]} == {notation}
    assert {rule == UNNAMED for rule in found["problem"][measured]} == {notation is None}


def test_words_off_the_chart_are_read_in_a_column_that_nothing_tells():
    found = read_column([0.3, "CF", "HM 30 cm"])
    assert list(found["problem"]) == [UNNAMED, None, None]
    assert [said(value) for value in found["acuity_logmar"]] == [None, 1.98, 2.28]


def test_numbers_among_fractions_need_their_own_evidence():
    unclear = read_column(["20/40", 0.5])
    assert [said(value) for value in unclear["acuity_notation"]] == ["snellen_feet", None]
    assert list(unclear["problem"]) == [None, UNNAMED]
    clear = read_column(["20/40", 0.88, 1.34, -0.1])
    assert list(clear["acuity_notation"]) == ["snellen_feet", *["logmar"] * 3]


def test_a_cell_that_names_its_notation_needs_no_other():
    found = read_column(["0.3 logMAR", 0.3, "55 letters", "12+18"])
    assert [said(value) for value in found["acuity_logmar"]] == [0.3, None, None, None]
    assert list(found["problem"]) == [None, UNNAMED, UNNAMED, UNNAMED]


def test_cells_that_name_a_notation_speak_for_the_others():
    found = read_column(["0.88 logMAR", "1.34 logMAR", "-0.1 logMAR", 0.3])
    assert found["acuity_logmar"].tolist() == [0.88, 1.34, -0.1, 0.3]


def test_letters_at_4_and_1_m_are_no_number_of_another_notation():
    found = read_column([0.88, 1.34, -0.1, "1+2"])
    assert list(found["problem"]) == [None, None, None, UNNAMED]


def test_the_pinhole_beside_an_acuity_speaks_for_the_column_too():
    found = read_column(["0.88 PH 0.1", "1.34 PH 0.74", "0.1"])
    assert set(found["acuity_notation"]) == {"logmar"}
    assert list(read_column(["0.88", "1.34", "0.1"])["problem"]) == [UNNAMED] * 3


def test_zero_speaks_for_nothing_and_is_no_letter_in_a_decimal_column():
    found = read_column([0.0, 0.03, 0.25, 0.63, 0.5])
    assert list(found["problem"]) == ["acuity_no_letters", None, None, None, None]
    assert set(read_column([0.0, 0.03, 0.25, 0.63])["problem"]) == {UNNAMED}


@given(st.lists(st.sampled_from(decimal_lines().tolist()), min_size=1, max_size=30))
def test_lines_of_decimal_charts_are_never_taken_for_logmar(lines):
    assert notation_of_numbers(lines) in ("decimal", None)


@given(st.lists(st.integers(-15, 85), min_size=1, max_size=30))
def test_letter_scores_in_logmar_are_never_taken_for_decimals(letters):
    assert notation_of_numbers([each * 0.02 for each in letters]) in ("logmar", None)


@given(st.lists(st.integers(-6, 60), min_size=1, max_size=30))
def test_half_lines_of_logmar_are_never_taken_for_decimals(halves):
    assert notation_of_numbers([each * 0.05 for each in halves]) in ("logmar", None)


@given(st.lists(st.integers(5, 100), min_size=1, max_size=30))
def test_letter_scores_are_never_told(letters):
    assert notation_of_numbers([float(each) for each in letters]) is None
