"""One small workbook, the whole way from its sheets to the warehouse's rows."""

import datetime as dt

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from upload_sheets import (
    COMPLICATIONS,
    LATEST,
    OPERATIONS,
    STUDY,
    UPLOAD,
    VISITS,
    codes_of,
    crosswalk,
    sent,
    sheet,
    table,
    taken_in,
    told,
)

from schemas.codebook import TABLES, columns_from
from transforms.finding_history import advance
from transforms.intake import coded, take_in
from transforms.reading import UnreadableUpload, Workbook, address

D = dt.datetime
OPERATED, SEEN = D(2025, 3, 1), D(2025, 5, 30)

# A patient a row, both eyes in it, a visit of each eye in columns.
PATIENTS = table(
    "patient",
    {"patient_id": "No", "birth_date": "Born", "sex": "Sex"},
    sheet="Holes",
    eyes=[
        {
            "eye": eye,
            "operation_date": f"Op {mark}",
            "technique": f"How {mark}",
            "hole_min_diameter": {"heading": f"MLD {mark}", "unit": "um"},
            "visits": [
                {
                    "at": "m3",
                    "acuity": {"heading": f"VA {mark}", "notation": "snellen_feet"},
                    "closure": f"OCT {mark}",
                }
            ],
        }
        for eye, mark in (("right", "R"), ("left", "L"))
    ],
)
OF_EYE = ("Op", "How", "MLD", "VA", "OCT")
HEADINGS = ["No", "Born", "Sex", *(f"{name} {mark}" for mark in "RL" for name in OF_EYE)]
EVENTS = table("complication", {**COMPLICATIONS, "complication_date": "On"}, sheet="Events")

WORKBOOK = (
    sheet(
        ["Refractory holes, autumn"],
        [],
        HEADINGS,
        ["A-1", D(1955, 5, 5), "f", OPERATED, "ART, C3F8 14%", 620.0, "20/40", "type 1",
         D(2025, 9, 1), "amniotic membrane, air", "0.38 mm", "CF", "flat open"],
        ["A-2", D(1950, 1, 1), "m", None, None, None, None, None,
         D(2025, 3, 2), "ILM free flap, SF6 20%", "about 500", "20/0", "not gradable"],
        [],
        ["A-3", None, "m", D(2026, 12, 24), "ART", 700.0, "20/200", "W-type"],
        ["Total", None, None, 3.0],
        name="Holes",
    ),
    sheet(["No", "Eye", "Event", "On"], ["A-1", "OD", "cataract", D(2026, 1, 5)], name="Events"),
)  # fmt: skip


@pytest.fixture(scope="module")
def intake():
    return take_in(sent(*WORKBOOK), crosswalk(PATIENTS, EVENTS), STUDY, b"key", LATEST)


@pytest.fixture(scope="module")
def rows(intake):
    return coded(intake, codes_of(intake)).tables


def columns(frame, *names):
    found = frame[list(names)].astype("object")
    return found.where(found.notna(), None).values.tolist()


def test_rows_are_accounted_for(intake):
    counts = intake.counts.loc[UPLOAD]
    # Four operations, four visits and a complication; the future operation and its visit are held.
    assert (counts["rows_read"], counts["rows_merged"], counts["rows_held"]) == (9, 7, 2)


def test_operations_of_both_eyes(rows):
    found = rows["operations"].sort_values(["patient_key", "eye"])
    assert columns(
        found, "site", "eye", "age_years", "sex", "graft_material", "tamponade", "tamponade_pct",
        "hole_min_diameter_um", "hole_size_class", "operation_year", "primary_closure_strict",
    ) == [
        ["heron", "left", 70, "female", "amniotic_membrane", "air", None, 380.0,
         "medium_251_400", 2025, False],
        ["heron", "right", 69, "female", "autologous_retina", "c3f8", 14.0, 620.0,
         "large_over_400", 2025, True],
        ["heron", "left", 75, "male", "ilm_free_flap", "sf6", 20.0, None,
         None, 2025, None],
    ]  # fmt: skip


def test_visits_of_both_eyes(rows):
    found = columns(rows["visits"], "visit", "acuity_logmar", "acuity_imputed", "closure")
    assert sorted(found, key=lambda row: (row[1] is None, row[1])) == [
        ["m3", pytest.approx(0.30103, abs=1e-5), False, "closed_retinal_bridging"],
        ["m3", 1.98, True, "flat_open"],
        ["m3", None, None, "not_gradable"],
    ]


def test_a_complication_lies_so_many_days_after_its_operation(rows):
    assert columns(rows["complications"], "term", "day") == [["cataract", 310]]


def test_findings_name_the_cell(rows):
    assert told(rows["findings"]) == [
        ("acuity_notation_differs", "L5"),
        ("operation_date_impossible", "D7"),
        ("row_left_out", "A8"),
        ("value_estimate", "K5"),
        ("value_missing", "E7"),
    ]  # fmt: skip


def test_keys_hang_on_the_operation_and_every_row_has_its_operation(rows):
    operations = set(rows["operations"]["operation_key"])
    assert len(operations) == 3
    for name in ("visits", "complications"):
        assert set(rows[name]["operation_key"]) <= operations
    assert rows["visits"]["visit_key"].to_list() == [
        f"{key}.m3" for key in rows["visits"]["operation_key"]
    ]


# Cells


def test_every_value_has_the_cell_that_it_came_from():
    typed = {
        "technique": "amniotic membrane", "tamponade": "SF6 20%", "hole_min_diameter": 611.0,
        "hole_base_diameter": 1203.0, "graft_diameter": 1307.0, "prior_repairs": 3.0,
        "axial_length": 24.5, "sex": "f", "age": 71.0,
    }  # fmt: skip
    seen = {"acuity": 0.7, "iop": 17.0, "closure": "type 1"}
    unit = {"hole_min_diameter", "hole_base_diameter", "graft_diameter"}
    fields = {name: {"heading": name, "unit": "um"} if name in unit else name for name in typed}
    visit = {
        "at": "m3", "acuity": {"heading": "acuity", "notation": "decimal"}, "iop": "iop",
        "closure": "closure",
    }  # fmt: skip
    log = sheet(
        ["No", "Eye", "Op", *typed, *seen], ["A-1", "OD", OPERATED, *typed.values(), *seen.values()]
    )
    intake = taken_in(log, table("operation", {**OPERATIONS, **fields}, visits=[visit]))
    tables = coded(intake, codes_of(intake)).tables
    cells = tables["cells"]
    named = {"No": "patient_id", "Eye": "eye", "Op": "operation_date"}
    headings = {address(2, c): named.get(text, text) for c, text in log.values.loc[1].items()}
    sources = {**columns_from("operation"), **columns_from("visit")}
    assert set(cells["sheet"]) == {"Log"}
    assert set(cells["upload"]) == {UPLOAD}
    for field, cell in zip(cells["field"], cells["cell"], strict=True):
        assert headings[cell] in sources[field]
    traced = {field: set() for field in cells["field"]}
    for field, cell in zip(cells["field"], cells["cell"], strict=True):
        traced[field].add(headings[cell])
    assert traced["tamponade_pct"] == {"tamponade"}
    assert traced["eye"] == {"eye"}
    assert traced["operation_year"] == {"operation_date"}
    assert traced["graft_oversize_min_pct"] == {"graft_diameter", "hole_min_diameter"}
    assert traced["graft_oversize_base_pct"] == {"graft_diameter", "hole_base_diameter"}
    assert traced["primary_closure_strict"] == traced["final_closure"] == {"closure"}


NUMBERS = st.lists(st.integers(300, 900), min_size=1, max_size=8, unique=True)


@settings(max_examples=8, deadline=None)
@given(NUMBERS, st.integers(0, 3), st.permutations(["No", "Eye", "Op", "MLD", "Notes"]))
def test_the_cell_of_a_value_holds_in_the_workbook_the_value_it_came_from(sizes, above, headings):
    rows = [
        [{"No": f"A-{n}", "Eye": "OD", "Op": OPERATED, "MLD": float(size)}.get(h) for h in headings]
        for n, size in enumerate(sizes)
    ]
    log = sheet(*[[]] * above, headings, *rows)
    fields = {**OPERATIONS, "hole_min_diameter": {"heading": "MLD", "unit": "um"}}
    tables = _tables(taken_in(log, table("operation", fields)))
    at = {
        address(row, column): value
        for row, cells in log.values.iterrows() for column, value in cells.items()
    }  # fmt: skip
    cells = tables["cells"].query("field == 'hole_min_diameter_um'").set_index("key")["cell"]
    values = tables["operations"].set_index("operation_key")["hole_min_diameter_um"]
    assert sorted(values) == sorted(sizes)
    assert values.to_dict() == cells.map(at).to_dict()


def _tables(intake):
    return coded(intake, codes_of(intake)).tables


def test_an_age_from_dates_is_traced_to_the_birth_date_and_not_to_the_age_column():
    log = sheet(["No", "Eye", "Op", "Age", "Born"], ["A-1", "OD", OPERATED, 68.0, D(1955, 1, 1)])
    tables = _tables(
        taken_in(log, table("operation", {**OPERATIONS, "age": "Age", "birth_date": "Born"}))
    )
    assert tables["operations"]["age_years"].item() == 70
    assert "E2" in set(tables["cells"].query("field == 'age_years'")["cell"])


# Rows in = rows merged + rows held

DATES = st.sampled_from(
    [None, "spring", D(2027, 1, 1), D(2025, 3, 1), D(2025, 6, 1), D(2026, 1, 1)]
)
ROWS = st.lists(
    st.tuples(
        st.sampled_from(["A-1", "A-2", "A-3", None]),
        st.sampled_from(["OD", "OS", "x", None]),
        DATES,
    ),
    max_size=6,
)


@settings(max_examples=20, deadline=None)
@given(ROWS, ROWS, ROWS)
def test_rows_read_are_rows_merged_and_rows_held_whatever_is_wrong_with_them(
    operated, seen, happened
):
    sheets = [
        sheet(["No", "Eye", "Op", "x"], *([*row, "x"] for row in operated), name="Log"),
        sheet(["No", "Eye", "Seen", "x"], *([*row, "x"] for row in seen), name="Clinic"),
        sheet(["No", "Eye", "On", "Event"], *([*row, "RD"] for row in happened), name="Events"),
    ]
    assume(any(number for number, _, _ in [*operated, *seen, *happened]))
    intake = taken_in(
        sheets,
        table("operation", OPERATIONS, sheet="Log"),
        table("visit", VISITS, sheet="Clinic"),
        table("complication", {**COMPLICATIONS, "complication_date": "On"}, sheet="Events"),
    )
    tables = _tables(intake)
    kept = sum(len(tables[name]) for name in ("operations", "visits", "complications"))
    if len(intake.counts):
        counts = intake.counts.loc[UPLOAD]
        assert counts["rows_read"] == counts["rows_merged"] + counts["rows_held"]
        assert counts["rows_merged"] == kept
    assert set(tables["visits"]["operation_key"]) <= set(tables["operations"]["operation_key"])
    assert set(tables["complications"]["operation_key"]) <= set(
        tables["operations"]["operation_key"]
    )
    assert tables["findings"]["finding_key"].is_unique


# Uploads that are unlike others

HEAD = ["No", "Eye", "Op"]


@pytest.mark.parametrize(
    "operations",
    [
        [["A-1", None, OPERATED]],
        [["A-1", "OD", OPERATED], ["A-1", "OD", OPERATED]],
        [["A-1", "OD", "spring"], ["A-2", "OD", OPERATED]],
    ],
    ids=["all held", "no finding in a merged row", "held beside merged"],
)
def test_an_upload_whose_findings_are_all_about_held_rows_is_taken_in(operations):
    tables = _tables(taken_in(sheet(HEAD, *operations), table("operation", OPERATIONS)))
    assert len(tables["operations"]) + len(tables["findings"]) == len(operations)


@pytest.mark.parametrize("rows", [[], [[None, "OD", OPERATED]]], ids=["no row", "no patient"])
def test_an_upload_that_knows_no_case_is_a_mistake(rows):
    with pytest.raises(UnreadableUpload, match="no row is an operation"):
        taken_in(sheet(HEAD, *rows), table("operation", OPERATIONS))


@pytest.mark.parametrize("date", [None, "spring", D(1926, 1, 2)])
def test_an_eye_whose_first_operation_cannot_be_told_is_held_whole_and_asked_once(date):
    rows = [["A-1", "OD", date], ["A-1", "OD", OPERATED], ["A-1", "OS", OPERATED]]
    intake = taken_in(sheet(HEAD, *rows), table("operation", OPERATIONS))
    tables = _tables(intake)
    assert tables["operations"]["eye"].to_list() == ["left"]
    assert tables["findings"]["cell"].to_list() == ["C2"]
    assert intake.counts.loc[UPLOAD, "rows_held"] == 2


def test_record_numbers_that_differ_by_case_are_one_patient_and_break_nothing():
    rows = [["a-1", "OD", OPERATED], ["A-1", "OD", D(2025, 9, 1)]]
    tables = _tables(taken_in(sheet(HEAD, *rows), table("operation", OPERATIONS)))
    assert tables["operations"]["patient_key"].nunique() == 1
    assert sorted(tables["operations"]["eye_operation_number"]) == [1, 2]


def with_visits(operation, visit_headings, visit_row):
    return taken_in(
        [sheet(HEAD, operation, name="Log"), sheet(visit_headings, visit_row, name="Clinic")],
        table("operation", OPERATIONS, sheet="Log"),
        table("visit", VISITS, sheet="Clinic"),
    )


def test_a_visit_thirty_years_after_the_operation_breaks_nothing():
    tables = _tables(
        with_visits(["A-1", "OD", D(1995, 3, 1)], ["No", "Eye", "Seen"], ["A-1", "OD", SEEN])
    )
    assert len(tables["operations"]) == 1


@pytest.mark.parametrize(
    ("headings", "kind"),
    [(["No", "Eye", "When"], "visit"), (["No", "Eye", "What"], "complication")],
)
def test_a_record_whose_essential_heading_is_gone_is_held_or_the_upload_refused(headings, kind):
    fields = VISITS if kind == "visit" else COMPLICATIONS
    sheets = [
        sheet(HEAD, ["A-1", "OD", OPERATED], name="Log"),
        sheet(headings, ["A-1", "OD", "RD"], name="Other"),
    ]
    tables = (table("operation", OPERATIONS, sheet="Log"), table(kind, fields, sheet="Other"))
    try:
        intake = taken_in(sheets, *tables)
    except UnreadableUpload:
        return
    assert _tables(intake)[f"{kind}s"].empty
    assert intake.counts.loc[UPLOAD, "rows_held"] == 1


def test_visits_in_columns_whose_only_date_has_lost_its_heading_break_nothing():
    log = sheet([*HEAD, "When", "OCT"], ["A-1", "OD", OPERATED, SEEN, "closed"])
    blocks = [{"date": "Seen", "closure": "OCT"}]
    try:
        intake = taken_in(log, table("operation", OPERATIONS, visits=blocks))
    except UnreadableUpload:
        return
    tables = _tables(intake)
    assert (len(tables["operations"]), len(tables["visits"])) == (1, 0)
    assert intake.counts.loc[UPLOAD, "rows_held"] == 1


def test_a_sheet_of_errors_is_taken_in_and_every_cell_is_told():
    fields = {**OPERATIONS, "technique": "T", "sex": "S", "prior_repairs": "P"}
    block = {"at": "m3", "acuity": {"heading": "V", "notation": "decimal"}, "under_tamponade": "G"}
    broken = sheet(
        [*HEAD, "T", "S", "P", "V", "G"], ["A-1", "OD", OPERATED, *[None] * 5],
        errors={(2, column): "#REF!" for column in range(4, 9)},
    )  # fmt: skip
    findings = _tables(taken_in(broken, table("operation", fields, visits=[block])))["findings"]
    assert told(findings) == [("error_value", f"{column}2") for column in "DEFGH"]


def test_the_files_of_one_week_are_one_upload():
    clinic = sheet(["No", "Eye", "Seen"], ["A-1", "OD", SEEN], ["A-9", "OD", SEEN])
    files = {
        "u1": ("log.xlsx", Workbook((sheet(HEAD, ["A-1", "OD", OPERATED]),), "xlsx")),
        "u2": ("clinic.xlsx", Workbook((clinic,), "xlsx")),
    }
    walk = crosswalk(
        table("operation", OPERATIONS, file="log*"), table("visit", VISITS, file="clinic*")
    )
    intake = take_in(files, walk, STUDY, b"key", LATEST)
    assert intake.counts.to_dict("index") == {
        "u1": {"rows_read": 1, "rows_held": 0, "rows_merged": 1},
        "u2": {"rows_read": 2, "rows_held": 1, "rows_merged": 1},
    }
    assert intake.tables["findings"]["upload"].to_list() == ["u2"]


# What leaves the intake


def test_tables_are_as_the_codebook_declares_them(rows):
    for name in ("operations", "visits", "complications", "cells", "unread"):
        TABLES[name].validate(rows[name])


def test_nothing_that_names_a_person_leaves_the_intake(rows):
    direct = ("a-1", "a-2", "a-3", "1955", "1950", "2025-03", "2025-09", "2026-01")
    for frame in rows.values():
        text = " ".join(str(value) for value in frame.astype("object").values.ravel()).casefold()
        assert not [word for word in direct if word in text]


def test_nothing_depends_on_the_order_of_the_rows_but_addresses(rows):
    log, events = WORKBOOK
    order = [1, 2, 3, 7, 5, 6, 4, 8]
    values = log.values.loc[order].set_axis(log.values.index)
    turned = sheet(*values.values.tolist(), name="Holes")
    intake = take_in(sent(turned, events), crosswalk(PATIENTS, EVENTS), STUDY, b"key", LATEST)
    tables = coded(intake, codes_of_first(intake)).tables
    assert set(tables["findings"]["finding_key"]) == set(
        _keys_of(take_in(sent(*WORKBOOK), crosswalk(PATIENTS, EVENTS), STUDY, b"key", LATEST))
    )


def codes_of_first(intake):
    """Codes that hang on the digest alone, as those of one linkage file do from week to week."""
    return {digest: digest[:12].upper() for digest in codes_of(intake)}


def _keys_of(intake):
    return coded(intake, codes_of_first(intake)).tables["findings"]["finding_key"]


# A finding about a row without a case, from week to week


@pytest.mark.parametrize(
    ("broken", "mended"),
    [
        (["A-1", None, OPERATED], ["A-1", "OD", OPERATED]),
        (["A-1", "OD", "spring"], ["A-1", "OD", OPERATED]),
    ],
    ids=["eye", "date"],
)
def test_a_row_that_was_mended_is_fixed_and_not_withdrawn(broken, mended):
    other = ["A-2", "OS", OPERATED]
    weeks = [
        taken_in(sheet(HEAD, row, other), table("operation", OPERATIONS))
        for row in (broken, mended)
    ]
    codes = {digest: digest[:12] for week in weeks for digest in codes_of(week)}
    before, after = (coded(week, codes) for week in weeks)
    kept = before.tables["findings"].assign(
        first_week="W46", last_week="W46", state="open", answer=None
    )
    labels = after.present | frozenset(after.tables["findings"]["case_label"].dropna())
    history = advance(kept, after.tables["findings"], "W47", labels)
    assert history["state"].to_list() == ["fixed"]


def test_a_doubled_row_that_is_removed_leaves_the_other_operations_their_keys():
    doubled = [["A-1", "OD", OPERATED], ["A-1", "OD", OPERATED], ["A-1", "OD", D(2025, 9, 1)]]
    mended = [doubled[0], doubled[2]]
    weeks = [
        taken_in(sheet(HEAD, *rows), table("operation", OPERATIONS)) for rows in (doubled, mended)
    ]
    before, after = (set(week.tables["operations"]["operation_key"]) for week in weeks)
    assert before == after
