"""Record numbers that two sheets spell differently."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from upload_sheets import OPERATIONS, VISITS, sheet, table, taken_in, told

from transforms.validate.record_numbers import loose_form

DAY, SEEN = dt.datetime(2026, 3, 12), dt.datetime(2026, 6, 15)
TABLES = (
    table("operation", OPERATIONS, sheet="Log"), table("visit", VISITS, sheet="Follow"),
)  # fmt: skip


def follow(operated, seen):
    """An operation for each number of the first list, a visit for each of the second."""
    return taken_in(
        (
            sheet(["No", "Eye", "Op"], *([number, "OD", DAY] for number in operated)),
            sheet(["No", "Eye", "Seen"], *([number, "OD", SEEN] for number in seen), name="Follow"),
        ),
        *TABLES,
    )


@pytest.mark.parametrize(
    ("operated", "seen", "findings", "visits"),
    [
        ("P-12", "P-12", [], 1),
        ("00123", "123", [("record_number_respelled", "A2")], 1),
        ("00123", 123.0, [("record_number_respelled", "A2")], 1),
        (123.0, "00123", [("record_number_respelled", "A2")], 1),
        ("P-0012", "p - 12", [("record_number_respelled", "A2")], 1),
        ("P\u201312", "P-12", [("record_number_respelled", "A2")], 1),
        ("AB12", "ab12", [("record_number_respelled", "A2")], 1),
        ("12345", "12 345", [("record_number_respelled", "A2")], 1),
        ("123", "123.0", [("record_number_respelled", "A2")], 1),
        ("Ｐ12", "P12", [("record_number_respelled", "A2")], 1),
        ("120", "12", [("operation_unknown", "A2")], 0),
        ("12", "12,000", [("operation_unknown", "A2")], 0),
        ("12-3", "1-23", [("operation_unknown", "A2")], 0),
        ("12-3", "123", [("operation_unknown", "A2")], 0),
        ("P12", "Q12", [("operation_unknown", "A2")], 0),
    ],
)
def test_a_number_that_is_spelled_differently_is_matched_and_told(operated, seen, findings, visits):
    intake = follow([operated], [seen])
    assert told(intake.tables["findings"]) == findings
    assert len(intake.tables["visits"]) == visits


def test_a_number_that_fits_two_patients_is_held_with_both_rows_named():
    intake = follow(["0123", "123"], ["00123"])
    assert told(intake.tables["findings"]) == [
        ("record_number_alike", "A3"), ("record_number_ambiguous", "A2"),
    ]  # fmt: skip
    messages = " ".join(intake.tables["findings"]["message"])
    assert "more than one patient fits (Log!A2, Log!A3)" in messages
    assert "another row (Log!A2) by zeros" in messages
    assert intake.tables["visits"].empty


def test_the_exact_spelling_goes_before_a_loose_one():
    intake = follow(["0123", "123"], ["123", "0123"])
    assert told(intake.tables["findings"]) == [("record_number_alike", "A3")]
    assert len(intake.tables["visits"]) == 2


@pytest.mark.parametrize(
    ("numbers", "cells"),
    [(["0123", "123"], ["A3"]), (["P 1", "P1", "P01"], ["A3", "A4"]), (["1-23", "12-3"], [])],
)
def test_patients_whose_numbers_are_alike_stay_two_and_are_asked_about(numbers, cells):
    intake = follow(numbers, [])
    assert told(intake.tables["findings"]) == [("record_number_alike", cell) for cell in cells]
    assert intake.tables["operations"]["patient_key"].nunique() == len(numbers)


def test_one_spelling_is_told_once_a_sheet():
    intake = follow(["007"], ["7", "7"])
    rules = intake.tables["findings"]["rule"].to_list()
    assert rules.count("record_number_respelled") == 1


def test_the_finding_names_the_operations_row_and_never_the_number():
    (finding,) = follow(["0077"], ["77"]).tables["findings"].to_dict("records")
    assert "(Log!A2)" in finding["message"]
    assert "77" not in finding["message"] + finding["mend"]


@given(
    st.text("ABCxyz", max_size=3),
    st.integers(1, 99_999),
    st.integers(0, 4),
    st.sampled_from(["", " ", "\u00a0"]),
)
def test_zeros_spaces_and_case_do_not_change_the_loose_form(letters, number, zeros, space):
    plain = f"{letters}{number}"
    assert loose_form(f" {letters.lower()}{space}{'0' * zeros}{number} ") == loose_form(plain)


@given(st.integers(1, 99_999), st.integers(1, 99_999))
def test_two_numbers_have_two_loose_forms(one, other):
    assert (loose_form(str(one)) == loose_form(str(other))) == (one == other)
