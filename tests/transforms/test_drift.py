"""What changed in a spreadsheet since last week: told with its cell, and changed units held."""

import datetime as dt

import pytest
from upload_sheets import LATEST, STUDY, crosswalk, sent, sheet, table, told

from transforms.drift import hold_against
from transforms.intake import coded, take_in
from transforms.layout import lay_out
from transforms.reading import Workbook

DAY = dt.datetime(2026, 3, 12)
HEADINGS = ["No", "Eye", "Op", "MLD", "Note"]
FIELDS = {
    "patient_id": "No", "eye": "Eye", "operation_date": "Op",
    "hole_min_diameter": {"heading": "MLD", "unit": "um"},
}  # fmt: skip
VISIT = {"patient_id": "No", "eye": "Eye", "visit_date": "Seen"}
SIZES = [310.0, 420.0, 560.0, 640.0, 700.0, 880.0]


def cases(headings=HEADINGS, sizes=SIZES, **cells):
    """A sheet of one case a size; `cells` gives a value for every row under a heading."""
    rows = []
    for number, size in enumerate(sizes):
        row = {"No": f"A-{number}", "Eye": "OD", "Op": DAY, "Note": "-", "MLD": size, **cells}
        row = {**row, "Hole": size, "Free text": "-", "Age": 70.0}
        rows.append([row.get(heading, size) for heading in headings])
    return sheet(headings, *rows)


def layout_of(of, fields=FIELDS, **details):
    return lay_out(sent(of), crosswalk(table("operation", fields, **details)))


def profile_of(of, fields=FIELDS, **details):
    """The table `headings` that an upload leaves in the warehouse."""
    return hold_against(None, layout_of(of, fields, **details)).headings


def drift(before, now, fields=FIELDS, **details):
    """Findings about headings and units, the layout's own among them."""
    profile = profile_of(before, fields, **details)
    return told(hold_against(profile, layout_of(now, fields, **details)).layout.findings)


def test_a_first_upload_has_changed_nothing():
    assert hold_against(None, layout_of(cases())).layout.findings.empty


def test_the_same_sheet_has_changed_nothing():
    assert drift(cases(), cases()) == []


@pytest.mark.parametrize(
    ("headings", "findings"),
    [
        (["No", "Eye", "Op", "Hole", "Note"], [("heading_renamed", "D1")]),
        (["No", "Eye", "Op", "MLD", "Free text"],
         [("heading_added", "E1"), ("heading_dropped", None)]),
        (["No", "Eye", "Op", "Note"], [("heading_missing", None)]),
        (["No", "Eye", "Op", "MLD"], [("heading_dropped", None)]),
        (["No", "Eye", "Age", "Op", "MLD", "Note"], [("heading_added", "C1")]),
        (["No", "MLD", "Eye", "Op", "Note"], [("heading_moved", "B1")]),
        (["No", "Eye", "Op", "MLD", "MLD", "Note"],
         [("heading_added", "E1"), ("heading_doubled", "D1")]),
        (["no", "EYE ", "Op", "MLD", "Note"], []),
        ([None, "No", "Eye", "Op", "MLD", "Note"], []),
    ],
    ids=["renamed", "an unread one renamed", "dropped", "an unread one dropped", "added", "moved",
         "doubled", "only in case and spaces", "all moved alike"],
)  # fmt: skip
def test_headings_that_changed_are_told_by_name_and_cell(headings, findings):
    assert drift(cases(), cases(headings)) == findings


def test_a_renamed_heading_is_told_with_both_names():
    now = hold_against(profile_of(cases()), layout_of(cases(["No", "Eye", "Op", "Hole", "Note"])))
    (finding,) = now.layout.findings.to_dict("records")
    assert (finding["heading"], finding["other"]) == ("MLD", "'Hole'")
    assert (finding["kind"], finding["field"]) == ("operation", "hole_min_diameter")


def test_a_moved_column_is_told_with_both_places():
    now = hold_against(profile_of(cases()), layout_of(cases(["No", "MLD", "Eye", "Op", "Note"])))
    (finding,) = now.layout.findings.to_dict("records")
    assert (finding["heading"], finding["other"]) == ("MLD", "D before, now B")


def test_a_new_name_that_the_crosswalk_knows_already_is_no_matter():
    mended = {**FIELDS, "hole_min_diameter": {"heading": "Hole", "unit": "um"}}
    now = hold_against(
        profile_of(cases()), layout_of(cases(["No", "Eye", "Op", "Hole", "Note"]), mended)
    )
    assert now.layout.findings.empty


# Units


def scaled(factor):
    return [size * factor for size in SIZES]


@pytest.mark.parametrize(
    ("factor", "words"),
    [
        (0.1, "are about 10 times smaller"),
        (0.001, "are about 1000 times smaller"),
        (1 / 1500, "are about 1500 times smaller"),
        (10, "are about 10 times larger"),
        (1000, "are about 1000 times larger"),
        (1500, "are about 1500 times larger"),
        (0.00108, "are about 1000 times smaller"),
        (1.4, None),
        (2, None),
        (100, None),
    ],
)
def test_a_column_whose_numbers_changed_their_unit_is_told_at_its_heading(factor, words):
    now = hold_against(profile_of(cases()), layout_of(cases(sizes=scaled(factor))))
    findings = now.layout.findings
    assert findings["other"].to_list() == ([words] if words else [])
    assert told(findings) == ([("unit_changed", "D1")] if words else [])


@pytest.mark.parametrize(
    ("notation", "before", "now", "words"),
    [
        ("logmar", [1.0, 0.7, 0.5, 0.3, 1.3], [35.0, 50.0, 60.0, 70.0, 20.0],
         "look like letters and no longer like logMAR"),
        ("letters", [35.0, 50.0, 60.0, 70.0, 20.0], [1.0, 0.7, 0.5, 0.3, 1.3],
         "look like logMAR and no longer like letters"),
        ("decimal", ["0.1", "0.2", "0.3", "0.4", "0.5"], ["1", "2", "3", "4", "5"],
         "are about 10 times larger"),
        ("logmar", [1.0, 0.7, 0.5, 0.3, 1.3], [0.5, 0.4, 0.3, 0.1, 1.0], None),
        ("letters", [5.0, 4.0, 6.0, 20.0, 3.0], [4.0, 3.0, 5.0, 18.0, 3.0], None),
        ("snellen_feet", ["20/40"] * 5, ["20/400"] * 5, None),
    ],
)  # fmt: skip
def test_an_acuity_that_changed_its_scale_is_told(notation, before, now, words):
    visits = [{"at": "m3", "fields": {"acuity": {"heading": "VA", "notation": notation}}}]

    def of(acuities):
        rows = [[f"A-{n}", "OD", DAY, 500.0 + n, va] for n, va in enumerate(acuities)]
        return sheet(["No", "Eye", "Op", "MLD", "VA"], *rows)

    profile = profile_of(of(before), visits=visits)
    findings = hold_against(profile, layout_of(of(now), visits=visits)).layout.findings
    assert told(findings) == ([("unit_changed", "E1")] if words else [])
    assert findings["other"].to_list() == ([words] if words else [])


def test_a_crosswalk_that_names_the_new_unit_settles_the_matter():
    mended = {**FIELDS, "hole_min_diameter": {"heading": "MLD", "unit": "mm"}}
    now = hold_against(profile_of(cases()), layout_of(cases(sizes=scaled(0.001)), mended))
    assert now.layout.findings.empty


def test_a_wrong_crosswalk_that_is_mended_after_weeks_locks_nothing():
    """Gaps in millimetres under a crosswalk that said micrometres."""
    wrong, right = ({**VISIT, "ez_defect": {"heading": "EZ", "unit": u}} for u in ("um", "mm"))
    of = sent(sheet(["No", "Eye", "Seen", "EZ"],
                    *([f"A-{n}", "OD", DAY, 0.8 + n / 10] for n in range(6))))  # fmt: skip
    first = hold_against(None, lay_out(of, crosswalk(table("visit", wrong))))
    mended = lay_out(of, crosswalk(table("visit", right)))
    assert hold_against(first.headings, mended).layout.findings.empty


def test_a_change_that_nobody_mends_is_told_again_the_week_after():
    first = hold_against(profile_of(cases()), layout_of(cases(sizes=scaled(0.001))))
    second = hold_against(first.headings, layout_of(cases(sizes=scaled(0.001))))
    assert told(second.layout.findings) == [("unit_changed", "D1")]
    third = hold_against(second.headings, layout_of(cases()))
    assert third.layout.findings.empty


def test_a_week_with_too_few_numbers_does_not_forget_the_unit():
    few = hold_against(profile_of(cases()), layout_of(cases(sizes=scaled(0.001)[:2])))
    assert few.layout.findings.empty
    after = hold_against(few.headings, layout_of(cases(sizes=scaled(0.001))))
    assert told(after.layout.findings) == [("unit_changed", "D1")]


def test_a_handful_of_numbers_has_no_middle_to_compare():
    assert drift(cases(sizes=SIZES[:4]), cases(sizes=scaled(0.001)[:4])) == []


def test_numbers_below_a_repeated_heading_belong_to_the_first():
    rows = cases().values.values.tolist()
    again = sheet(*rows[:4], rows[0], *rows[4:])
    profile = profile_of(again)
    of_size = profile[profile["field"] == "hole_min_diameter"]
    assert of_size[["numbers", "median"]].values.tolist() == [[6, 600.0]]


def test_numbers_that_were_never_used_are_no_measure():
    """A column that was in millimetres by mistake, all blanked, and is mended."""
    wrong = profile_of(cases(sizes=scaled(0.001)))
    assert hold_against(wrong, layout_of(cases())).layout.findings.empty


def test_a_crosswalk_that_says_since_when_ends_the_matter():
    before = profile_of(cases(sizes=[size / 10 for size in scaled(10)]))
    right = {"heading": "MLD", "unit": "um", "since": "2026-W47"}
    mended = {**FIELDS, "hole_min_diameter": right}
    changed = layout_of(cases(sizes=[90.0, 91.0, 92.0, 93.0, 94.0]), mended)
    first = hold_against(before, changed)
    assert first.layout.findings.empty
    again = hold_against(first.headings, layout_of(cases(sizes=[900.0] * 6), mended))
    assert told(again.layout.findings) == [("unit_changed", "D1")]


@pytest.mark.parametrize(
    ("field", "before", "now", "words"),
    [
        ("fixation_p1", 60.0, 0.6, "are about 100 times smaller"),
        ("hole_duration", 2.0, 24.0, "are about 12 times larger"),
        ("hole_duration", 2.0, 9.0, None),
        ("iop", 14.0, 1.4, "are about 10 times smaller"),
    ],
)
def test_factors_between_the_units_of_a_quantity_count_too(field, before, now, words):
    kind = "visit" if field in ("fixation_p1", "iop") else "operation"
    date = "visit_date" if kind == "visit" else "operation_date"
    fields = {"patient_id": "No", "eye": "Eye", date: "Op", field: "Number"}

    def of(middle):
        rows = [[f"A-{n}", "OD", DAY, middle * (8 + n) / 10] for n in range(5)]
        return lay_out(sent(sheet(["No", "Eye", "Op", "Number"], *rows)), read)

    read = crosswalk(table(kind, fields))
    findings = hold_against(hold_against(None, of(before)).headings, of(now)).layout.findings
    assert findings["other"].to_list() == ([words] if words else [])


def test_a_logmar_that_moves_tenfold_is_no_change_of_unit():
    visits = [{"at": "m3", "fields": {"acuity": {"heading": "VA", "notation": "logmar"}}}]

    def of(*acuities):
        rows = [[f"A-{n}", "OD", DAY, 500.0, va] for n, va in enumerate(acuities)]
        return sheet(["No", "Eye", "Op", "MLD", "VA"], *rows)

    before = profile_of(of(0.0, 0.0, 0.05, 0.1, 0.3), visits=visits)
    now = layout_of(of(0.3, 0.4, 0.5, 0.6, 0.7), visits=visits)
    assert hold_against(before, now).layout.findings.empty


def test_two_tables_and_two_files_of_one_kind_have_each_their_own_measure():
    """One sheet counts months, the other years written as months: both go on as they were."""
    fields = {**FIELDS, "hole_duration": "Months"}
    headings = ["No", "Eye", "Op", "MLD", "Months"]
    sheets = [
        sheet(headings, *([f"{name}{n}", "OD", DAY, 500.0, of + n / 10] for n in range(6)),
              name=name)
        for name, of in (("Left", 1.0), ("Right", 10.0))
    ]  # fmt: skip
    read = crosswalk(*(table("operation", fields, sheet=name) for name in ("Left", "Right")))
    layout = lay_out(sent(*sheets), read)
    assert hold_against(hold_against(None, layout).headings, layout).layout.findings.empty

    files = {
        f"heron-{n}": (f"part {n}.xlsx", Workbook((each,), "xlsx")) for n, each in enumerate(sheets)
    }
    whole = lay_out(files, crosswalk(table("operation", fields)))
    assert hold_against(hold_against(None, whole).headings, whole).layout.findings.empty


def test_a_table_that_the_crosswalk_puts_in_front_changes_no_heading():
    events = table("complication", {"patient_id": "File", "eye": "Side", "complication": "Event"},
                   sheet="Events")  # fmt: skip
    happened = sheet(["File", "Side", "Event"], ["A-1", "OD", "cataract"], name="Events")
    operated = table("operation", FIELDS, sheet="Log")
    before = hold_against(None, lay_out(sent(cases(), happened), crosswalk(operated))).headings
    now = lay_out(sent(cases(), happened), crosswalk(events, operated))
    assert hold_against(before, now).layout.findings.empty


def test_few_numbers_leave_no_median_behind():
    profile = profile_of(cases(sizes=SIZES[:4]))
    of_size = profile[profile["field"] == "hole_min_diameter"]
    assert of_size[["numbers", "median"]].values.tolist() == [[4, None]]


def test_values_of_a_column_whose_unit_changed_are_held_and_told_once():
    """All else of the rows is merged; no cell of the column is told on its own."""
    read = crosswalk(table("operation", FIELDS))
    intake = take_in(
        sent(cases(sizes=scaled(0.001))), read, STUDY, b"key", LATEST, profile_of(cases())
    )
    digests = intake.digests.melt()["value"].dropna().unique()
    tables = coded(intake, {digest: f"D{n}" for n, digest in enumerate(digests)}).tables
    assert len(tables["operations"]) == len(SIZES)
    assert tables["operations"]["hole_min_diameter_um"].isna().all()
    assert told(tables["findings"]) == [("unit_changed", "D1")]
    kept = tables["headings"].set_index("heading").loc["MLD"]
    assert (kept["numbers"], kept["median"], kept["written_in"]) == (6, 600.0, "um")
