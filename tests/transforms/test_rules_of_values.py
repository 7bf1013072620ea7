"""Beside every value stands the rule by which it was made of its cell, and the rule's version."""

import datetime as dt

import pytest
from one_operation import OPERATED
from upload_sheets import OPERATIONS, codes_of, sheet, table, taken_in

from schemas import conversions as declared
from schemas.codebook import RECORD_KINDS, RECORD_TABLE, columns_from, table_fields
from schemas.conventions import OFF_CHART_SETS
from schemas.study import Study
from schemas.units import Unit
from transforms.intake import coded


def rules_of(study=None, operation=None, visit=None):
    """Column to rule for one operation and its visit at m3; each field gives source and cell."""
    operation, visit = operation or {}, visit or {}
    sources = {name: source for name, (source, _) in {**operation, **visit}.items()}
    values = [value for _, value in {**operation, **visit}.values()]
    fields = {
        name: {"heading": name, **source} for name, source in sources.items()
    }  # fmt: skip
    block = {"at": "m3", **{name: fields[name] for name in visit}}
    of_operation = {name: fields[name] for name in operation}
    intake = taken_in(
        sheet(["No", "Eye", "Op", *sources], ["A-1", "OD", OPERATED, *values]),
        table("operation", {**OPERATIONS, **of_operation}, visits=[block] if visit else []),
        **({"study": study} if study else {}),
    )
    return coded(intake, codes_of(intake)).tables["cells"]


def rule(cells, column):
    return set(cells.loc[cells["field"] == column, "rule"])


@pytest.mark.parametrize(
    ("field", "source", "value", "column", "expected"),
    [
        ("hole_min_diameter", {"unit": "um"}, 611.0, "hole_min_diameter_um", "as_typed"),
        ("hole_min_diameter", {"unit": "mm"}, 0.611, "hole_min_diameter_um", "mm_to_um"),
        ("hole_min_diameter", {"unit": "um"}, "1/3 DD", "hole_min_diameter_um", "dd_to_um"),
        ("hole_min_diameter", {"unit": "um"}, 611.0, "hole_size_class", "hole_size_class"),
        ("hole_duration", {}, "2 years", "hole_duration_months", "year_to_month"),
        ("prior_repairs", {}, 2.0, "prior_repairs", "as_typed"),
        ("sex", {}, "f", "sex", "words_sex"),
        ("sex", {"codes": {"2": "female"}}, "2", "sex", "crosswalk_code"),
        ("technique", {}, "amniotic membrane", "graft_material", "technique_text"),
        ("technique", {"codes": {"3": "lens_capsule"}}, "3", "graft_material", "crosswalk_code"),
        ("tamponade", {}, "SF6 20%", "tamponade_pct", "tamponade_text"),
        ("graft_diameter", {"unit": "mm"}, "2.0 x 1.5", "graft_diameter_um",
         "mean_of_two_diameters"),
        ("graft_diameter", {"unit": "mm"}, "2.0 x 1.5", "graft_second_diameter_um", "mm_to_um"),
        ("birth_date", {}, dt.datetime(1955, 1, 1), "age_years", "age_years"),
        ("age", {}, 70.0, "age_years", "as_typed"),
    ],
)  # fmt: skip
def test_the_rule_of_a_value_of_an_operation(field, source, value, column, expected):
    assert rule(rules_of(operation={field: (source, value)}), column) == {expected}


@pytest.mark.parametrize(
    ("field", "source", "value", "column", "expected"),
    [
        ("acuity", {"notation": "snellen_feet"}, "20/40", "acuity_logmar", "acuity_snellen_feet"),
        ("acuity", {"notation": "letters"}, 55.0, "acuity_logmar", "acuity_letters"),
        ("acuity", {"notation": "decimal"}, "CF", "acuity_logmar", "off_chart_measured_2009"),
        ("acuity", {"notation": "decimal"}, "CF 2 m", "acuity_logmar",
         "counting_fingers_at_distance"),
        ("acuity", {"notation": "snellen_feet", "letters_a_line": 5}, "20/40-2", "acuity_logmar",
         "acuity_snellen_feet_by_letter"),
        ("acuity", {"notation": "snellen_feet"}, "CF 1 m PH 20/40", "acuity_pinhole_logmar",
         "acuity_snellen_feet"),
        ("acuity", {"notation": "snellen_feet"}, "CF 1 m PH 20/40", "acuity_logmar",
         "counting_fingers_at_distance"),
        ("closure", {}, "closed", "closure", "words_closure"),
        ("closure", {"scheme": "types_2003"}, "2", "closure", "grading_types_2003"),
        ("closure", {}, "closed", "primary_closure_strict", "primary_closure_strict"),
        ("iop", {}, 17.0, "iop_mmhg", "as_typed"),
        ("under_tamponade", {}, "no", "under_tamponade", "words_yes_no"),
        ("mferg_ring1_p1", {"unit": "uV", "area_deg2": 10.0}, 0.4, "mferg_ring1_p1_nv_deg2",
         "uV_to_nV/deg2"),
    ],
)  # fmt: skip
def test_the_rule_of_a_value_of_a_visit(field, source, value, column, expected):
    assert rule(rules_of(visit={field: (source, value)}), column) == {expected}


def test_every_rule_is_declared_with_its_version_or_is_a_column_of_the_codebook():
    cells = rules_of(
        operation={"hole_min_diameter": ({"unit": "mm"}, 0.611), "technique": ({}, "ART, SF6 20%")},
        visit={"acuity": ({"notation": "letters"}, 55.0), "closure": ({}, "closed")},
    )
    columns = {
        name: str(spec.version)
        for kind in RECORD_KINDS
        for name, spec in table_fields(RECORD_TABLE[kind]).items()
        if name in columns_from(kind)
    }
    for name, version in cells[["rule", "rule_version"]].itertuples(index=False):
        known = declared.conversions().get(name)
        assert version == known.version if known else version.split("-")[0] == columns[name]


@pytest.mark.parametrize(
    ("change", "rule_name"),
    [
        (lambda s: s.setitem(declared.UNITS["um"], "dd", Unit(1600.0, (), is_nominal=True)),
         "dd_to_um"),
        (lambda s: s.setitem(declared.OFF_CHART_SETS["optical_1997"].values, "hand_motion", 2.9),
         "off_chart_optical_1997"),
        (lambda s: s.setitem(declared.CLOSURE_GRADINGS["types_2003"].grades, "2", "elevated_open"),
         "grading_types_2003"),
    ],
)  # fmt: skip
def test_a_changed_number_or_grade_is_another_version_of_its_rule_alone(
    change, rule_name, monkeypatch
):
    before = {name: each.version for name, each in declared.conversions().items()}
    change(monkeypatch)
    declared.conversion_groups.cache_clear()
    try:
        now = {e.name: e.version for group in declared.conversion_groups().values() for e in group}
    finally:
        declared.conversion_groups.cache_clear()
    assert {name for name in now if now[name] != before[name]} == {rule_name}


def test_another_set_of_off_chart_values_is_another_rule():
    study = Study.model_validate(
        {
            "study": {"name": "Heronry series", "sites": ["heron"]},
            "visits": {"m3": [60, 90, 135]},
            "closure": {"primary": "m3"},
            "acuity": {"off_chart": "optical_1997"},
        }
    )
    cells = rules_of(study, visit={"acuity": ({"notation": "decimal"}, "HM")})
    assert rule(cells, "acuity_logmar") == {"off_chart_optical_1997"}


def test_a_new_word_is_a_new_version_of_every_rule_that_reads_it(monkeypatch):
    before = {name: each.version for name, each in declared.conversions().items()}
    digest = declared._digest
    monkeypatch.setattr(
        declared,
        "_digest",
        lambda *concepts: "new words" if "off_chart" in concepts else digest(*concepts),
    )
    declared.conversion_groups.cache_clear()
    try:
        now = {e.name: e.version for group in declared.conversion_groups().values() for e in group}
    finally:
        declared.conversion_groups.cache_clear()
    changed = {name for name in now if now[name] != before[name]}
    assert changed == {f"off_chart_{name}" for name in OFF_CHART_SETS}


def test_a_constant_of_the_crosswalk_is_named_in_place_of_an_address():
    intake = taken_in(
        sheet(["No", "Eye", "Op", "MP"], ["A-1", "OD", OPERATED, 12.0]),
        table(
            "operation",
            OPERATIONS,
            visits=[{"at": "m3", "microperimetry_mean": "MP",
                     "microperimeter_max": {"constant": "400"}}],
        ),
    )  # fmt: skip
    cells = coded(intake, codes_of(intake)).tables["cells"].set_index("field")
    assert cells.loc["microperimeter_max_asb", "cell"] == "crosswalk"
    behind = cells.loc["microperimetry_mean_at_10000_asb_db", "cell"]
    assert sorted(behind) == ["D2", "crosswalk"]
