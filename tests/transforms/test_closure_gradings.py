"""Grades of published schemes: numbers and letters that mean nothing without the scheme's name."""

import pytest
from reading_context import cells, context

from schemas.codes import CLOSURE
from schemas.conventions import CLOSURE_GRADINGS
from schemas.conversions import OWN_CODE, grading_rule, words_rule
from schemas.crosswalk import Source
from transforms.harmonise.coded import read_code

BRIDGED = "closed_retinal_bridging"
GRAFT = "closed_graft_in_place"
FLAT = "flat_open"
OPEN = "open_unspecified"
UNKNOWN = "word_unknown"


def reading(value, scheme=None, language="en", **source):
    found = read_code(
        cells(value), context("visit", "closure", language=language, scheme=scheme, **source)
    ).iloc[0]
    return found.astype("object").where(found.notna(), None)


def read(value, scheme=None, language="en", **source):
    """The state, else the rule that the cell breaks."""
    found = reading(value, scheme, language, **source)
    return found["closure"] or found["problem"]


@pytest.mark.parametrize(
    ("scheme", "value", "state"),
    [
        ("types_2003", "1", BRIDGED),
        ("types_2003", 1.0, BRIDGED),
        ("types_2003", 2.0, FLAT),
        ("types_2003", "type 2", FLAT),
        ("types_2003", "Type II", FLAT),
        ("types_2003", "grade 1", BRIDGED),
        ("types_2003", 0.0, UNKNOWN),
        ("types_2003", 3.0, UNKNOWN),
        ("types_2003", "2A", UNKNOWN),
        ("types_2003", "type 12", UNKNOWN),
        ("contours_1999", "U", BRIDGED),
        ("contours_1999", "v", BRIDGED),
        ("contours_1999", "W", FLAT),
        ("contours_1999", "type W", FLAT),
        ("contours_1999", "1", UNKNOWN),
        ("contours_1999", "X", UNKNOWN),
        ("filling_2020", 0.0, OPEN),
        ("filling_2020", "type 0", OPEN),
        ("filling_2020", "1", BRIDGED),
        ("filling_2020", "1c", BRIDGED),
        ("filling_2020", 2.0, GRAFT),
        ("filling_2020", "type 2", GRAFT),
        ("filling_2020", "Type 2A", GRAFT),
        ("filling_2020", "2D", UNKNOWN),
        ("filling_2020", "3", UNKNOWN),
    ],
)
def test_a_grade_is_what_the_declared_scheme_says(scheme, value, state):
    assert read(value, scheme) == state


@pytest.mark.parametrize(
    ("language", "value"),
    [
        ("es", "tipo 2"), ("fr", "type 2"), ("de", "Typ 2"), ("pt", "tipo 2"), ("pt", "Tipo II"),
    ],
)  # fmt: skip
def test_the_word_type_is_known_in_five_languages(language, value):
    assert read(value, "types_2003", language) == FLAT


@pytest.mark.parametrize(
    ("value", "language", "state"),
    [
        ("type 1", "en", BRIDGED),
        ("closed type 1", "en", BRIDGED),
        ("Typ 1", "de", BRIDGED),
        ("tipo I", "es", BRIDGED),
        ("type 2 (flat open)", "en", FLAT),
        ("type 2 (filling tissue)", "en", GRAFT),
    ],
)
def test_without_a_scheme_counts_what_means_one_thing_in_all_of_them(value, language, state):
    assert read(value, None, language) == state


@pytest.mark.parametrize(
    ("value", "language"),
    [
        ("type 2", "en"), ("Type II", "en"), ("closed type 2", "en"), ("type 2 closure", "en"),
        ("grade 2", "en"), ("tipo 2", "es"), ("cierre tipo 2", "es"), ("type 2", "fr"),
        ("fermeture de type 2", "fr"), ("Typ 2", "de"), ("Typ-2-Verschluss", "de"),
        ("tipo 2", "pt"), ("fechado tipo 2", "pt"),
    ],
)  # fmt: skip
def test_without_a_scheme_a_type_that_is_another_state_elsewhere_asks_for_one(value, language):
    found = reading(value, None, language)
    assert (found["closure"], found["problem"]) == (None, "word_ambiguous")


def test_the_finding_quotes_the_states_in_question():
    assert reading("Type 2")["told"] == "closed_graft_in_place, flat_open"
    conflict = reading("type 2 (flat open)", "filling_2020")
    assert conflict["told"] == "closed_graft_in_place, flat_open"


@pytest.mark.parametrize("value", ["2", 2.0, "1", 1.0, 0.0, "0", "W", "1A", "2A", "II", "type 0"])
def test_without_a_scheme_a_number_or_letter_alone_is_no_word(value):
    assert read(value) == UNKNOWN


@pytest.mark.parametrize(
    ("scheme", "value", "language", "state"),
    [
        ("types_2003", "closed type 2", "en", FLAT),
        ("types_2003", "type 2, flat open", "en", FLAT),
        ("types_2003", "Typ-2-Verschluss", "de", FLAT),
        ("types_2003", "fermeture de type 2", "fr", FLAT),
        ("types_2003", "type 2, open", "en", FLAT),
        ("types_2003", "type 1, open", "en", "word_ambiguous"),
        ("types_2003", "closedtype 2", "en", UNKNOWN),
        ("types_2003", "type 2, elevated open", "en", "word_ambiguous"),
        ("filling_2020", "closed type 2", "en", GRAFT),
        ("filling_2020", "cierre tipo 2A", "es", GRAFT),
        ("filling_2020", "type 2 (filling tissue)", "en", GRAFT),
        ("filling_2020", "type 0, open", "en", OPEN),
        ("filling_2020", "type 0, closed", "en", "word_ambiguous"),
        ("filling_2020", "type 2 (flat open)", "en", "word_ambiguous"),
        ("filling_2020", "type 1 or type 2", "en", UNKNOWN),
        ("filling_2020", "type 1?", "en", UNKNOWN),
        ("filling_2020", "not type 1", "en", UNKNOWN),
        ("filling_2020", "2 months", "en", UNKNOWN),
        ("filling_2020", "atypical 1", "en", UNKNOWN),
    ],
)
def test_words_beside_a_grade_must_not_say_otherwise(scheme, value, language, state):
    assert read(value, scheme, language) == state


@pytest.mark.parametrize("scheme", CLOSURE_GRADINGS)
def test_plain_words_are_read_beside_a_scheme(scheme):
    assert read("not closed", scheme) == OPEN
    assert read("not gradable (gas)", scheme) == "not_gradable"


@pytest.mark.parametrize(
    ("value", "source", "rule"),
    [
        ("2", {"scheme": "filling_2020"}, grading_rule("filling_2020")),
        ("type 1", {"scheme": "types_2003"}, grading_rule("types_2003")),
        ("type 1", {}, words_rule("closure")),
        ("open", {"scheme": "types_2003"}, words_rule("closure")),
        ("2", {"scheme": "types_2003", "codes": {"2": "not_done"}}, OWN_CODE),
    ],
)
def test_the_scheme_is_named_as_the_rule_of_what_was_read_by_it(value, source, rule):
    assert reading(value, **source)["rule"] == rule


def test_the_centres_own_codes_go_before_the_scheme():
    assert read("2", "types_2003", codes={"2": "not_done"}) == "not_done"
    found = reading("type 2", codes={"type 2": FLAT})
    assert (found["closure"], found["problem"]) == (FLAT, None)


@pytest.mark.parametrize("name", CLOSURE_GRADINGS)
def test_every_grade_is_a_state_and_is_read_as_it(name):
    for grade, state in CLOSURE_GRADINGS[name].grades.items():
        assert state in CLOSURE
        assert read(grade, name) == read(f"type {grade.lower()}", name) == state


def test_a_scheme_that_nobody_published_is_refused_by_name():
    with pytest.raises(ValueError, match=r"unknown scheme 'filling_2002'.*filling_2020"):
        Source.model_validate({"heading": "OCT", "scheme": "filling_2002"})
