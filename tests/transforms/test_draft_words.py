"""Drafts of crosswalks: what a heading says, and what values say."""

import pytest
from drafts import NONE

from schemas.codebook import upload_fields
from schemas.vocabulary import normal_form
from transforms.draft import CONFIDENCE_LIMIT
from transforms.draft.column_values import column_values, unit_of
from transforms.draft.habits import date_order, decimal_mark
from transforms.draft.heading_fields import fields_named
from transforms.draft.heading_parts import ways_to_read
from transforms.draft.notation_words import ANY_LETTERS, letters_at_distance, said_by
from transforms.draft.notations import notation_of

# What a heading says


@pytest.mark.parametrize(
    ("heading", "language", "core", "time", "eye", "unit"),
    [
        ("AV 3m", "es", "av", "3 months", None, None),
        ("VA 3/12", "en", "va", "3 months", None, None),
        ("BCVA 1y", "en", "bcva", "1 year", None, None),
        ("6 Monate Visus", "de", "visus", "6 months", None, None),
        ("Acuité à 12 mois", "fr", "acuite", "12 months", None, None),
        ("AV a los 6 meses", "es", "av", "6 months", None, None),
        ("M6 OCT", "en", "oct", "6 months", None, None),
        ("VA 6 weeks post op", "en", "va", "6 weeks", None, None),
        ("VA J8", "fr", "va", "8 days", None, None),
        ("V2 letters", "en", "letters", "visit 2", None, None),
        ("Pre-op VA", "en", "va", "baseline", None, None),
        ("Final VA", "en", "va", "last", None, None),
        ("Œil droit Date", "fr", "date", None, "right", None),
        ("OP-Datum LA", "de", "op datum", None, "left", None),
        ("OS IOP 3m", "en", "iop", "3 months", "left", None),
        ("MLD (mm)", "en", "mld", None, None, "mm"),
        ("MLD [µm]", "en", "mld", None, None, "µm"),
        ("Graft mm", "en", "graft", None, None, "mm"),
        ("graft_mm", "en", "graft", None, None, "mm"),
        ("BCEA (deg^2)", "en", "bcea", None, None, "deg^2"),
        ("D.O.B.", "en", "dob", None, None, None),
        ("Closed (Y/N)", "en", "closed", None, None, None),
        ("# of PPVs", "en", "no of ppvs", None, None, None),
    ],
)
def test_headings_are_taken_apart(heading, language, core, time, eye, unit):
    ways = ways_to_read(heading, language, with_time=True, with_eye=True)
    found = {(way.core, way.time and way.time.label, way.eye, way.unit) for way in ways}
    assert (core, time, eye, unit) in found


@pytest.mark.parametrize("heading", ["VA 3-6 months", "10-2 mean", "Symptoms (months)", "P1 (%)"])
def test_headings_that_name_no_one_visit_are_of_none(heading):
    ways = ways_to_read(heading, "en", with_time=True, with_eye=False)
    assert [way for way in ways if way.time] == []


@pytest.mark.parametrize(
    ("core", "kind", "language", "field"),
    [
        ("no historia", "operation", "es", "patient_id"),
        ("patient fallnummer", "operation", "de", "patient_id"),
        ("date of macular surgery", "operation", "en", "operation_date"),
        ("tamponde", "operation", "en", "tamponade"),
        ("diameter of hole minimum", "operation", "en", "hole_min_diameter"),
        ("best corrected visual acuity letters", "visit", "en", "acuity"),
        ("lens status", "visit", "es", "lens_status"),
    ],
)
def test_a_heading_names_its_field_in_its_own_words_among_others_or_misspelt(
    core, kind, language, field
):
    best = max(fields_named(core, kind, language).values(), key=lambda named: named.score)
    assert (best.field, best.score >= CONFIDENCE_LIMIT) == (field, True)


@pytest.mark.parametrize(
    ("core", "kind"),
    [
        ("fellow eye va", "visit"), ("uncorrected va", "visit"), ("target iop", "visit"),
        ("planned graft diameter", "operation"), ("age at diagnosis", "operation"),
        ("date of first surgery", "operation"), ("previous tamponade", "operation"),
        ("patient name", "operation"), ("gas", "operation"), ("ring 12 p1", "visit"),
        ("reoperation date", "operation"), ("p1 amplitude", "visit"), ("max diameter", "operation"),
    ],
)  # fmt: skip
def test_a_word_that_changes_what_is_measured_keeps_a_heading_from_being_certain(core, kind):
    named = fields_named(core, kind, "en").values()
    assert [each for each in named if each.score >= CONFIDENCE_LIMIT] == []


# What values say


LETTERS = [35.0, 48.0, 61.0, 2.0, 55.0, 60.0]


@pytest.mark.parametrize(
    ("heading", "said"),
    [
        ("BCVA", None), ("BCVA logMAR", "logmar"), ("Visus dezimal", "decimal"),
        ("VA letters", ANY_LETTERS), ("AV letras", ANY_LETTERS),
        ("ETDRS", "letters"), ("lettres ETDRS", "letters"), ("ETDRS letter score", "letters"),
        ("Letters (20/20 = 85)", "letters"), ("letters, 20/20 = 100", "letters_100"),
        ("VA logMAR (from letters)", None),
    ],
)  # fmt: skip
def test_a_heading_names_the_scale_of_letters_or_leaves_it_open(heading, said):
    assert said_by(heading) == said


@pytest.mark.parametrize(
    ("heading", "bare", "notation"),
    [
        ("V4 letters 4 m", "v4 letters", "letters_4m"),
        ("ETDRS at 1 m", "etdrs", "letters_1m"),
        ("Buchstaben in 4m", "buchstaben", "letters_4m"),
    ],
)
def test_letters_may_be_of_the_distance_that_their_heading_names(heading, bare, notation):
    found, at_distance = letters_at_distance(heading)
    assert (normal_form(found), at_distance) == (bare, notation)


@pytest.mark.parametrize("heading", ["VA 4 m", "letters 3m", "ETDRS m4"])
def test_other_acuities_and_other_distances_are_none_of_letters(heading):
    assert letters_at_distance(heading) is None


@pytest.mark.parametrize(
    ("said", "values", "notation", "is_certain"),
    [
        (None, ["20/40", "20/200", "CF", "20/63-2"], "snellen_feet", True),
        (None, ["6/12", "6/60", "3/60", "HM"], "snellen_metres", True),
        (None, ["5/10", "1/20", "1,6/10"], "decimal", True),
        (None, ["6/12", "20/40"], "snellen_metres", True),  # the quotient is the same
        (None, ["20/40", "20/60", "20/80", "20/100", 0.5], "snellen_feet", True),
        (None, ["20/40", "20/60", 0.5], "snellen_feet", False),
        (None, ["5/10", "1/20", 0.3], "decimal", False),  # 0.3 may be logMAR
        (None, ["120/80", "135/85", "142/91", "118/77"], "snellen_metres", False),
        (None, ["0,125", "0,32", "0,03", "0,4"], "decimal", True),
        (None, ["0,125", "0,32", "0,05", "0,4"], "decimal", False),  # one tells, two must
        (None, [0.02, 0.04, 0.06, 0.08, 0.16, 0.22, 0.3, 0.4], "decimal", False),  # or letters
        (None, [0.05, 0.15, 0.25, 0.35, 0.45], "decimal", False),  # or half lines of logMAR
        (None, [-0.1, 0.88, 1.34, 0.42], "logmar", True),
        (None, [1.54, 0.86, 1.3, 2.0, 0.42], "logmar", False),
        ("logmar", [0.02, 0.04, 0.06, 0.08, 0.16], "logmar", True),
        ("decimal", [0.02, 0.04, 0.06, 0.08, 0.16], "decimal", True),
        ("logmar", [0.03, 0.125, 0.63, 0.4], "decimal", False),
        (None, LETTERS, "letters", False),  # 20/20 may be 85 or 100
        (ANY_LETTERS, LETTERS, "letters", False),
        (ANY_LETTERS, [*LETTERS, 104.0], "letters_100", False),
        (ANY_LETTERS, [], "letters", False),
        ("letters", LETTERS, "letters", True),
        ("letters", [*LETTERS, 104.0], "letters_100", False),
        ("letters_100", [*LETTERS, 104.0], "letters_100", True),
        ("letters_4m", LETTERS, "letters_4m", False),
        ("letters", ["20/40", "20/60"], "snellen_feet", False),
        (None, [0.4, 0.5, 1.0, 0.2], "decimal", False),
        ("logmar", [0.4, 0.5, 1.0, 0.2], "logmar", True),
        ("logmar", ["20/40", "20/60"], "snellen_feet", False),
        ("letters", [], "letters", True),
        ("letters_4m", [], "letters_4m", False),
    ],
)
def test_the_notation_is_told_from_values_and_heading(said, values, notation, is_certain):
    found = notation_of(said, [column_values(values, NONE)])
    assert (found.notation, found.is_certain) == (notation, is_certain)


@pytest.mark.parametrize(
    ("field", "said", "values", "unit", "is_certain"),
    [
        ("hole_min_diameter", None, [320.0, 980.0], "um", True),
        ("hole_min_diameter", None, [0.32, 0.98], "mm", False),  # or disc diameters
        ("hole_min_diameter", None, ["320 µm", "410 µm", "500 µm", "610 µm", 530], "um", True),
        ("hole_min_diameter", "mm", [0.32, 0.98], "mm", True),
        ("hole_min_diameter", "dd", [0.32, 0.98], "dd", True),
        ("hole_duration", None, [3.0, 14.0], None, False),  # weeks, months or years
        ("hole_duration", "weeks", [3.0, 14.0], "week", True),
        ("axial_length", None, [23.5, 31.0], None, True),
        ("tamponade_pct", None, [0.14, 0.2], "fraction", True),
    ],
)  # fmt: skip
def test_the_unit_is_told_from_heading_cells_or_range(field, said, values, unit, is_certain):
    asked = upload_fields("operation")[field]
    found = unit_of(asked, said, "heading", column_values(values, NONE))
    assert (found.unit, found.is_certain) == (unit, is_certain)


def test_a_heading_with_a_unit_that_the_field_cannot_have_is_not_of_the_field():
    asked = upload_fields("visit")["mferg_ring1_p1"]
    assert unit_of(asked, "ms", "heading", column_values([40.0], NONE)) is None


@pytest.mark.parametrize(
    ("texts", "order", "is_shown"),
    [
        (["27/05/2024", "03/04/2024"], "day-first", True),
        (["05/27/2024", "03/04/2024"], "month-first", True),
        (["2024-05-27"], "year-first", True),
        (["27.05.24", "2024-05-27"], "day-first", True),
        (["03/04/2024"], "day-first", False),
        ([], "day-first", False),
        (["27/05/2024", "05/27/2024"], "day-first", False),
    ],
)
def test_the_order_of_dates_is_told_from_days_above_twelve(texts, order, is_shown):
    found = date_order(texts)
    assert (found.value, found.is_shown) == (order, is_shown)


@pytest.mark.parametrize(
    ("texts", "language", "mark", "is_shown"),
    [
        (["0,45", "1,2 mm"], "en", "comma", True),
        (["0.45"], "de", "point", True),
        (["45"], "de", "comma", False),
        (["3.5.2024"], "en", "point", False),
    ],
)
def test_the_decimal_mark_is_told_from_texts(texts, language, mark, is_shown):
    found = decimal_mark(texts, None, language)
    assert (found.value, found.is_shown) == (mark, is_shown)
