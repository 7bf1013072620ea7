"""Sensitivity of pooled acuity to words off the chart: small tables of eyes, worked out by hand.

The study's set is measured_2009: counting fingers 1.98, hand motion 2.28, light perception 2.7.
"""

import datetime as dt

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pooled_eyes import at_baseline_and_m3, index_eyes, operations, row, visit, visits, visits_of
from upload_sheets import OPERATIONS, STUDY, codes_of, sheet, table, taken_in

from schemas.conventions import OFF_CHART_SETS
from schemas.pooled_tables import ANALYSES, MAIN, off_chart_analysis, outcome_meaning
from transforms.intake import coded
from transforms.pooling import pooled_tables

WORDS = {
    "CF": "counting_fingers", "HM": "hand_motion", "LP": "light_perception",
    "NLP": "no_light_perception",
}  # fmt: skip
OWN_SET = OFF_CHART_SETS[STUDY.acuity.off_chart].values


def seen(said, **facts):
    """What the warehouse holds of an acuity: a logMAR or a word off the chart."""
    if said is None:
        return facts
    if said not in WORDS:
        return {"acuity_logmar": said, "acuity_line_logmar": said, "acuity_imputed": False} | facts
    word = WORDS[said]
    return {
        "acuity_logmar": OWN_SET[word], "acuity_off_chart": word, "acuity_imputed": True,
    } | facts  # fmt: skip


def function(*eyes):
    """The pooled table of eyes, each with what was seen at baseline and at m3."""
    pairs = [tuple(one if isinstance(one, dict) else seen(one) for one in eye) for eye in eyes]
    return pooled_tables(index_eyes(len(eyes)), at_baseline_and_m3(*pairs), STUDY, 0)["function"]


EYES = (("CF", 0.98), ("HM", 1.0), ("LP", "HM"), (1.0, 0.7))


@pytest.mark.parametrize(
    ("analysis", "eyes", "imputed", "changes", "gained"),
    [
        ("main", 4, 3, (-1.0, -1.28, -0.42, -0.3), 4),
        ("off_chart:measured_2009", 4, 3, (-1.0, -1.28, -0.42, -0.3), 4),
        ("off_chart:measured_2006", 4, 3, (-0.87, -1.30, -0.40, -0.3), 4),
        ("off_chart:national_cataract", 4, 3, (-1.12, -1.40, -0.30, -0.3), 4),
        ("off_chart:optical_1997", 4, 3, (-1.02, -2.0, 0.0, -0.3), 3),
        ("without_light_perception", 3, 2, (-1.0, -1.28, -0.3), 3),
        ("by_line", 4, 3, (-1.0, -1.28, -0.42, -0.3), 4),
    ],
)
def test_each_set_gives_its_own_change(analysis, eyes, imputed, changes, gained):
    table = function(*EYES)
    mean = row(table, "acuity_change_logmar", "mean", analysis=analysis)
    assert (mean["eyes"], mean["estimate"]) == (eyes, pytest.approx(sum(changes) / eyes))
    for outcome, events in (
        ("acuity_change_imputed", imputed), ("acuity_gained_0.3", gained), ("acuity_lost_0.3", 0),
    ):  # fmt: skip
        share = row(table, outcome, "proportion", analysis=analysis)
        assert (share["events"], share["eyes"]) == (events, eyes)


@pytest.mark.parametrize(
    ("analysis", "visit", "eyes", "mean"),
    [
        ("main", "baseline", 4, (1.98 + 2.28 + 2.7 + 1.0) / 4),
        ("off_chart:optical_1997", "baseline", 4, (2.0 + 3.0 + 3.0 + 1.0) / 4),
        ("without_light_perception", "baseline", 3, (1.98 + 2.28 + 1.0) / 3),
        # The eye with light perception at baseline sees a hand at m3: its level there counts.
        ("without_light_perception", "m3", 4, (0.98 + 1.0 + 2.28 + 0.7) / 4),
        ("off_chart:optical_1997", "m3", 4, (0.98 + 1.0 + 3.0 + 0.7) / 4),
    ],
)
def test_each_set_gives_its_own_level(analysis, visit, eyes, mean):
    found = row(function(*EYES), "acuity_logmar", "mean", visit=visit, analysis=analysis)
    assert (found["eyes"], found["estimate"]) == (eyes, pytest.approx(mean))


@pytest.mark.parametrize(
    ("eye", "eyes"),
    [(("LP", 1.0), 0), ((1.0, "NLP"), 0), (("NLP", "NLP"), 0), (("HM", "CF"), 1)],
)
def test_light_perception_at_either_visit_leaves_the_change_out(eye, eyes):
    table = function(eye)
    without = row(table, "acuity_change_logmar", "mean", analysis="without_light_perception")
    assert (row(table, "acuity_change_logmar", "mean")["eyes"], without["eyes"]) == (1, eyes)


@pytest.mark.parametrize(
    ("before", "after", "at_baseline", "at_m3", "of_change"),
    [("CF", 1.0, 1, 0, 1), (1.0, "CF", 0, 1, 1), ("HM", "CF", 1, 1, 1), (1.0, 0.5, 0, 0, 0)],
)
def test_the_eyes_that_rest_on_a_word_are_counted(before, after, at_baseline, at_m3, of_change):
    table = function((before, after))
    assert [
        row(table, "acuity_imputed", "proportion", visit="baseline")["events"],
        row(table, "acuity_imputed", "proportion")["events"],
        row(table, "acuity_change_imputed", "proportion")["events"],
    ] == [at_baseline, at_m3, of_change]


@pytest.mark.parametrize("name", OFF_CHART_SETS)
@pytest.mark.parametrize(
    ("distance", "logmar"),
    # log10(60 / d); at 10 m no better than 1.0
    [(2.0, 1.4771213), (1.0, 1.7781513), (10.0, 1.0)],
)
def test_fingers_at_a_known_distance_are_worth_the_same_in_every_set(name, distance, logmar):
    fingers = {
        "acuity_logmar": logmar, "acuity_off_chart": "counting_fingers", "acuity_imputed": True,
        "acuity_distance_m": distance,
    }  # fmt: skip
    found = row(
        function((fingers, 0.5)), "acuity_logmar", "mean", visit="baseline",
        analysis=off_chart_analysis(name),
    )  # fmt: skip
    assert found["estimate"] == pytest.approx(logmar)


def test_by_line_the_letters_of_a_partial_line_do_not_count():
    before = seen(0.76, acuity_line_logmar=0.8)
    after = seen(0.46, acuity_line_logmar=0.5)
    read_less = seen(0.54, acuity_line_logmar=0.5)
    table = function((before, after), (before, read_less))
    assert row(table, "acuity_change_logmar", "mean")["estimate"] == pytest.approx(-0.26)
    assert row(table, "acuity_gained_0.3", "proportion")["events"] == 1
    by_line = row(table, "acuity_change_logmar", "mean", analysis="by_line")
    assert by_line["estimate"] == pytest.approx(-0.3)
    assert row(table, "acuity_gained_0.3", "proportion", analysis="by_line")["events"] == 2


# By ordered category


@pytest.mark.parametrize(
    ("before", "after", "outcome"),
    [
        (1.0, 0.7, "better"),
        (1.0, 0.71, "same"),
        (1.0, 1.29, "same"),
        (0.9, 1.2, "worse"),
        ("CF", 1.9, "better"),
        (1.9, "CF", "worse"),
        ("CF", "CF", "same"),
        ("NLP", "LP", "better"),
        ("LP", "HM", "better"),
        ("HM", "CF", "better"),
        ("HM", "NLP", "worse"),
        ("CF", "HM", "worse"),
        ("NLP", "NLP", "same"),
    ],
)
def test_a_change_of_category_needs_no_number(before, after, outcome):
    table = function((before, after))
    found = {
        name: row(
            table, f"acuity_{name}_by_category", "proportion", analysis="ordered_category"
        )["events"]
        for name in ("better", "same", "worse")
    }  # fmt: skip
    assert found == {"better": 0, "same": 0, "worse": 0} | {outcome: 1}


def test_fingers_nearer_or_farther_stay_in_their_category():
    near = seen("CF", acuity_distance_m=0.5, acuity_logmar=2.08)
    far = seen("CF", acuity_distance_m=3.0, acuity_logmar=1.30)
    table = function((near, far))
    assert row(table, "acuity_gained_0.3", "proportion")["events"] == 1
    same = row(table, "acuity_same_by_category", "proportion", analysis="ordered_category")
    assert same["events"] == 1


def test_an_eye_seen_once_has_no_category_of_change():
    table = function((None, "CF"), ("CF", None), ("CF", 1.0))
    better = row(table, "acuity_better_by_category", "proportion", analysis="ordered_category")
    assert (better["events"], better["eyes"]) == (1, 1)


@given(
    st.lists(
        st.tuples(*[st.sampled_from([*WORDS, -0.1, 0.3, 0.6, 1.3, 1.98, None])] * 2),
        min_size=1, max_size=8,
    )
)  # fmt: skip
@settings(max_examples=25, deadline=None)
def test_better_same_and_worse_are_all_eyes_and_the_own_set_is_the_main_analysis(eyes):
    table = function(*eyes)
    categories = table[table["analysis"] == "ordered_category"]
    by_group = categories.groupby(["visit", "group", "level"])
    assert (by_group["events"].sum() == by_group["eyes"].first()).all()
    main = table[(table["analysis"] == MAIN) & table["group"].isin(["all", "technique"])]
    main = main[main["statistic"].isin(["mean", "sd", "proportion"])]
    own = table[table["analysis"] == off_chart_analysis(STUDY.acuity.off_chart)]
    pd.testing.assert_frame_equal(
        own.drop(columns="analysis").reset_index(drop=True),
        main.drop(columns="analysis").reset_index(drop=True),
    )


# Which rows there are, and which visits count


def test_every_analysis_of_acuity_has_rows_for_all_eyes_and_by_technique_at_each_visit():
    table = pooled_tables(operations(), visits(), STUDY, 0)["function"]
    groups = {"all all", "technique autologous_retina", "technique amniotic_membrane"}
    for analysis in set(ANALYSES) - {MAIN, "by_luminance"}:
        rows = table[table["analysis"] == analysis]
        assert set(rows["group"] + " " + rows["level"]) == groups
        windows = {"m1", "m3", "m6"}
        assert set(rows["visit"]) == windows | (
            set() if analysis == "ordered_category" else {"baseline"}
        )
    centres = table[table["group"] == "site"]
    assert set(centres["analysis"]) == {MAIN}


def test_every_analysis_and_outcome_is_told_in_words():
    table = pooled_tables(operations(), visits(), STUDY, 0)["function"]
    assert set(table["analysis"]) <= set(ANALYSES)
    assert all(outcome_meaning(outcome) for outcome in set(table["outcome"]))


def test_every_analysis_takes_the_same_visit_the_nearest_then_the_earlier():
    early = visit("e1", "m3", 2.28, day=85, acuity_off_chart="hand_motion", acuity_imputed=True)
    late = visit("e1", "m3", 0.3, day=95)
    table = pooled_tables(index_eyes(1), visits_of(early, late), STUDY, 0)["function"]
    for analysis, logmar in (("main", 2.28), ("off_chart:optical_1997", 3.0), ("by_line", 2.28)):
        assert row(table, "acuity_logmar", "mean", analysis=analysis)["estimate"] == logmar


@pytest.mark.parametrize(
    ("cell", "eyes"), [("20/200", 1), ("20/40 ph", 0), ("J3", 0), ("N8", 0), ("CF 2 m", 1)]
)
def test_what_a_pinhole_or_a_reading_card_shows_is_not_pooled(cell, eyes):
    block = {"at": "m3", "acuity": {"heading": "VA", "notation": "snellen_feet"}}
    intake = taken_in(
        sheet(["No", "Eye", "Op", "VA"], ["A-1", "OD", dt.datetime(2025, 3, 1), cell]),
        table("operation", OPERATIONS, visits=[block]),
    )
    merged = coded(intake, codes_of(intake)).tables
    pooled = pooled_tables(merged["operations"], merged["visits"], STUDY, 0)
    assert row(pooled["function"], "acuity_logmar", "mean")["eyes"] == eyes


def test_a_pinhole_on_a_nearer_day_does_not_displace_an_acuity():
    through_pinhole = visit("e1", "m3", None, day=90, acuity_pinhole_logmar=0.1)
    rows = visits_of(through_pinhole, visit("e1", "m3", 0.9, day=120))
    table = pooled_tables(index_eyes(1), rows, STUDY, 0)["function"]
    assert row(table, "acuity_logmar", "mean")["estimate"] == 0.9
