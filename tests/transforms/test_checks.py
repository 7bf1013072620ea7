"""Checks over harmonised values: the codebook's limits, pairs that exclude each other, gaps.

One operation stands in row 2, its visits in columns; every case says what its cells hold.
"""

import datetime as dt

import pandas as pd
import pytest
from one_operation import (
    OPERATED,
    VISIT_FIELDS,
    intake_of,
    rules,
    value,
)
from upload_sheets import OPERATIONS, codes_of, sheet, table, taken_in

from schemas.codebook import RECORD_KINDS, RECORD_TABLE, table_fields
from transforms.harmonise.limits import outside
from transforms.intake import coded

# Limits of the codebook


@pytest.mark.parametrize("kind", RECORD_KINDS)
@pytest.mark.parametrize("which", ["hard", "soft"])
def test_both_ends_of_every_limit_are_inside_and_a_step_further_is_not(kind, which):
    limited = {
        name: getattr(spec, which)
        for name, spec in table_fields(RECORD_TABLE[kind]).items()
        if getattr(spec, which) is not None
    }
    step = 1.0
    for name, limits in limited.items():
        values = pd.DataFrame(
            {name: [limits.low - step, limits.low, limits.high, limits.high + step, None]},
            index=[10, 11, 12, 13, 14],
        )
        found = {
            name: labels
            for worked_out in (False, True)
            for name, labels in outside(values, kind, which, worked_out=worked_out).items()
        }
        assert {column: list(labels) for column, labels in found.items()} == {name: [10, 13]}


def test_columns_inside_their_limits_are_not_told():
    values = pd.DataFrame({"hole_min_diameter_um": [450.0, None]})
    assert outside(values, "operation", "hard", worked_out=False) == {}


@pytest.mark.parametrize(
    ("field", "column", "cell", "left", "finding"),
    [
        ("hole_min_diameter", "hole_min_diameter_um", 450.0, 450.0, []),
        ("hole_min_diameter", "hole_min_diameter_um", 45.0, None, [("outside_possible", "D2")]),
        ("hole_min_diameter", "hole_min_diameter_um", 2000.0, 2000.0, [("outside_usual", "D2")]),
        ("prior_repairs", "prior_repairs", 12.0, 12, [("outside_usual", "D2")]),
        ("prior_repairs", "prior_repairs", 13.0, None, [("outside_possible", "D2")]),
        ("age", "age_years", 71.0, 71, []),
        ("age", "age_years", 95.0, 90, []),
        ("age", "age_years", 0.0, None, [("outside_possible", "D2")]),
        ("age", "age_years", 950.0, None, [("outside_possible", "D2")]),
        ("age", "age_years", 12.0, 12, [("outside_usual", "D2")]),
    ],
)
def test_the_impossible_is_blanked_and_the_unusual_is_asked_about(
    field, column, cell, left, finding
):
    intake = intake_of(**{field: cell})
    assert value(intake, column) == left
    assert rules(intake) == finding


def test_what_is_impossible_is_not_called_unusual_as_well():
    assert rules(intake_of(hole_min_diameter=9000.0)) == [("outside_possible", "D2")]


def test_the_message_names_limits_and_unit_and_no_value():
    finding = intake_of(hole_min_diameter=4711.0).tables["findings"].iloc[0]
    assert "(50 to 3000 µm)" in finding["message"]
    assert "4711" not in finding["message"] + finding["mend"]


def test_with_an_acuity_that_is_blanked_goes_all_that_its_cell_told():
    intake = intake_of(acuity=4.5, iop=14.0)
    for column in ("acuity_logmar", "acuity_notation", "acuity_off_chart", "acuity_imputed"):
        assert value(intake, column, "visits") is None
    assert value(intake, "iop_mmhg", "visits") == 14.0
    assert rules(intake) == [("outside_possible", "D2")]


def test_so_it_is_beside_a_visit_that_has_no_acuity():
    intake = taken_in(
        sheet(
            ["No", "Eye", "Op", "VA", "IOP"],
            ["A-1", "OD", OPERATED, 4.5, 14.0],
            ["A-2", "OD", OPERATED, None, 15.0],
        ),
        table("operation", OPERATIONS, visits=[{"at": "m3", **_only("acuity", "iop")}]),
    )
    visits = coded(intake, codes_of(intake)).tables["visits"]
    assert visits["iop_mmhg"].to_list() == [14.0, 15.0]
    assert visits[[name for name in visits if name.startswith("acuity")]].isna().all(axis=None)


def _only(*names):
    return {name: VISIT_FIELDS[name] for name in names}


# What is worked out


def test_sizes_are_worked_out_from_what_is_left():
    intake = intake_of(hole_min_diameter=500.0, hole_base_diameter=1000.0, graft_diameter=1250.0)
    assert {name: value(intake, name) for name in (
        "hole_size_class", "hole_size_band", "graft_oversize_min_pct", "graft_oversize_base_pct",
    )} == {
        "hole_size_class": "large_over_400", "hole_size_band": "401_500",
        "graft_oversize_min_pct": pytest.approx(150), "graft_oversize_base_pct": pytest.approx(25),
    }  # fmt: skip
    assert rules(intake) == []


def test_a_graft_of_an_unusual_size_against_the_hole_is_asked_about_at_its_cell():
    intake = intake_of(hole_min_diameter=500.0, graft_diameter=2000.0)
    assert value(intake, "graft_oversize_min_pct") == pytest.approx(300)
    assert rules(intake) == [("outside_usual", "E2")]
    assert intake.tables["findings"]["message"].to_list() == [
        "Oversize against the minimum diameter is unusual (usually up to 200 %)."
    ]


def test_a_graft_of_an_impossible_size_against_the_hole_has_no_oversize():
    intake = intake_of(hole_min_diameter=300.0, graft_diameter=3900.0)
    assert value(intake, "graft_diameter_um") == 3900.0
    assert value(intake, "graft_oversize_min_pct") is None
    assert ("outside_possible", "E2") in rules(intake)


def test_a_diameter_in_disc_diameters_is_kept_and_decides_no_class():
    intake = intake_of(hole_min_diameter="1/3 DD")
    assert value(intake, "hole_min_diameter_um") == pytest.approx(500)
    assert value(intake, "hole_size_class") is None
    assert value(intake, "hole_size_band") is None


# Pairs that exclude each other


@pytest.mark.parametrize(
    ("minimum", "base", "left", "finding"),
    [
        (500.0, 900.0, (500.0, 900.0), []),
        (600.0, 600.0, (600.0, 600.0), []),
        (900.0, 600.0, (None, None), [("minimum_over_base", "D2")]),
        (900.0, None, (900.0, None), []),
        ("1 DD", 1200.0, (1500.0, 1200.0), []),
        ("1 DD", "0.5 DD", (None, None), [("minimum_over_base", "D2")]),
    ],
)
def test_a_minimum_above_the_base_leaves_neither(minimum, base, left, finding):
    intake = intake_of(hole_min_diameter=minimum, hole_base_diameter=base)
    assert (value(intake, "hole_min_diameter_um"), value(intake, "hole_base_diameter_um")) == left
    assert rules(intake) == finding
    is_measured = left[0] is not None and minimum == left[0]
    assert (value(intake, "hole_size_class") is not None) == is_measured


@pytest.mark.parametrize(
    ("p1", "p2", "left", "finding"),
    [
        (40.0, 80.0, (40.0, 80.0), []),
        (80.0, 40.0, (None, None), [("fixation_order", "D2")]),
        (80.0, 140.0, (80.0, None), [("outside_possible", "E2")]),
    ],
)
def test_less_fixation_in_the_wider_circle_leaves_neither(p1, p2, left, finding):
    intake = intake_of(fixation_p1=p1, fixation_p2=p2)
    assert (
        value(intake, "fixation_p1_pct", "visits"), value(intake, "fixation_p2_pct", "visits")
    ) == left  # fmt: skip
    assert rules(intake) == finding


@pytest.mark.parametrize(
    ("p1", "left", "finding"),
    [
        (0.0, 0.0, []),
        (0.75, None, [("share_under_one", "D2")]),
        (1.0, 1.0, []),
        (75.0, 75.0, []),
    ],
)
def test_a_share_under_one_per_cent_may_be_a_fraction(p1, left, finding):
    intake = intake_of(fixation_p1=p1)
    assert value(intake, "fixation_p1_pct", "visits") == left
    assert rules(intake) == finding


@pytest.mark.parametrize(
    ("asb", "finding"),
    [(10000.0, []), (1000.0, []), ("318 cd/m2", []), (3183.0, [("luminance_unknown", "D2")])],
)
def test_a_brightest_target_of_no_known_device_is_asked_about(asb, finding):
    intake = intake_of(perimeter_max=asb)
    assert value(intake, "perimeter_max_asb", "visits") is not None
    assert rules(intake) == finding


@pytest.mark.parametrize(
    ("cells", "used", "finding"),
    [
        ({"technique": "ART, no PFCL", "pfcl_use": "yes"}, None, [("word_unknown", "E2")]),
        ({"technique": "ART, no PFCL", "pfcl_use": None}, "none", []),
        ({"technique": "ART, no PFCL", "pfcl_use": "none"}, "none", []),
        ({"technique": "ART, no PFCL", "pfcl_use": "intraoperative"}, "intraoperative",
         [("fields_disagree", "E2")]),
    ],
    ids=str,
)  # fmt: skip
def test_a_text_does_not_stand_in_for_a_cell_that_cannot_be_read(cells, used, finding):
    intake = intake_of(**cells)
    assert value(intake, "pfcl_use") == used
    asked = [told for told in rules(intake) if told[0] != "value_missing"]
    assert asked == finding


# Ages


@pytest.mark.parametrize(
    ("age", "born", "years", "finding"),
    [
        (70.0, dt.datetime(1955, 1, 1), 70, []),
        (69.0, dt.datetime(1955, 1, 1), 70, []),
        (71.0, dt.datetime(1955, 1, 1), 70, []),
        (68.0, dt.datetime(1955, 1, 1), 70, [("age_differs", "D2")]),
        (None, dt.datetime(1955, 1, 1), 70, []),
        (68.0, None, 68, []),
        (95.0, dt.datetime(1930, 1, 1), 90, []),
        ("old", dt.datetime(1955, 1, 1), 70, [("number_unreadable", "D2")]),
    ],
)
def test_the_age_between_the_dates_goes_before_the_typed_one(age, born, years, finding):
    intake = intake_of(age=age, birth_date=born)
    assert value(intake, "age_years") == years
    assert rules(intake) == finding


@pytest.mark.parametrize(
    ("born", "rule"),
    [(dt.datetime(2025, 1, 1), "outside_possible"), (dt.datetime(2005, 1, 1), "outside_usual")],
)
def test_an_age_outside_its_limits_is_told_where_only_the_birth_date_is_given(born, rule):
    intake = intake_of(birth_date=born)
    assert rules(intake) == [(rule, "D2")]


# What is missing


@pytest.mark.parametrize(
    ("cells", "asked"),
    [
        ({"hole_min_diameter": None}, ["D2"]),
        ({"prior_repairs": None}, []),
        ({"technique": None}, ["D2", "D2"]),
        ({"technique": "amniotic membrane", "tamponade": None}, ["E2"]),
        ({"technique": "amniotic membrane, air"}, []),
        ({"technique": "amniotic membrane", "tamponade": "air", "graft_diameter": None}, []),
        ({"technique": "ART", "tamponade": "air", "graft_diameter": None}, ["F2"]),
        ({"technique": "ART", "tamponade": "air", "graft_diameter": 1500.0}, []),
        ({"tamponade": "SF6", "tamponade_pct": None}, ["E2"]),
        ({"tamponade": "SF6 20%", "tamponade_pct": None}, []),
        ({"tamponade": "air", "tamponade_pct": None}, []),
    ],
    ids=str,
)
def test_what_the_codebook_calls_for_is_asked_where_the_crosswalk_maps_it(cells, asked):
    assert rules(intake_of(**cells)) == [("value_missing", cell) for cell in asked]


@pytest.mark.parametrize(
    ("cells", "rule"),
    [
        ({"hole_min_diameter": "~450"}, "value_estimate"),
        ({"hole_min_diameter": 9000.0}, "outside_possible"),
        ({"technique": "zzz"}, "word_unknown"),
        ({"tamponade": "zzz"}, "word_unknown"),
    ],
    ids=str,
)
def test_a_value_that_another_finding_made_missing_is_not_asked_for_again(cells, rule):
    assert rules(intake_of(**cells)) == [(rule, "D2")]


def test_a_number_with_the_other_decimal_mark_is_used_and_asked_about():
    intake = intake_of(hole_min_diameter="450,5")
    assert value(intake, "hole_min_diameter_um") == 450.5
    assert rules(intake) == [("decimal_mark_differs", "D2")]


def test_a_number_with_the_other_decimal_mark_is_held_to_the_limits_too():
    intake = intake_of(hole_min_diameter="9000,5")
    assert value(intake, "hole_min_diameter_um") is None
    assert rules(intake) == [("decimal_mark_differs", "D2"), ("outside_possible", "D2")]
