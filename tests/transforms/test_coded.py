"""Words to codes: the centre's own first, then the vocabulary in the centre's language."""

import pandas as pd
import pytest
from reading_context import cells, context

from transforms.harmonise.coded import (
    read_code,
    read_posture_words,
    read_tamponade_words,
    read_technique_words,
    read_yes_no,
)


def read(reader, value, kind, field, column, **habits):
    """What one cell is read as, and the rule that it breaks."""
    found = reader(cells(value), context(kind, field, **habits)).iloc[0]
    return tuple(None if pd.isna(found[name]) else found[name] for name in (column, "problem"))


@pytest.mark.parametrize(
    ("value", "language", "codes", "code"),
    [
        ("closed", "en", {}, "closed_unspecified"),
        ("  CLOSED ", "en", {}, "closed_unspecified"),
        ("type 1", "en", {}, "closed_retinal_bridging"),
        ("Typ 1", "de", {}, "closed_retinal_bridging"),
        ("flat open", "en", {}, "flat_open"),
        ("1", "en", {"1": "elevated_open"}, "elevated_open"),
        (1.0, "en", {"1": "elevated_open"}, "elevated_open"),
        ("closed", "en", {"Closed": "flat_open"}, "flat_open"),
        ("closed", "en", {"2": "flat_open"}, "closed_unspecified"),
    ],
)
def test_the_centres_own_codes_go_before_the_vocabulary(value, language, codes, code):
    found = read(read_code, value, "visit", "closure", "closure", language=language, codes=codes)
    assert found == (code, None)


@pytest.mark.parametrize("value", ["perhaps", 2.0, "closed?", True])
def test_a_word_that_nobody_listed_is_no_code(value):
    assert read(read_code, value, "visit", "closure", "closure") == (None, "word_unknown")


@pytest.mark.parametrize(
    ("field", "value", "language", "code"),
    [
        ("harvest_method", "bleb + scissors", "en", "bleb_and_scissors"),
        ("harvest_method", "ampolla + tijeras", "es", "bleb_and_scissors"),
        ("donor_region", "Superotemporal outside arcade", "en", "superotemporal"),
        ("donor_region", "temporal oben außerhalb der Arkaden", "de", "superotemporal"),
        ("donor_region", "outside the arcades", "en", None),  # in which quadrant?
        ("viscoelastic", "HPMC", "en", "used_unspecified"),
        ("viscoelastic", "Methylcellulose", "de", "used_unspecified"),
    ],
)
def test_words_of_a_graft_under_their_own_heading(field, value, language, code):
    problem = None if code else "word_unknown"
    assert read(read_code, value, "operation", field, field, language=language) == (code, problem)


@pytest.mark.parametrize(("language", "code"), [("en", "amniotic_membrane"), ("es", None)])
def test_a_short_word_counts_in_the_language_that_lists_it(language, code):
    found = read(
        read_technique_words, "AM", "operation", "technique", "graft_material", language=language
    )
    assert found[0] == code


@pytest.mark.parametrize(
    ("value", "language", "codes", "truth"),
    [
        ("yes", "en", {}, True),
        ("No", "en", {}, False),
        ("sí", "es", {}, True),
        ("nein", "de", {}, False),
        (True, "en", {}, True),
        (False, "en", {}, False),
        ("gas", "en", {"gas": "yes"}, True),
        (0.0, "en", {"0": "no"}, False),
    ],
)
def test_yes_and_no_in_words_in_ticks_and_in_the_centres_own_codes(value, language, codes, truth):
    found = read(
        read_yes_no, value, "visit", "under_tamponade", "under_tamponade",
        language=language, codes=codes,
    )  # fmt: skip
    assert found == (truth, None)


def test_what_is_neither_yes_nor_no_is_unknown():
    found = read(read_yes_no, "sometimes", "visit", "under_tamponade", "under_tamponade")
    assert found == (None, "word_unknown")


def test_true_and_one_are_two_cells():
    found = read_yes_no(cells(True, False), context("visit", "under_tamponade"))
    assert found["under_tamponade"].to_list() == [True, False]


def test_technique_words_fill_their_coded_fields():
    found = read_technique_words(
        cells("amniotic membrane, SF6 20%"), context("operation", "technique")
    ).iloc[0]
    assert (found["graft_material"], found["tamponade"], found["tamponade_pct"]) == (
        "amniotic_membrane", "sf6", 20,
    )  # fmt: skip


@pytest.mark.parametrize("value", ["3", 3.0])
def test_the_centres_own_technique_codes_are_graft_materials(value):
    codes = {"3": "lens_capsule"}
    found = read(
        read_technique_words, value, "operation", "technique", "graft_material", codes=codes
    )
    assert found == ("lens_capsule", None)


@pytest.mark.parametrize(
    ("value", "codes", "agent"),
    [("SF6 20%", {}, "sf6"), ("1", {"1": "silicone_oil"}, "silicone_oil"), ("zz", {}, None)],
)
def test_tamponade_words_and_own_codes(value, codes, agent):
    found = read(read_tamponade_words, value, "operation", "tamponade", "tamponade", codes=codes)
    assert found == (agent, None if agent else "word_unknown")


@pytest.mark.parametrize(
    ("value", "codes", "posture", "days"),
    [
        ("face down 5 days", {}, "face_down", 5),
        ("none", {}, "none", None),
        (1.0, {"1": "face_down"}, "face_down", None),
        ("FDP 5d", {"FDP 5d": "side"}, "side", None),
    ],
)
def test_posture_words_and_own_codes(value, codes, posture, days):
    found = read_posture_words(cells(value), context("operation", "posture", codes=codes)).iloc[0]
    assert found["posture"] == posture
    assert pd.isna(found["posture_days"]) if days is None else found["posture_days"] == days
    assert pd.isna(found["problem"])


def test_an_own_code_says_no_more_than_the_crosswalk_does():
    found = read_technique_words(
        cells("ART, SF6 20%", "ART, SF6 20%, quokka"),
        context("operation", "technique", codes={"ART, SF6 20%": "other"}),
    )
    assert found["graft_material"].to_list() == ["other", "autologous_retina"]
    assert found["tamponade"].isna().to_list() == [True, False]
    assert found["rule"].to_list() == ["crosswalk_code", "technique_text"]
    assert found["told"].to_list() == [None, "autologous_retina, sf6"]
