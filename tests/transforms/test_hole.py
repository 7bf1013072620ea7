"""Size classes against published edges, and the graft's size against the hole's."""

import math
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.conventions import SIZE_SCHEMES
from transforms.harmonise.hole import LENGTHS, Lengths, oversize_pct, size_class, sizes

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


def lengths(nominal=(), **um):
    """One hole with the given lengths in µm, of which some were given in disc diameters."""
    given_um = {f"{name}_um": [value] for name, value in um.items()}
    marks = {name: [name in [f"{n}_um" for n in nominal]] for name in LENGTHS}
    frame = pd.DataFrame(given_um).reindex(columns=list(LENGTHS)).astype("float64")
    return Lengths(frame, pd.DataFrame(marks))


@pytest.mark.parametrize(
    ("um", "index", "expected"),
    [
        # Medians of a series, Graefes Arch Clin Exp Ophthalmol 2021, doi:10.1007/s00417-020-04981-5
        ({"hole_min_diameter": 828, "hole_base_diameter": 1872.5}, "diameter_hole_index", 0.442),
        # Means of a series, Int J Retina Vitreous 2025, doi:10.1186/s40942-025-00733-x
        ({"hole_min_diameter": 819, "hole_base_diameter": 1387}, "diameter_hole_index", 0.590),
        # Arithmetic from the definitions
        ({"hole_height": 450, "hole_base_diameter": 900}, "macular_hole_index", 0.5),
        ({"hole_height": 564, "hole_min_diameter": 400}, "tractional_hole_index", 1.41),
        ({"hole_arm_one": 300, "hole_arm_two": 420, "hole_base_diameter": 800},
         "hole_form_factor", 0.9),
        ({"hole_arm_one": 300, "hole_base_diameter": 800}, "hole_form_factor", None),
        ({"hole_height": 450}, "macular_hole_index", None),
    ],
)  # fmt: skip
def test_indices_where_their_parts_exist(um, index, expected):
    found = sizes(lengths(**um))[index].item()
    assert math.isnan(found) if expected is None else found == pytest.approx(expected, abs=0.0005)


@pytest.mark.parametrize(
    ("nominal", "is_known"),
    [((), True), (("hole_min_diameter", "hole_base_diameter"), True),
     (("hole_min_diameter",), False), (("hole_base_diameter",), False)],
)  # fmt: skip
def test_an_index_of_disc_diameters_and_measured_lengths_is_left_out(nominal, is_known):
    found = sizes(lengths(nominal, hole_min_diameter=500, hole_base_diameter=1000))
    assert found["diameter_hole_index"].notna().item() == is_known


@given(st.floats(0.01, 100))
def test_indices_do_not_change_with_the_unit(factor):
    um = {"hole_min_diameter": 500.0, "hole_base_diameter": 1000.0, "hole_height": 400.0,
          "hole_arm_one": 300.0, "hole_arm_two": 350.0}  # fmt: skip
    indices = ["hole_form_factor", "macular_hole_index", "tractional_hole_index",
               "diameter_hole_index"]  # fmt: skip
    in_um, scaled = (
        sizes(lengths(**{name: value * by for name, value in um.items()}))[indices].iloc[0]
        for by in (1.0, factor)
    )
    assert scaled.to_list() == pytest.approx(in_um.to_list())
