"""What is worked out from tests of function, and the units that fixation is given in."""

import numpy as np
import pandas as pd
import pytest
from reading_context import cells, context

from schemas.codebook import table_fields
from transforms.harmonise.function_tests import WORKED_OUT, work_out_function_tests
from transforms.harmonise.quantities import read_number

VISIT = {
    "perimetry_mean_db": 20.0,
    "perimeter_max_asb": 4000.0,
    "microperimetry_mean_db": 12.0,
    "microperimeter_max_asb": 400.0,
    "mferg_ring1_p1_nv_deg2": 30.0,
    "mferg_ring2_p1_nv_deg2": 20.0,
    "mferg_ring3_p1_nv_deg2": 15.0,
    "mferg_ring4_p1_nv_deg2": 12.0,
    "mferg_ring5_p1_nv_deg2": 10.0,
    "mferg_fellow_ring1_p1_nv_deg2": 60.0,
    "mferg_norm_ring1_p1_nv_deg2": 50.0,
    "mferg_norm_ring1_sd_nv_deg2": 8.0,
}


def worked_out(**visit):
    visits = pd.DataFrame([visit], index=[7])
    work_out_function_tests(visits)
    return visits.loc[7, list(WORKED_OUT)]


def test_a_visit_with_every_test():
    assert worked_out(**VISIT).to_dict() == {
        "perimetry_mean_at_10000_asb_db": pytest.approx(23.979, abs=5e-4),
        "microperimetry_mean_at_10000_asb_db": pytest.approx(25.979, abs=5e-4),
        "mferg_ring1_ring2_ratio": pytest.approx(1.5),
        "mferg_ring1_ring3_ratio": pytest.approx(2.0),
        "mferg_ring1_ring4_ratio": pytest.approx(2.5),
        "mferg_ring1_ring5_ratio": pytest.approx(3.0),
        "mferg_ring1_fellow_ratio": pytest.approx(0.5),
        "mferg_ring1_norm_ratio": pytest.approx(0.6),
        "mferg_ring1_z": pytest.approx(-2.5),
    }


@pytest.mark.parametrize("part", VISIT)
def test_what_a_part_is_missing_for_is_missing_and_the_rest_is_not(part):
    without = worked_out(**{name: value for name, value in VISIT.items() if name != part})
    empty = worked_out(**VISIT | {part: np.nan})
    by_codebook = {
        column
        for column in WORKED_OUT
        if part in {_column_of(upload) for upload in table_fields("visits")[column].upload}
    }
    assert by_codebook
    assert set(without.index[without.isna()]) == by_codebook
    assert set(empty.index[empty.isna()]) == by_codebook


def _column_of(upload):
    fields = table_fields("visits").items()
    return next(column for column, spec in fields if spec.uploaded_as == upload)


def test_every_column_of_several_tests_is_worked_out():
    declared = {
        column
        for column, spec in table_fields("visits").items()
        if spec.reads is None and len(spec.upload) > 1 and column != "visit"
    }
    assert declared == WORKED_OUT.keys()


def test_visits_without_any_test_of_function_are_left_with_nothing():
    assert worked_out(iop_mmhg=14.0).isna().all()


@pytest.mark.parametrize(
    ("cell", "source", "deg2"),
    [
        (2.4, {}, 2.4),  # 95 % of the points in healthy eyes, Transl Vis Sci Technol 2016;5(6):6
        (0.8, {}, 0.8),  # 63 % of the points, the same
        (2880.0, {"unit": "arcmin2"}, 0.8),
        ("8640 min²", {}, 2.4),
        ("0,8 °²", {"decimal": "comma"}, 0.8),
    ],
)
def test_the_area_of_fixation_is_in_square_degrees(cell, source, deg2):
    read = read_number(cells(cell), context("visit", "fixation_bcea", **source)).iloc[0]
    assert read["fixation_bcea_deg2"] == pytest.approx(deg2)
    assert read["problem"] is None
