"""The codebook is consistent in itself, and holds every column of the design."""

import pytest

from schemas import codebook
from schemas.codes import CodeList
from schemas.units import UNITS
from schemas.vocabulary import vocabulary

# The columns that the study's design fixes; a table may have more.
FIXED = {
    "operations": (
        "operation_key patient_key site eye surgeon_key surgeon_case_number operation_year "
        "age_years sex hole_cause prior_repairs hole_duration_months axial_length_mm lens_status "
        "hole_min_diameter_um hole_base_diameter_um hole_height_um hole_size_class hole_size_band "
        "graft_material harvest_method donor_region graft_diameter_um graft_oversize_min_pct "
        "graft_oversize_base_pct graft_size_reference pfcl_use viscoelastic adjunct donor_laser "
        "tamponade tamponade_pct stages indication primary_closure primary_closure_strict "
        "primary_closure_broad final_closure final_closure_strict final_closure_broad"
    ),
    "visits": (
        "visit_key operation_key day visit acuity_logmar acuity_notation acuity_off_chart "
        "acuity_imputed under_tamponade closure elm ellipsoid_zone ez_defect_um graft_position "
        "perimetry_mean_db perimetry_md_db perimetry_reliable perimeter_max_asb "
        "microperimetry_mean_db microperimeter_max_asb fixation_p1_pct fixation_p2_pct "
        "fixation_bcea_deg2 mferg_ring1_p1_nv_deg2 mferg_ring2_p1_nv_deg2 mferg_ring3_p1_nv_deg2 "
        "mferg_ring4_p1_nv_deg2 mferg_ring5_p1_nv_deg2 mferg_ring1_p1_ms "
        "mferg_fellow_ring1_p1_nv_deg2 iop_mmhg lens_status"
    ),
    "complications": "complication_key operation_key term day needed_surgery",
    "findings": (
        "finding_key site case_label upload sheet cell field rule action message mend first_week "
        "last_week state answer"
    ),
    "cells": "key field upload sheet cell",
    "uploads": (
        "upload_key site week file_name sha256 sheets rows_read rows_merged status reason"
    ),
    "weeks": "week started finished code_version codebook_version counts",
}  # fmt: skip

SPECS = [(t, n, s) for t in codebook.TABLES for n, s in codebook.table_fields(t).items()]
by_name = pytest.mark.parametrize(
    ("table", "name", "spec"), SPECS, ids=[f"{t}.{n}" for t, n, _ in SPECS]
)


@pytest.mark.parametrize("table", FIXED)
def test_every_fixed_column_is_there(table):
    assert set(FIXED[table].split()) <= set(codebook.table_fields(table))


@by_name
def test_every_field_says_what_it_is(table, name, spec):
    assert spec.title and spec.title[0].isupper()
    assert spec.description.endswith(".")


@by_name
def test_limits_stand_in_order_and_name_their_source(table, name, spec):
    for limits in filter(None, (spec.hard, spec.soft)):
        assert limits.low < limits.high
        assert limits.source
    if spec.hard and spec.soft:
        assert spec.hard.low <= spec.soft.low
        assert spec.soft.high <= spec.hard.high


@by_name
def test_a_condition_names_a_column_and_its_codes(table, name, spec):
    if spec.required is None or spec.required.when is None:
        return
    other = codebook.table_fields(table)[spec.required.when]
    assert set(spec.required.codes) <= set(other.codes)


@pytest.mark.parametrize("kind", codebook.RECORD_KINDS)
def test_every_source_is_an_upload_field(kind):
    uploaded = codebook.upload_fields(kind)
    visit_fields = codebook.upload_fields("visit")
    for column, fields in codebook.columns_from(kind).items():
        for field in fields:
            assert field in uploaded or field in visit_fields, (column, field)


@pytest.mark.parametrize("kind", codebook.RECORD_KINDS)
def test_every_coded_upload_field_has_words(kind):
    for field in codebook.upload_fields(kind).values():
        if isinstance(field.spec.codes, CodeList) and field.spec.reads in ("code", "tamponade"):
            known = {
                c for by in vocabulary(field.spec.codes.name).words.values() for c in by.values()
            }
            assert known == set(field.spec.codes), field.name


@pytest.mark.parametrize("kind", codebook.RECORD_KINDS)
def test_every_number_with_a_unit_can_be_given_in_it(kind):
    for field in codebook.upload_fields(kind).values():
        if field.spec.reads == "number" and field.spec.unit:
            if field.spec.unit == "logMAR":
                continue
            assert field.spec.unit in UNITS[field.spec.unit], field.name


def test_no_direct_identifier_is_a_column_of_the_warehouse():
    for table in codebook.TABLES:
        for name, spec in codebook.table_fields(table).items():
            assert spec.identifier != "direct", (table, name)
