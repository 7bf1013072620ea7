"""File names as they may be kept."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from transforms.file_names import REMOVED, cleared_file_name

KNOWN = ("heron", "Heron Pool Eye Clinic", "Theatre*", "Surgery log")


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("cases.xlsx", "cases.xlsx"),
        ("Macular holes 2026-W47.xlsx", "Macular holes 2026-W47.xlsx"),
        ("follow_up_final_v.ods", "follow_up_final_v.ods"),
        ("Agujeros maculares semana 47.csv", "Agujeros maculares semana 47.csv"),
        ("heron theatre 2026.xlsx", "heron theatre 2026.xlsx"),
        ("surgery LOG.csv", "surgery LOG.csv"),
        ("Ardea Reiher.xlsx", f"{REMOVED} {REMOVED}.xlsx"),
        ("cases of Reiher.xlsx", f"cases of {REMOVED}.xlsx"),
        ("cases_reiher_2026.xlsx", f"{REMOVED}.xlsx"),
        ("Reiher, A. (final).xlsx", f"{REMOVED}, {REMOVED}. (final).xlsx"),
        ("00412345.xlsx", f"{REMOVED}.xlsx"),
        ("MRN48213.csv", f"{REMOVED}.csv"),
        ("", ""),
    ],
)
def test_words_that_are_neither_neutral_nor_known_are_left_out(name, kept):
    assert cleared_file_name(name, KNOWN) == kept


def test_a_word_of_the_crosswalk_is_known_there_alone():
    assert cleared_file_name("Theatre.xlsx", ()) == f"{REMOVED}.xlsx"


@pytest.mark.parametrize("name", ["cases.Ada", "holes for A. Lee", "follow up.Wren"])
def test_a_name_after_a_dot_is_no_ending(name):
    words = cleared_file_name(name, KNOWN).replace(".", " ").split()
    assert {"Ada", "Lee", "Wren"}.isdisjoint(words)


@pytest.mark.parametrize("name", ["cases 12-03-1945.xlsx", "12.03.1945.xlsx", "1945_03_12.xlsx"])
def test_a_whole_date_is_not_kept(name):
    assert "1945" not in cleared_file_name(name, KNOWN)


PERSONS = st.text(st.characters(categories=("Lu", "Ll")), min_size=5, max_size=12)
NAMES = ["{}.xlsx", "cases {}.csv", "week 47 ({}) final.ods", "{}_cases.xlsx"]


@given(PERSONS.map("zq{}".format), st.sampled_from(NAMES))
def test_whatever_the_name_of_a_person_it_is_not_kept(person, pattern):
    cleared = cleared_file_name(pattern.format(person), KNOWN)
    assert person not in cleared
    assert cleared == cleared_file_name(cleared, KNOWN)
