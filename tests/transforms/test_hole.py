"""Size classes against published edges, and the graft's size against the hole's."""

import math
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.conventions import SIZE_SCHEMES
from transforms.harmonise.hole import oversize_pct, size_class

PUBLISHED = pd.read_csv(Path(__file__).parents[1] / "reference" / "hole_size.csv")


def class_of(minimum, scheme="ivts_2013", nominal=False):
    found = size_class(
        pd.Series([minimum], dtype="float64"), pd.Series([nominal]), SIZE_SCHEMES[scheme]
    )
    return found.astype("object").where(found.notna(), None).item()


@pytest.mark.parametrize(
    "row", PUBLISHED.to_dict("records"), ids=lambda r: f"{r['scheme']} {r['minimum_um']}"
)
def test_published_edges(row):
    assert class_of(row["minimum_um"], row["scheme"]) == row["code"]


def test_every_edge_of_every_scheme_is_checked_against_a_publication():
    checked = set(zip(PUBLISHED["scheme"], PUBLISHED["minimum_um"], strict=True))
    edges = {(name, edge) for name, scheme in SIZE_SCHEMES.items() for edge in scheme.edges}
    assert edges <= checked


@pytest.mark.parametrize(
    ("minimum", "scheme", "code"),
    [
        (250.0001, "ivts_2013", "medium_251_400"),
        (400.0001, "bands_above_400", "401_500"),
        (1.0, "ivts_2013", "small_to_250"),
        (2600.0, "bands_above_400", "over_800"),
        (math.nan, "ivts_2013", None),
    ],
)
def test_an_edge_belongs_to_the_class_below_it(minimum, scheme, code):
    assert class_of(minimum, scheme) == code


@pytest.mark.parametrize(
    ("nominal", "code"), [(True, None), (False, "large_over_400"), (None, "large_over_400")]
)
def test_a_diameter_in_disc_diameters_decides_no_class(nominal, code):
    assert class_of(750.0, nominal=nominal) == code


@given(st.floats(1, 3000), st.floats(1, 3000), st.sampled_from(list(SIZE_SCHEMES)))
def test_a_larger_hole_is_in_no_smaller_class(one, other, scheme):
    codes = SIZE_SCHEMES[scheme].codes
    smaller, larger = (class_of(size, scheme) for size in sorted((one, other)))
    assert codes.index(smaller) <= codes.index(larger)


@pytest.mark.parametrize(
    ("graft", "hole", "pct"),
    [
        (1000, 500, 100),
        (500, 500, 0),
        (1500, 1200, 25),
        (900, 1200, -25),
        (None, 500, None),
        (900, None, None),
    ],
)
def test_oversize_is_how_far_the_graft_exceeds_the_hole(graft, hole, pct):
    found = oversize_pct(
        pd.Series([graft], dtype="float64"), pd.Series([hole], dtype="float64")
    ).item()
    assert math.isnan(found) if pct is None else found == pytest.approx(pct)
