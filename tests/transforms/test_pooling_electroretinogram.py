"""Pooled multifocal electroretinogram: ratios and z-scores, never an amplitude; by hand."""

import math

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pooled_eyes import at_baseline_and_m3, index_eyes, row
from upload_sheets import STUDY

from schemas.codebook import table_fields
from schemas.function_measures import LOG_RATIOS
from schemas.pooled_tables import outcome_meaning
from transforms.pooling import pooled_tables

AMPLITUDES = [name for name, spec in table_fields("visits").items() if spec.unit == "nV/deg2"]


def ring1(density, **facts):
    return {"mferg_ring1_p1_nv_deg2": density} | facts


def function(*eyes, **facts):
    operations = index_eyes(len(eyes), **facts)
    return pooled_tables(operations, at_baseline_and_m3(*eyes), STUDY, 0)["function"]


def of_recordings(table):
    return table[table["outcome"].str.startswith("mferg")].reset_index(drop=True)


@pytest.mark.parametrize(
    ("eyes", "counted", "mean"),
    [
        # 20 to 40 in one laboratory and 3 to 6 in another are the same doubling.
        ([(ring1(20.0), ring1(40.0)), (ring1(3.0), ring1(6.0))], 2, math.log(2)),
        ([(ring1(20.0), ring1(40.0)), (ring1(30.0), ring1(15.0))], 2, 0.0),
        # A flat response has no logarithm.
        ([(ring1(0.0), ring1(10.0)), (ring1(10.0), ring1(0.0)), (ring1(10.0), ring1(5.0))], 1,
         -math.log(2)),
        ([(ring1(20.0), {}), ({}, ring1(20.0)), (ring1(10.0), ring1(10.0))], 1, 0.0),
    ],
)  # fmt: skip
def test_a_density_is_pooled_as_the_logarithm_of_its_ratio_to_the_eyes_own_baseline(
    eyes, counted, mean
):
    found = row(function(*eyes), "mferg_ring1_log_ratio", "mean")
    assert (found["eyes"], found["estimate"]) == (counted, pytest.approx(mean))


@pytest.mark.parametrize(
    ("before", "after", "counted"),
    [
        ({"mferg_electrode": "fibre"}, {"mferg_electrode": "fibre"}, True),
        ({"mferg_electrode": "fibre"}, {"mferg_electrode": "skin"}, False),
        ({"mferg_electrode": "fibre"}, {}, True),
        ({"mferg_hexagons": 61}, {"mferg_hexagons": 103}, False),
        ({"mferg_hexagons": 61}, {"mferg_hexagons": 61}, True),
        ({}, {"mferg_hexagons": 103}, True),
        ({"mferg_ring_outer_deg": "2/5/10"}, {"mferg_ring_outer_deg": "1/4/8"}, False),
        ({}, {"under_tamponade": True}, False),
    ],
)
def test_a_ratio_is_made_within_one_set_up(before, after, counted):
    always = (ring1(10.0), ring1(10.0))
    table = function((ring1(20.0, **before), ring1(40.0, **after)), always)
    assert row(table, "mferg_ring1_log_ratio", "mean")["eyes"] == 1 + counted


def test_each_ring_has_its_ratio():
    before = {ratio.column: 10.0 for ratio in LOG_RATIOS}
    after = {ratio.column: 10.0 * math.exp(place / 2) for place, ratio in enumerate(LOG_RATIOS, 1)}
    table = function((before, after))
    found = [row(table, ratio.outcome, "mean")["estimate"] for ratio in LOG_RATIOS]
    assert found == pytest.approx([0.5, 1, 1.5, 2, 2.5])
    assert all(outcome_meaning(ratio.outcome) for ratio in LOG_RATIOS)


@pytest.mark.parametrize("outcome", ["mferg_ring1_z", "mferg_ring1_fellow_ratio"])
def test_what_is_relative_already_is_pooled_at_each_visit_as_it_stands(outcome):
    table = function(({outcome: 0.5}, {outcome: 1.0}), ({outcome: 0.1}, {}))
    assert row(table, outcome, "mean", visit="baseline")["estimate"] == pytest.approx(0.3)
    assert row(table, outcome, "mean")["estimate"] == 1.0
    by_technique = row(table, outcome, "mean", "technique", "autologous_retina", "baseline")
    assert by_technique["eyes"] == 2
    assert outcome_meaning(outcome)


def full(scale):
    """Two recordings with every amplitude of the codebook, in a laboratory's own scale."""
    before = {name: scale * place for place, name in enumerate(AMPLITUDES, 1)}
    return before, {name: 1.5 * value for name, value in before.items()}


def test_no_amplitude_is_pooled():
    outcomes = set(function(full(1.0), full(2.0))["outcome"])
    assert outcomes.isdisjoint(AMPLITUDES)
    fields = table_fields("visits")
    assert not [o for o in outcomes if o in fields and "V" in (fields[o].unit or "")]


@given(st.floats(0.01, 30))
@settings(max_examples=10, deadline=None)
def test_a_laboratory_with_another_amplifier_changes_no_row(gain):
    """Whatever is pooled of amplitudes is the same when all of one laboratory's are scaled."""
    scaled = of_recordings(function(full(1.0), full(gain)))
    pd.testing.assert_frame_equal(
        scaled, of_recordings(function(full(1.0), full(1.0))), rtol=1e-9, atol=1e-12
    )


def test_a_study_without_recordings_has_no_row_of_them():
    assert of_recordings(function(({}, {}))).empty
