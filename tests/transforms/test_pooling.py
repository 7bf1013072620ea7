"""Pooled tables against numbers that were worked out by hand, and intervals against a paper."""

import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pooled_eyes import operations, row, visit, visits
from upload_sheets import STUDY

from transforms.pooling import pooled_tables
from transforms.pooling.intervals import mean_t, median_binomial, wilson
from transforms.pooling.masking import masked
from transforms.pooling.visit_choice import chosen_visits

PUBLISHED = pd.read_csv(Path(__file__).parents[1] / "reference" / "wilson.csv")


def pooled(further=(), smallest_cell=0, of=None):
    return pooled_tables(operations() if of is None else of, visits(*further), STUDY, smallest_cell)


# Intervals


@pytest.mark.parametrize(
    "known", PUBLISHED.to_dict("records"), ids=lambda k: f"{k['events']} of {k['eyes']}"
)
def test_wilson_intervals_are_the_published_ones(known):
    low, high = wilson(int(known["events"]), int(known["eyes"]))
    assert low == pytest.approx(known["low"], abs=5e-5)
    assert high == pytest.approx(known["high"], abs=5e-5)


@given(st.integers(1, 500).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_a_wilson_interval_holds_its_share_and_mirrors(counts):
    events, eyes = counts
    low, high = wilson(events, eyes)
    assert -1e-12 <= low <= events / eyes <= high <= 1 + 1e-12
    assert wilson(eyes - events, eyes) == pytest.approx((1 - high, 1 - low))


def test_without_enough_eyes_there_is_no_interval():
    assert all(map(math.isnan, wilson(0, 0)))
    assert all(map(math.isnan, mean_t(np.array([0.3]))))
    assert all(map(math.isnan, median_binomial(np.array([]))))
    assert all(map(math.isnan, median_binomial(np.arange(5.0))))


def test_a_mean_has_students_interval():
    # 1, 2, 3: mean 2, standard error 1/sqrt(3), t(0.975, 2) = 4.302653
    assert mean_t(np.array([1.0, 2.0, 3.0])) == pytest.approx((-0.484138, 4.484138), abs=1e-6)


@pytest.mark.parametrize(
    ("eyes", "low", "high"), [(6, 1, 6), (10, 2, 9), (20, 6, 15), (30, 10, 21)]
)
def test_a_median_has_the_order_statistics_of_the_binomial_tables(eyes, low, high):
    # Ranks of the 95 % interval of a median as printed in the usual tables of the sign test.
    assert median_binomial(np.arange(1.0, eyes + 1)) == (low, high)


# Closure of the six eyes


@pytest.mark.parametrize(
    ("outcome", "group", "level", "events", "eyes", "low", "high", "sites"),
    [
        ("primary_closure_strict", "all", "all", 4, 5, 0.3755, 0.9638, 2),
        ("primary_closure_broad", "all", "all", 5, 5, 0.5655, 1.0, 2),
        ("primary_closure_strict", "site", "heron", 3, 4, 0.3006, 0.9544, 1),
        ("primary_closure_strict", "site", "ibis", 1, 1, 0.2065, 1.0, 1),
        ("primary_closure_strict", "technique", "autologous_retina", 2, 2, 0.3424, 1.0, 1),
        ("primary_closure_strict", "technique", "amniotic_membrane", 1, 2, 0.0945, 0.9055, 1),
        ("primary_closure_strict", "size_class", "large_over_400", 4, 4, 0.5101, 1.0, 2),
        ("primary_closure_strict", "size_class", "medium_251_400", 0, 1, 0.0, 0.7935, 1),
    ],
)
def test_closure_of_six_eyes(outcome, group, level, events, eyes, low, high, sites):
    found = row(pooled()["closure"], outcome, "proportion", group, level)
    assert (found["events"], found["eyes"], found["sites"]) == (events, eyes, sites)
    assert found["estimate"] == pytest.approx(events / eyes)
    assert (found["ci_low"], found["ci_high"]) == pytest.approx((low, high), abs=5e-5)


def test_closure_has_a_row_for_each_moment_and_reading_in_every_group_that_has_eyes():
    closure = pooled()["closure"]
    assert set(closure["outcome"] + " " + closure["visit"]) == {
        "primary_closure_strict m3", "primary_closure_broad m3",
        "final_closure_strict last", "final_closure_broad last",
    }  # fmt: skip
    groups = closure[closure["outcome"] == "primary_closure_strict"]
    assert (groups["group"] + " " + groups["level"]).to_list() == [
        "all all", "site heron", "site ibis",
        "technique autologous_retina", "technique amniotic_membrane",
        "size_class medium_251_400", "size_class large_over_400",
    ]  # fmt: skip


def test_the_technique_column_names_the_technique_of_its_groups_and_no_others():
    closure = pooled()["closure"]
    of_technique = closure["group"] == "technique"
    assert (closure["technique"] == closure["level"])[of_technique].all()
    assert (closure.loc[~of_technique, "technique"] == "all").all()


def test_a_re_operation_is_no_further_eye():
    with_it, without = operations(), operations().query("eye_operation_number == 1")
    for table in ("closure", "function"):
        pd.testing.assert_frame_equal(pooled(of=with_it)[table], pooled(of=without)[table])
    assert "lens_capsule" not in set(pooled()["closure"]["level"])


# Acuity of the six eyes


@pytest.mark.parametrize(
    ("outcome", "statistic", "estimate", "low", "high"),
    [
        # changes -1, -0.3, -0.3, -0.2, 0, 0.3: squares about the mean add up to 0.935
        ("acuity_change_logmar", "mean", -0.25, -0.703813, 0.203813),
        ("acuity_change_logmar", "sd", math.sqrt(0.935 / 5), None, None),
        ("acuity_change_logmar", "median", -0.25, -1.0, 0.3),
        ("acuity_change_logmar", "lower_quartile", -0.3, None, None),
        ("acuity_change_logmar", "upper_quartile", -0.05, None, None),
        ("acuity_gained_0.3", "proportion", 3 / 6, 0.1876, 0.8124),
        ("acuity_lost_0.3", "proportion", 1 / 6, 0.0301, 0.5635),
        ("acuity_logmar", "mean", 4.88 / 6, None, None),
        ("acuity_logmar", "median", 0.8, 0.5, 1.2),
    ],
)
def test_acuity_of_six_eyes(outcome, statistic, estimate, low, high):
    found = row(pooled()["function"], outcome, statistic)
    assert (found["eyes"], found["sites"]) == (6, 2)
    assert found["estimate"] == pytest.approx(estimate, abs=1e-9)
    if low is not None:
        assert (found["ci_low"], found["ci_high"]) == pytest.approx((low, high), abs=5e-5)
    elif statistic != "mean":
        assert pd.isna(found["ci_low"])


def test_exactly_three_lines_count_whatever_the_machine_makes_of_the_difference():
    # 0.9 - 1.2 is -0.29999999999999993 in binary, 0.7 - 1.0 is -0.30000000000000004.
    assert row(pooled()["function"], "acuity_gained_0.3", "proportion")["events"] == 3
    assert row(pooled()["function"], "acuity_lost_0.3", "proportion")["events"] == 1


def test_baseline_has_a_level_and_no_change():
    function = pooled()["function"]
    at_baseline = function[function["visit"] == "baseline"]
    assert set(at_baseline["outcome"]) == {"acuity_logmar", "acuity_imputed"}
    assert row(function, "acuity_logmar", "mean", visit="baseline")["estimate"] == pytest.approx(
        6.38 / 6
    )


def test_a_group_of_one_eye_has_a_mean_and_no_spread():
    found = row(pooled()["function"], "acuity_change_logmar", "sd", "site", "ibis")
    assert found["estimate"] == pytest.approx(math.sqrt(0.32))
    one = operations().query("operation_key in ['e1', 'e6']")
    alone = pooled(of=one)["function"]
    assert row(alone, "acuity_change_logmar", "mean", "site", "ibis")["estimate"] == pytest.approx(
        -0.2
    )
    assert pd.isna(row(alone, "acuity_change_logmar", "sd", "site", "ibis")["estimate"])


def test_an_eye_without_a_baseline_has_a_level_and_no_change():
    only_m3 = visits().query("not (operation_key == 'e6' and visit == 'baseline')")
    function = pooled_tables(operations(), only_m3, STUDY, 0)["function"]
    assert row(function, "acuity_logmar", "mean")["eyes"] == 6
    for outcome, statistic in (
        ("acuity_change_logmar", "mean"),
        ("acuity_gained_0.3", "proportion"),
    ):
        assert row(function, outcome, statistic)["eyes"] == 5


def test_acuity_under_gas_or_oil_is_left_out():
    under_gas = visit("e3", "m3", 3.0, day=91, under_tamponade=True)
    later = visit("e3", "m6", 2.3, under_tamponade=True)
    pd.testing.assert_frame_equal(pooled([under_gas, later])["function"], pooled()["function"])
    clear = visit("e3", "m6", 0.4, under_tamponade=False)
    assert row(pooled([clear])["function"], "acuity_logmar", "mean", visit="m6")["estimate"] == 0.4


@pytest.mark.parametrize(
    ("seen", "window", "logmar"),
    [
        ([(70, 0.7), (95, 0.5)], "m3", 0.5),
        ([(100, 0.6), (80, 0.4)], "m3", 0.4),
        ([(90, None), (120, 0.2)], "m3", 0.2),
        ([(None, 0.3), (85, 0.9)], "m3", 0.3),
        ([(-60, 1.0), (-1, 0.8), (-30, 0.9)], "baseline", 0.8),
        ([(0, 1.3), (-1, 0.8)], "baseline", 1.3),
    ],
)
def test_the_visit_nearest_the_target_counts_of_two_the_earlier_and_at_baseline_the_last(
    seen, window, logmar
):
    rows = (
        pd.DataFrame([visit("e1", window, acuity, day=day) for day, acuity in seen])
        .astype({"day": "Int64"})
        .assign(under_tamponade=None)
    )
    assert (
        chosen_visits(rows, STUDY, "acuity_logmar").loc[("e1", window), "acuity_logmar"] == logmar
    )


def test_a_study_without_an_acuity_has_a_table_without_estimates():
    unseen = visits().assign(acuity_logmar=None).astype({"acuity_logmar": "float64"})
    function = pooled_tables(operations(), unseen, STUDY, 0)["function"]
    assert (function["eyes"] == 0).all()


def test_a_study_without_an_eye_has_tables_without_estimates():
    none = pooled_tables(operations().iloc[:0], visits().iloc[:0], STUDY, 0)
    for table in none.values():
        assert (table["eyes"] == 0).all()
        assert table["estimate"].isna().all()


# Masking


@pytest.mark.parametrize(
    ("eyes", "events", "smallest", "hidden"),
    [
        (20, 10, 5, False),
        (20, 4, 5, True),
        (20, 16, 5, True),
        (20, 5, 5, False),
        (20, 15, 5, False),
        (20, 0, 5, False),
        (20, 20, 5, False),
        (4, 0, 5, True),
        (4, None, 5, True),
        (5, None, 5, False),
        (0, 0, 5, False),
        (20, 10, 11, True),
        (1, 1, 0, False),
        (1, 1, 1, False),
    ],
)
def test_a_row_with_a_small_count_is_hidden(eyes, events, smallest, hidden):
    table = pooled()["closure"].head(1).assign(eyes=eyes, events=events, estimate=0.5)
    table = table.astype({"eyes": "Int64", "events": "Int64"})
    found = masked(table, smallest).iloc[0]
    assert found["masked"] == hidden
    numbers = found[["eyes", "estimate", "ci_low", "ci_high"]]
    assert numbers.isna().all() if hidden else numbers.notna().all()


def test_what_is_hidden_keeps_its_place_and_nothing_that_tells_the_count():
    closure = pooled(smallest_cell=5)["closure"]
    assert closure["masked"].sum() == len(closure) - 2
    hidden = closure[closure["masked"]]
    counts = ["eyes", "events", "estimate", "ci_low", "ci_high", "tau2", "i2", "pi_low", "pi_high"]
    assert hidden[counts].isna().all(axis=None)
    assert hidden[["outcome", "group", "level"]].notna().all(axis=None)


# What must change nothing

FURTHER = (
    visit("e1", "m3", 0.3, day=95), visit("e2", "m6", 0.5), visit("e2", "m6", 0.7, day=175),
    visit("e3", "m6", 2.28, acuity_off_chart="hand_motion", acuity_imputed=True),
    *(
        visit(key, window, None, day=day, perimetry_mean_db=level, perimeter_max_asb=brightest,
              mferg_ring1_p1_nv_deg2=level)
        for key, level, brightest in (("e4", 11.5, 400.0), ("e5", 21.1, 10000.0), ("e6", 9.3, None))
        for window, day in (("baseline", -3), ("m3", 100))
    ),
)  # fmt: skip


@settings(max_examples=6, deadline=None)
@given(st.permutations("qwertyu"), st.permutations(range(7)), st.permutations(range(24)))
def test_row_order_and_random_codes_change_nothing(letters, operation_order, visit_order):
    codes = {f"e{place}": f"{letter}x4" for place, letter in enumerate(letters, 1)}

    def recoded(frame, order):
        shuffled = frame.iloc[order].reset_index(drop=True)
        return shuffled.assign(operation_key=shuffled["operation_key"].map(codes))

    before = pooled(FURTHER)
    after = pooled_tables(
        recoded(operations(), operation_order), recoded(visits(*FURTHER), visit_order), STUDY, 0
    )
    for name, table in before.items():
        pd.testing.assert_frame_equal(after[name], table, check_exact=True)
