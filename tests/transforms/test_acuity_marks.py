"""Marks beside an acuity: correction, pinhole, near, no improvement, in five languages."""

from pathlib import Path

import pytest
from acuity_cells import read, read_column, said
from vocabulary_entries import entries

import schemas

WORDS = Path(schemas.__file__).parent / "vocabularies"
CORRECTION = entries(WORDS / "acuity_correction.toml")
REMARKS = entries(WORDS / "acuity_remark.toml")
PARTIAL = entries(WORDS / "partial_line.toml")
ON_EITHER_SIDE = ("{word} 20/40", "20/40 {word}", "20/40 ({word})", "{word}: 20/40", "20/40{word}")
BEHIND = ("20/40 {word}", "20/40 ({word})", "20/40{word}", "20/40, {word}")


def each(words, ways, *codes):
    """Code and what is read of every word under one of `codes`, in all ways to write it."""
    for code, language, word in words:
        for way in ways if code in codes else ():
            text = way.format(word=word)
            yield text, code, read(text, "snellen_feet", language=language)


def test_every_word_for_a_correction_is_kept_and_the_acuity_read():
    wrong = [
        text
        for text, code, found in each(CORRECTION, ON_EITHER_SIDE, "corrected", "uncorrected")
        if found["acuity_correction"] != code
        or found["acuity_logmar"] != pytest.approx(0.30103, abs=1e-5)
        or found["problem"] != ("acuity_uncorrected" if code == "uncorrected" else None)
    ]
    assert wrong == []


def test_every_word_for_a_pinhole_keeps_the_acuity_apart():
    wrong = [
        text
        for text, _, found in each(CORRECTION, ON_EITHER_SIDE, "pinhole")
        if found["acuity_pinhole_logmar"] != pytest.approx(0.30103, abs=1e-5)
        or said(found["acuity_logmar"]) is not None
        or (found["acuity_correction"], found["problem"]) != ("pinhole", "acuity_pinhole")
    ]
    assert wrong == []


def test_every_word_for_near_refuses_the_acuity():
    wrong = [
        text
        for text, _, found in each(CORRECTION, ON_EITHER_SIDE, "near")
        if found["problem"] != "acuity_near" or found.drop("problem").notna().any()
    ]
    assert wrong == []


def test_every_word_for_no_improvement_leaves_the_acuity_as_it_is():
    wrong = [
        text
        for text, _, found in each(REMARKS, BEHIND, "no_improvement")
        if found["acuity_logmar"] != pytest.approx(0.30103, abs=1e-5) or found["problem"]
    ]
    assert wrong == []


def test_every_word_that_merely_names_an_acuity_leaves_it_as_it_is():
    wrong = [
        text
        for text, _, found in each(REMARKS, ON_EITHER_SIDE, "acuity")
        if found["acuity_logmar"] != pytest.approx(0.30103, abs=1e-5)
        or found["problem"]
        or said(found["acuity_correction"])
    ]
    assert wrong == []


def test_every_word_for_an_eye_that_looks_past_its_centre_leaves_the_acuity_as_it_is():
    wrong = [
        text
        for text, _, found in each(REMARKS, ON_EITHER_SIDE, "eccentric")
        if found["acuity_logmar"] != pytest.approx(0.30103, abs=1e-5) or found["problem"]
    ]
    assert wrong == []


def test_every_word_for_a_partial_line_is_kept_beside_the_line():
    wrong = [
        text
        for text, code, found in each(PARTIAL, BEHIND, "short_of_line", "beyond_line")
        if found["acuity_partial"] != code
        or found["acuity_logmar"] != pytest.approx(0.30103, abs=1e-5)
    ]
    assert wrong == []


def test_no_word_marks_two_things_in_one_language():
    listed = [(language, word.casefold()) for _, language, word in CORRECTION + REMARKS + PARTIAL]
    assert sorted(set(listed)) == sorted(listed)


# A cell in feet, then acuity, acuity through a pinhole, correction and the rule.
CELLS = [
    ("20/400 ecc", 1.301, None, None, None),
    ("20/400 (eccentric)", 1.301, None, None, None),
    ("20/200 E", 1.0, None, None, None),  # the largest letter
    ("20/200 big E cc", 1.0, None, "corrected", None),
    ("20/60 PH 20/40", 0.477, 0.301, None, None),  # nothing is lost: no question
    ("20/60 (PH 20/40)", 0.477, 0.301, None, None),
    ("20/60 (20/40 PH)", 0.477, 0.301, None, None),
    ("20/60 cc PH 20/40", 0.477, 0.301, "corrected", None),
    ("20/60 cc, 20/40 PH", 0.477, 0.301, "corrected", None),
    ("cc 20/60, PH: 20/40", 0.477, 0.301, "corrected", None),
    ("20/60 - PH 20/40", 0.477, 0.301, None, None),
    ("20/60 PH NI", 0.477, None, None, None),
    ("20/60 NIPH", 0.477, None, None, None),
    ("20/60 NI", 0.477, None, None, None),
    ("20/60 sc PH 20/40", 0.477, 0.301, "uncorrected", "acuity_uncorrected"),
    ("20/200 sc 20/40 cc", 0.301, None, "corrected", None),
    ("sc 20/200, cc 20/40", 0.301, None, "corrected", None),
    ("BCVA 20/40 UCVA 20/200", 0.301, None, "corrected", None),
    ("20/40 cc with pinhole", None, 0.301, "pinhole", "acuity_pinhole"),
    ("20/60-2 p.h. 20/40+1", 0.477, 0.301, None, None),
    ("20/60p PH 20/40", 0.477, 0.301, None, None),
    ("20/60 cc p", 0.477, None, "corrected", None),
    ("CF 2m PH 20/400", 1.477, 1.301, None, None),
    ("HM PH CF 1 m", 2.28, 1.778, None, None),
    ("CF near face cc", 1.98, None, "corrected", None),
    ("PL- cc", 3.0, None, "corrected", None),
    ("20/41 cc", 0.312, None, "corrected", "acuity_line_unknown"),
    ("20/41 sc", 0.312, None, "uncorrected", "acuity_line_unknown"),
]


@pytest.mark.parametrize(("value", "acuity", "pinhole", "correction", "rule"), CELLS)
def test_a_cell_is_taken_apart(value, acuity, pinhole, correction, rule):
    found = read(value, "snellen_feet")
    for column, expected in (("acuity_logmar", acuity), ("acuity_pinhole_logmar", pinhole)):
        value_read = said(found[column])
        assert value_read == (None if expected is None else pytest.approx(expected, abs=5e-4))
    assert (said(found["acuity_correction"]), found["problem"]) == (correction, rule)


@pytest.mark.parametrize(
    ("value", "language", "rule"),
    [
        ("20/40 20/60", "en", "acuity_unreadable"),
        ("20/40 cc 20/60", "en", "acuity_unreadable"),
        ("20/40; 20/200 PH", "en", "acuity_unreadable"),  # two eyes, perhaps
        ("20/60 PH 20/40 PH", "en", "acuity_unreadable"),
        ("20/40 cc sc", "en", "acuity_unreadable"),
        ("20/40 with his own", "en", "acuity_unreadable"),
        ("20/60 PH p 20/40", "en", "acuity_unreadable"),
        ("20/60 with 20/40 correction", "en", "acuity_unreadable"),
        ("20/60 PH better", "en", "acuity_unreadable"),
        ("20/60 PH 0.5", "en", "acuity_notation_differs"),
        ("PL - cc", "en", "acuity_unreadable"),  # none, or a dash
        ("PH", "en", "acuity_unreadable"),
        ("NI", "en", "acuity_unreadable"),
        ("cc", "en", "acuity_unreadable"),
        ("J3", "en", "acuity_near"),
        ("J1+", "en", "acuity_near"),
        ("N8", "en", "acuity_near"),
        ("20/40 J3", "en", "acuity_near"),
        ("P2", "fr", "acuity_near"),
        ("Parinaud 2", "fr", "acuity_near"),
        ("Nahvisus 20/40", "de", "acuity_near"),
        ("cerca de 20/40", "es", "value_estimate"),  # about
        ("20/40 de cerca", "es", "acuity_near"),
        ("perto de 20/40", "pt", "value_estimate"),
        ("près de 20/40", "fr", "value_estimate"),
        ("~20/40 cc", "en", "value_estimate"),
        ("<20/400 sc", "en", "value_bound"),
        ("20/40-20/60 cc", "en", "value_range"),
        ("better than 20/40 cc", "en", "value_bound"),
        ("20/200 E", "es", "acuity_unreadable"),  # English alone
        ("20/60 EST", "es", "acuity_unreadable"),  # estenopeico, or estimated
        ("20/60 c", "en", "acuity_unreadable"),  # cum, or circa
        ("est. 20/60", "en", "value_estimate"),
        ("c 20/60", "en", "value_estimate"),
    ],
)
def test_a_cell_that_cannot_be_taken_apart_is_refused_whole(value, language, rule):
    found = read(value, "snellen_feet", language=language)
    assert found["problem"] == rule
    assert found.drop("problem").isna().all()


@pytest.mark.parametrize(
    ("value", "language", "acuity", "pinhole", "correction"),
    [
        ("6/24 c gl", "en", 0.602, None, "corrected"),
        ("6/24 c/gl", "es", 0.602, None, "corrected"),
        ("6/24 s gl", "en", 0.602, None, "uncorrected"),
        ("20/60 con EST", "es", None, 0.477, "pinhole"),
        ("20/60 con est. 20/40", "es", 0.477, 0.301, None),
        ("3/10 stenop. 5/10", "de", 0.523, 0.301, None),
        ("3/10 sten. L. 5/10", "de", 0.523, 0.301, None),
    ],
)
def test_a_mark_of_correction_goes_before_words_for_an_estimate(
    value, language, acuity, pinhole, correction
):
    found = read(value, "snellen_metres", language=language)
    assert [said(found[name]) for name in ("acuity_logmar", "acuity_pinhole_logmar")] == [
        None if each is None else pytest.approx(each, abs=5e-4) for each in (acuity, pinhole)
    ]
    assert said(found["acuity_correction"]) == correction


@pytest.mark.parametrize(
    ("value", "notation", "logmar", "rule"),
    [
        ("cc -0.1", "logmar", -0.1, None),
        ("cc-0.1", "logmar", None, "acuity_unreadable"),  # a dash or a minus
        ("cc - 0.1", "logmar", None, "acuity_unreadable"),
        ("cc,5", "logmar", None, "acuity_unreadable"),  # a comma or a decimal mark
        ("cc.5", "decimal", None, "acuity_unreadable"),
        ("cc: .5", "decimal", 0.301, None),
        ("VA=0.5", "decimal", 0.301, None),
        ("0.5 cc", "decimal", 0.301, None),
        ("0,5 cc", "decimal", 0.301, "decimal_mark_differs"),
        ("1.000 cc", "decimal", 0.0, None),
        ("1,000 cc", "decimal", None, "number_ambiguous"),
        ("c.c.20/40", "snellen_feet", 0.301, None),
        ("PH-20/40", "snellen_feet", None, "acuity_pinhole"),
        ("85 letters cc", "letters", 0.0, None),
    ],
)
def test_a_mark_joined_to_a_number_does_not_change_it(value, notation, logmar, rule):
    found = read(value, notation)
    expected = None if logmar is None else pytest.approx(logmar, abs=5e-4)
    assert (said(found["acuity_logmar"]), found["problem"]) == (expected, rule)


class TestTheColumnOfPinholes:
    @pytest.mark.parametrize(
        ("value", "logmar", "rule"),
        [
            ("20/40", 0.301, None),
            ("20/40 PH", 0.301, None),
            ("20/60 PH 20/40", 0.301, None),
            ("sc 20/40", 0.301, None),
            ("CF 1 m", 1.778, None),
            ("NI", None, None),  # no better than without: no value, and no question
            ("PH NI", None, None),
            ("20/60 NI", None, "acuity_unreadable"),  # with the pinhole, or without
            ("J3", None, "acuity_near"),
            ("better", None, "acuity_unreadable"),
        ],
    )
    def test_takes_acuities_without_a_mark(self, value, logmar, rule):
        found = read(value, "snellen_feet", "acuity_pinhole")
        expected = None if logmar is None else pytest.approx(logmar, abs=5e-4)
        assert said(found["acuity_pinhole_logmar"]) == expected
        assert found["problem"] == rule

    def test_takes_nothing_from_the_acuity_beside_it(self):
        found = read("CF 2 PH 20/40", "snellen_feet", "acuity_pinhole")
        assert (found["rule"], found["problem"]) == ("acuity_snellen_feet", None)


class TestACorrectionThatTheCrosswalkDeclares:
    def test_stands_beside_every_acuity_and_asks_nothing(self):
        found = read_column(["20/40", "20/60 sc", "CF"], "snellen_feet", correction="uncorrected")
        assert list(found["acuity_correction"]) == ["uncorrected"] * 3
        assert found["problem"].isna().all()

    def test_gives_way_to_the_cell(self):
        found = read_column(["20/40", "20/60 sc"], "snellen_feet", correction="corrected")
        assert list(found["acuity_correction"]) == ["corrected", "uncorrected"]
        assert list(found["problem"]) == [None, "acuity_uncorrected"]

    def test_of_pinholes_puts_the_column_apart(self):
        typed = ["20/40", "20/40 PH", "20/60 PH 20/40", "NI"]
        found = read_column(typed, "snellen_feet", correction="pinhole")
        assert found["acuity_pinhole_logmar"].round(3).tolist()[:3] == [0.301] * 3
        assert [said(value) for value in found["acuity_logmar"].round(3)] == [
            None, None, 0.477, None,
        ]  # fmt: skip
        corrections = [said(value) for value in found["acuity_correction"]]
        assert corrections == ["pinhole", "pinhole", None, None]
        assert found["problem"].isna().all()

    def test_of_near_acuity_refuses_the_column(self):
        found = read_column(["20/40", "CF", 0.5], "snellen_feet", correction="near")
        assert set(found["problem"]) == {"acuity_near"}
        assert found.drop(columns="problem").isna().all(axis=None)
