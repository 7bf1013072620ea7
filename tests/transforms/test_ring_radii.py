"""Radii of rings, in the ways in which sheets write them."""

import datetime as dt
import itertools

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from reading_context import cells, context

from transforms.harmonise.ring_radii import read_ring_radii


def read(value, decimal="point"):
    found = read_ring_radii(cells(value), context("visit", "mferg_ring_radii", decimal=decimal))
    radii, problem = found.loc[0, ["mferg_ring_outer_deg", "problem"]]
    return None if pd.isna(radii) else radii, problem


@pytest.mark.parametrize(
    ("value", "decimal", "radii"),
    [
        ("2, 5, 10, 15, 25", "point", "2/5/10/15/25"),
        ("2, 5, 10, 15, 25", "comma", "2/5/10/15/25"),
        ("2,5,10,15,25", "point", "2/5/10/15/25"),
        ("2/5/10/15/25", "point", "2/5/10/15/25"),
        ("2 / 5 / 10 / 15 / 25°", "comma", "2/5/10/15/25"),
        ("2-5-10-15-25 deg", "point", "2/5/10/15/25"),
        ("2 \u2013 5 \u2013 10", "point", "2/5/10"),
        ("2 5 10 15 25", "point", "2/5/10/15/25"),
        ("2; 5; 10 degrees", "point", "2/5/10"),
        ("2º, 5º, 10º", "point", "2/5/10"),
        ("1,5; 4; 8 Grad", "comma", "1.5/4/8"),
        ("1.5/4/8 grados", "point", "1.5/4/8"),
        ("0-1, 1-4, 4-8, 8-12, 12-17, 17-22 deg", "point", "1/4/8/12/17/22"),
        ("0, 2, 5, 10", "point", "2/5/10"),
        ("0-2-5-10-15-25", "point", "2/5/10/15/25"),
        ("<2, 2-5, 5-10, 10-15, 15-25", "point", "2/5/10/15/25"),
        ("≤2°, 2-5°, 5-10°", "point", "2/5/10"),
        ("2, 2-5, 5-10", "point", "2/5/10"),
    ],
)
def test_radii_and_ranges_become_outer_radii(value, decimal, radii):
    assert read(value, decimal) == (radii, None)


@pytest.mark.parametrize(
    "value", ["<2, 2-5, 5-10, 10-15, >15", "< 2 / 2 - 5 / 5-10 / 10-15 / > 15°", "2,5,10,15,>15"]
)
def test_an_open_outermost_ring_stays_open(value):
    assert read(value) == ("2/5/10/15/>15", None)


def test_a_decimal_mark_other_than_the_centres_is_read_and_told():
    assert read("1.5; 4; 8", "comma") == ("1.5/4/8", "decimal_mark_differs")


@pytest.mark.parametrize(
    ("value", "decimal"),
    [
        ("2,5", "point"),  # two rings or 2.5?
        ("2,5,10", "comma"),  # or 2.5 and 10?
        ("2,5, 10, 15", "point"),
        ("2-5", "point"),  # two rings, or one?
        ("5, 2, 10", "point"),
        ("2, 2, 5", "point"),
        ("2, 5, 70", "point"),
        ("1, 2, 3, 4, 5, 6, 7, 8, 9", "point"),
        ("0-2, 3-5, 5-10", "point"),  # a gap
        ("2-5, 5-10", "point"),  # no centre
        ("0-2, 2-5, >10", "point"),  # a gap before the open ring
        (">15, 2-5", "point"),
        ("2, >2, 5", "point"),
        ("-2, 5, 10", "point"),
        ("2/5/ten", "point"),
        ("2/5/", "point"),
        ("five rings", "point"),
        ("°", "point"),
        ("", "point"),
        ("2/5/10 mm", "point"),
        (25.0, "point"),
        (dt.datetime(2010, 5, 2), "point"),  # 2/5/10, as a spreadsheet takes it
    ],
)
def test_what_may_mean_other_rings_is_refused(value, decimal):
    assert read(value, decimal) == (None, "ring_radii_unreadable")


increasing = st.lists(
    st.integers(1, 240).map(lambda quarter: quarter / 4), min_size=3, max_size=8, unique=True
).map(sorted)


@given(increasing, st.sampled_from(["/", "; ", ", ", " ", "-", " - "]))
def test_however_radii_are_parted_they_are_the_same_rings(radii, mark):
    one_way = "/".join(f"{radius:g}" for radius in radii)
    assert read(mark.join(f"{radius:g}" for radius in radii)) == (one_way, None)
    assert read(one_way) == (one_way, None)


@given(increasing)
def test_ranges_from_edge_to_edge_are_the_rings_of_their_outer_radii(radii):
    edges = [0.0, *radii]
    ranges = ", ".join(f"{a:g}-{b:g}" for a, b in itertools.pairwise(edges))
    assert read(ranges) == ("/".join(f"{radius:g}" for radius in radii), None)
