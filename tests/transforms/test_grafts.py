"""The graft: one diameter or two, its size against the hole, and what does not go together."""

import math

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from one_operation import intake_of, rules, value
from reading_context import cells, context

from transforms.harmonise.diameters import SECOND, read_diameter
from transforms.harmonise.hole import area_oversize_pct, mean_diameter, oversize_pct


def read(cell, unit="mm", **habits):
    return read_diameter(
        cells(cell), context("operation", "graft_diameter", unit=unit, **habits)
    ).iloc[0]


@pytest.mark.parametrize(
    ("cell", "unit", "decimal", "first", "second"),
    [
        (1.5, "mm", "point", 1500, None),
        ("1.5 mm", "um", "point", 1500, None),
        ("2.0 x 1.5 mm", "um", "point", 2000, 1500),
        ("2.0 x 1.5", "mm", "point", 2000, 1500),
        ("2x1.5", "mm", "point", 2000, 1500),
        ("2,0 × 1,5 mm", "um", "comma", 2000, 1500),
        ("1500 um by 1200 um", "mm", "point", 1500, 1200),
        ("1500 µm x 1.2 mm", "mm", "point", 1500, 1200),
        ("2 por 1,5 mm", "um", "comma", 2000, 1500),
        ("1 x 1 DD", "um", "point", 1500, 1500),
    ],
)
def test_a_cell_holds_one_diameter_or_the_two_of_an_oval(cell, unit, decimal, first, second):
    found = read(cell, unit, decimal=decimal)
    assert found["graft_diameter_um"] == pytest.approx(first)
    assert (None if pd.isna(found[SECOND]) else found[SECOND]) == second
    assert pd.isna(found["problem"])


@pytest.mark.parametrize(
    ("cell", "rule"),
    [
        ("2.0 x about 1.5 mm", "number_unreadable"),
        ("2.0 x 1.5 furlongs", "unit_unknown"),
        ("2.0 x", "unit_unknown"),
        ("2.0 x 1.5 x 1.0 mm", "number_unreadable"),
        ("1.5-2.0 mm", "value_range"),
    ],
)
def test_where_one_of_two_diameters_cannot_be_read_neither_is(cell, rule):
    found = read(cell)
    assert found["problem"] == rule
    assert pd.isna(found["graft_diameter_um"])
    assert pd.isna(found[SECOND])


def test_an_oval_graft_counts_by_the_geometric_mean_of_its_diameters():
    intake = intake_of(hole_min_diameter=600.0, graft_diameter=1600.0, graft_second_diameter=900.0)
    assert value(intake, "graft_diameter_um") == pytest.approx(1200)
    assert value(intake, "graft_second_diameter_um") == 900
    assert value(intake, "graft_oversize_min_pct") == pytest.approx(100)
    assert value(intake, "graft_oversize_min_area_pct") == pytest.approx(300)


def test_an_oval_graft_with_a_diameter_that_cannot_be_read_has_none():
    intake = intake_of(graft_diameter=1600.0, graft_second_diameter="wide")
    assert value(intake, "graft_diameter_um") is None
    assert rules(intake) == [("number_unreadable", "E2")]


def test_the_same_graft_is_over_the_minimum_and_under_the_base():
    intake = intake_of(hole_min_diameter=828.0, hole_base_diameter=1872.5, graft_diameter=1500.0)
    assert value(intake, "graft_oversize_min_pct") == pytest.approx(81.16, abs=0.01)
    assert value(intake, "graft_oversize_base_pct") == pytest.approx(-19.89, abs=0.01)
    assert rules(intake) == []


@pytest.mark.parametrize(
    ("given_cells", "finding"),
    [
        ({"hole_min_diameter": 900.0, "graft_diameter": 899.0}, ("graft_smaller_than_hole", "E2")),
        ({"hole_min_diameter": 828.0, "graft_diameter": "700 x 1500"},
         ("graft_smaller_than_hole", "E2")),
        ({"technique": "repeat peel, air", "graft_diameter": 900.0},
         ("graft_without_tissue", "E2")),
        ({"technique": "repeat peel, air", "donor_region": "nasal"},
         ("graft_without_tissue", "E2")),
        ({"tamponade": "silicone oil", "tamponade_pct": 14.0}, ("fields_disagree", "E2")),
        ({"tamponade": "SF6", "tamponade_pct": 20.0, "tamponade_viscosity": 1000.0},
         ("fields_disagree", "F2")),
        ({"tamponade": "C3F8", "tamponade_pct": 20.0}, ("gas_concentration_unusual", "E2")),
        ({"tamponade": "C3F8 20%"}, ("gas_concentration_unusual", "D2")),
        ({"tamponade": "SF6", "tamponade_pct": 12.0}, ("gas_concentration_unusual", "E2")),
        ({"tamponade": "SF6", "tamponade_pct": 100.0}, ("gas_concentration_unusual", "E2")),
    ],
    ids=str,
)  # fmt: skip
def test_what_does_not_go_together_is_asked_about_at_its_cell(given_cells, finding):
    assert rules(intake_of(**given_cells)) == [finding]


@pytest.mark.parametrize(
    "given_cells",
    [
        {"hole_min_diameter": 900.0, "graft_diameter": 900.0},
        {"hole_min_diameter": 700.0, "graft_diameter": "0.4 DD"},  # nominal against measured
        {"technique": "amniotic membrane, air", "graft_diameter": 900.0},
        {"tamponade": "SF6", "tamponade_pct": 20.0},
        {"tamponade": "silicone oil", "tamponade_viscosity": 5000.0},
        {"tamponade": "C2F6", "tamponade_pct": 16.0},
        {"tamponade_pct": 16.0},  # beside no tamponade at all
    ],
    ids=str,
)
def test_what_goes_together_is_not(given_cells):
    assert rules(intake_of(**given_cells)) == []


@pytest.mark.parametrize(
    ("graft", "hole", "linear", "area"),
    [
        (1100, 1000, 10, 21),
        (1200, 1000, 20, 44),
        (1250, 1000, 25, 56.25),
        (1300, 1000, 30, 69),
        (1500, 1000, 50, 125),
        (2000, 1000, 100, 300),
        (1049, 1000, 4.9, 10),
        (1118, 1000, 11.8, 25),
        (1225, 1000, 22.5, 50),
        (1414, 1000, 41.4, 100),
    ],
)
def test_oversize_by_diameter_and_by_area(graft, hole, linear, area):
    graft, hole = pd.Series([float(graft)]), pd.Series([float(hole)])
    assert oversize_pct(graft, hole).item() == pytest.approx(linear)
    assert area_oversize_pct(graft, hole).item() == pytest.approx(area, abs=0.1)


@pytest.mark.parametrize(
    ("given_cells", "stages", "finding"),
    [
        ({"technique": "ART, C3F8 14%"}, 1, []),
        ({"technique": "ART, PFCL 7 days then exchanged for C3F8 14%"}, 2, []),
        ({"technique": "ART, C3F8 14%", "pfcl_use": "short-term tamponade"}, None,
         [("fields_disagree", "E2")]),
        ({"technique": "ART, C3F8 14%", "pfcl_use": "short-term tamponade", "stages": 2.0}, 2,
         [("fields_disagree", "F2")]),
        ({"technique": "ART, C3F8 14%", "pfcl_use": "intraoperative"}, 1, []),
    ],
    ids=str,
)  # fmt: skip
def test_a_liquid_exchanged_later_is_a_second_stage(given_cells, stages, finding):
    intake = intake_of(**given_cells)
    assert value(intake, "stages") == stages
    assert [told for told in rules(intake) if told[0] == "fields_disagree"] == finding


@given(st.floats(200, 8000), st.floats(200, 8000))
def test_the_mean_diameter_is_that_of_the_circle_with_the_area_of_the_ellipse(one, other):
    mean = mean_diameter(pd.Series([one]), pd.Series([other])).item()
    assert math.pi * mean**2 / 4 == pytest.approx(math.pi * one * other / 4)
    assert min(one, other) <= mean * (1 + 1e-12)
    assert mean <= max(one, other) * (1 + 1e-12)
