"""From sheets to records: where the table is, which heading is which field, which rows count."""

import datetime as dt

import pytest
from upload_sheets import (
    COMPLICATIONS,
    OPERATIONS,
    UPLOAD,
    VISITS,
    cell_values,
    crosswalk,
    laid_out,
    sent,
    sheet,
    table,
    told,
)

from transforms.layout import lay_out
from transforms.layout.body import Body
from transforms.layout.headings import find_heading, heading_form, read_heading
from transforms.layout.rows import sort_rows
from transforms.reading import UnreadableUpload, Workbook

DAY = dt.datetime(2026, 3, 12)
HEADINGS = ["No", "Eye", "Op"]
ONE = ["A-1", "OD", DAY]
TWO = ["A-2", "OS", DAY]


def rows_and_anchors(layout):
    index = layout.records.index
    return list(zip(index["kind"], index["row"], index["anchor"], strict=True))


def of_field(layout, field):
    cells = layout.records.cells
    cells = cells[cells["field"] == field]
    return dict(
        zip(
            cells["cell"],
            cells["value"].astype(object).where(cells["value"].notna(), None),
            strict=True,
        )
    )


# Headings


@pytest.mark.parametrize(
    ("written", "form"),
    [
        ("  Hosp.\u00a0no.\n", "hosp. no."),
        ("STRASSE", heading_form("Straße")),
        ("Ａge", "age"),
        ("Date  of   surgery", "date of surgery"),
    ],
)
def test_headings_are_compared_without_case_width_and_white_space(written, form):
    assert heading_form(written) == form


def test_a_merged_heading_counts_for_every_column_that_it_spans():
    two_rows = sheet(
        ["MRN", "Before", None, "After", None],
        [None, "BCVA", "OCT", "BCVA", "OCT"],
        merged=[(1, 2, 1, 3), (1, 4, 1, 5), (1, 1, 2, 1)],
    )
    assert read_heading(two_rows, (1, 2)).texts == {
        1: "MRN", 2: "Before BCVA", 3: "Before OCT", 4: "After BCVA", 5: "After OCT",
    }  # fmt: skip


def test_cells_that_are_not_merged_join_their_own_column_alone():
    two_rows = sheet(["MRN", "Before", None], [None, "BCVA", "OCT"])
    assert read_heading(two_rows, (1, 2)).texts == {1: "MRN", 2: "Before BCVA", 3: "OCT"}


@pytest.mark.parametrize(
    ("rows", "place"),
    [
        ([HEADINGS, ONE], (1, 1)),
        ([["Refractory holes"], [], HEADINGS, ONE], (3, 3)),
        ([["No", "of eyes", 2.0], HEADINGS, ONE], (2, 2)),
        ([["No", None, "Op"], [None, "Eye", None], ONE], (1, 2)),
        ([HEADINGS, HEADINGS], (1, 1)),
    ],
    ids=["first row", "below a title", "below a row with one of the words", "two rows", "repeated"],
)
def test_the_heading_is_where_most_of_the_wanted_words_stand(rows, place):
    heading = find_heading(sheet(*rows), list(OPERATIONS.values()))
    assert (heading.first_row, heading.last_row) == place


def test_a_sheet_without_any_of_the_headings_has_none():
    assert find_heading(sheet(["Nr", "Auge"], ["A-1", "RA"]), list(OPERATIONS.values())) is None


def test_the_crosswalks_own_heading_rows_are_taken_as_they_are():
    two_rows = sheet(["Report of no eye"], ["No", "Eye", "Date"], [None, None, "Op"], ONE)
    fields = {**OPERATIONS, "operation_date": "Date Op"}
    layout = laid_out(two_rows, table("operation", fields, header=[2, 3]))
    assert rows_and_anchors(layout) == [("operation", 4, "A4")]
    assert of_field(layout, "operation_date") == {"C4": DAY}


@pytest.mark.parametrize(
    ("headings", "findings", "message"),
    [
        ([*HEADINGS, "Agee"], [("heading_missing", None)], "nearest: 'Agee'"),
        ([*HEADINGS, "Lens"], [("heading_missing", None)], "nothing like it is"),
        ([*HEADINGS, "Age", "AGE "], [("heading_doubled", "D1")], None),
        (["Age", *HEADINGS], [], None),
    ],
    ids=["misspelt", "gone", "doubled", "moved"],
)
def test_a_heading_that_does_not_fit_is_told_once(headings, findings, message):
    row = [{"No": "A-1", "Eye": "OD", "Op": DAY}.get(heading, 61.0) for heading in headings]
    layout = laid_out(sheet(headings, row), table("operation", {**OPERATIONS, "age": "Age"}))
    assert told(layout.findings) == findings
    assert len(layout.records.index) == 1
    assert bool(of_field(layout, "age")) == (not findings)
    if message:
        assert layout.findings["other"].item() == message


def test_a_doubled_heading_says_how_often_it_stands():
    three = sheet([*HEADINGS, "Age", "Age", "age"], [*ONE, 61.0, 62.0, 63.0])
    finding = laid_out(three, table("operation", {**OPERATIONS, "age": "Age"})).findings.iloc[0]
    assert (finding["heading"], finding["count"]) == ("Age", 3)


def test_a_heading_of_several_fields_is_told_for_the_first_of_them():
    fields = {**OPERATIONS, "technique": "Notes", "tamponade": "Notes"}
    layout = laid_out(sheet(HEADINGS, ONE), table("operation", fields))
    assert layout.findings["field"].to_list() == ["technique"]


@pytest.mark.parametrize(
    ("headings", "reason"),
    [
        (["Nr", "Eye", "Op"], "the first sheet: the heading 'No' is not there"),
        (["No", "Eye", "Date"], "the first sheet: the heading 'Op' is not there"),
        (["No", "Eye", "Op", "no"], "the first sheet: the heading 'No' stands 2 times; keep one"),
        (["a", "b", "c"], "the first sheet: none of the crosswalk's headings is there"),
    ],
)
def test_without_a_heading_that_every_record_needs_the_upload_is_unreadable(headings, reason):
    with pytest.raises(UnreadableUpload) as unreadable:
        laid_out(sheet(headings, ONE), table("operation", OPERATIONS))
    assert unreadable.value.reason.startswith(reason)


def test_the_reason_names_headings_and_never_a_cell_below_them():
    with pytest.raises(UnreadableUpload) as unreadable:
        laid_out(
            sheet(["Numero", "Eye", "Op"], ["Ardea Heron", "OD", DAY]),
            table("operation", OPERATIONS),
        )
    assert "Heron" not in unreadable.value.reason


# What no crosswalk names


def test_sheets_and_columns_that_no_crosswalk_names_are_listed_by_heading_alone():
    log = sheet([*HEADINGS, "Phone", None], [*ONE, "555 0142", "loose"])
    layout = laid_out(
        [log, sheet(["x"], name="Scratch"), sheet(name="Empty")],
        table("operation", OPERATIONS, sheet="log"),
    )
    assert layout.unread.astype(object).where(layout.unread.notna(), None).values.tolist() == [
        [UPLOAD, "Log", "D1", "Phone"],
        [UPLOAD, "Scratch", None, None],
    ]
    assert "555 0142" not in str(layout.unread.values)
    assert set(layout.records.cells["value"]) == set(ONE)


def test_a_sheet_is_found_whatever_the_case_of_its_name_and_missed_by_name():
    log = sheet(HEADINGS, ONE, name=" SURGERY  log")
    assert (
        len(laid_out(log, table("operation", OPERATIONS, sheet="Surgery log")).records.index) == 1
    )
    with pytest.raises(UnreadableUpload, match="the sheet 'Theatre' is not in the workbook"):
        laid_out(log, table("operation", OPERATIONS, sheet="Theatre"))


def test_a_text_file_has_one_sheet_whatever_the_crosswalk_calls_it():
    text = {UPLOAD: ("cases.csv", Workbook((sheet(HEADINGS, ONE, name="csv"),), "csv"))}
    layout = lay_out(text, crosswalk(table("operation", OPERATIONS, sheet="Log")))
    assert rows_and_anchors(layout) == [("operation", 2, "A2")]


def test_each_file_is_read_by_the_tables_that_are_for_it():
    files = {
        "u1": ("Theatre 47.xlsx", Workbook((sheet(HEADINGS, ONE),), "xlsx")),
        "u2": ("clinic.xlsx", Workbook((sheet(["No", "Eye", "Seen"], ONE, TWO),), "xlsx")),
    }
    walk = crosswalk(
        table("operation", OPERATIONS, file="theatre*"), table("visit", VISITS, file="clinic*")
    )
    index = lay_out(files, walk).records.index
    assert list(zip(index["upload"], index["kind"], strict=True)) == [
        ("u1", "operation"), ("u2", "visit"), ("u2", "visit"),
    ]  # fmt: skip
    assert index.index.to_list() == [0, 1, 2]
    with pytest.raises(UnreadableUpload, match="no table of the crosswalk is for a file"):
        lay_out(sent(sheet(HEADINGS, ONE), name="other.xlsx"), walk)


# Rows


@pytest.mark.parametrize(
    ("row", "is_record"),
    [
        (ONE, True),
        (["A-1", None, None], True),
        ([None, "OD", DAY, 61.0], True),
        ([None, "OD", DAY], False),
        ([None, None, "no data yet"], False),
        (["Total", 12.0, None, 61.0], False),
        (["Summe", None, None, 61.0], False),
        (["Mean (SD)", None, None, 61.0], False),
        ([None, "Moyenne", 3.0, 61.0], False),
        (["n = 12"], False),
        (["Total", "OD", DAY, 61.0], False),
    ],
    ids=str,
)
def test_totals_legends_and_notes_are_left_out_and_told(row, is_record):
    layout = laid_out(
        sheet([*HEADINGS, "Age"], row), table("operation", {**OPERATIONS, "age": "Age"})
    )
    assert len(layout.records.index) == is_record
    first = next("ABCD"[place] for place, value in enumerate(row) if value is not None)
    assert told(layout.findings) == ([] if is_record else [("row_left_out", f"{first}2")])


def test_blank_rows_are_nothing_and_rows_after_them_still_count():
    layout = laid_out(sheet(HEADINGS, ONE, [], [" "], TWO), table("operation", OPERATIONS))
    assert rows_and_anchors(layout) == [("operation", 2, "A2"), ("operation", 5, "A5")]
    assert told(layout.findings) == []


@pytest.mark.parametrize("number", ["MAX-0412", "MIN 7"])
def test_a_record_number_that_begins_like_a_total_is_a_record_number(number):
    layout = laid_out(sheet(HEADINGS, [number, "OD", DAY]), table("operation", OPERATIONS))
    assert rows_and_anchors(layout) == [("operation", 2, "A2")]


def test_a_patient_whose_name_begins_like_a_total_is_a_record():
    named = sheet(["Name", *HEADINGS], ["Max Reiher", *ONE])
    layout = laid_out(named, table("operation", OPERATIONS))
    assert rows_and_anchors(layout) == [("operation", 2, "B2")]


def test_rows_are_sorted_by_their_mapped_cells():
    values = sheet(["A-1", None, None], [None, "x", "y"], [None, None, None]).values
    body = Body(values, values.notna(), {})
    found = sort_rows(body, mapped=[1, 2, 3], record_number=1, identifying=[1, 2])
    assert (found.records, found.left_out) == ([1], {2: 2})


def test_hidden_rows_are_read_and_told():
    hidden = sheet(HEADINGS, ONE, TWO, ["Total", 2.0], hidden_rows=[3, 4])
    layout = laid_out(hidden, table("operation", OPERATIONS))
    assert layout.records.index["is_hidden"].to_list() == [False, True]
    assert told(layout.findings) == [("row_hidden", "A3"), ("row_left_out", "A4")]


# Cells


def test_every_mapped_cell_has_its_address_and_its_typed_value():
    moved = sheet(["x"], [], [None, "Op", "Age", "Eye", "No"], [None, DAY, 61.5, "OD", 7.0])
    layout = laid_out(moved, table("operation", {**OPERATIONS, "age": "Age"}))
    cells = layout.records.cells
    assert {
        field: (cell, value)
        for field, cell, value in zip(cells["field"], cells["cell"], cells["value"], strict=True)
    } == {
        "patient_id": ("E4", 7.0), "eye": ("D4", "OD"), "operation_date": ("B4", DAY),
        "age": ("C4", 61.5),
    }  # fmt: skip


@pytest.mark.parametrize("word", ["NA", "na", " n/a ", "999", 999.0, "", "  "])
def test_the_centres_words_for_missing_are_empty_cells(word):
    layout = laid_out(
        sheet([*HEADINGS, "Age"], [*ONE, word]),
        table("operation", {**OPERATIONS, "age": "Age"}),
        missing=["NA", "n/a", "999"],
    )
    assert of_field(layout, "age") == {"D2": None}


def test_words_for_missing_are_those_of_the_centre_alone():
    layout = laid_out(
        sheet([*HEADINGS, "Age"], [*ONE, "NA"]), table("operation", {**OPERATIONS, "age": "Age"})
    )
    assert of_field(layout, "age") == {"D2": "NA"}


def test_error_cells_and_formulas_without_a_result_are_no_silent_gaps():
    broken = sheet(
        [*HEADINGS, "Age"], [*ONE, None], [*TWO, None], errors={(2, 4): "#REF!"}, uncached=[(3, 4)]
    )
    layout = laid_out(broken, table("operation", {**OPERATIONS, "age": "Age"}))
    assert of_field(layout, "age") == {"D2": "#REF!", "D3": "#NOT STORED!"}


def test_a_constant_stands_in_every_record_and_in_no_cell():
    fields = {**OPERATIONS, "technique": {"constant": "amniotic membrane"}}
    layout = laid_out(sheet(HEADINGS, ONE, TWO), table("operation", fields))
    cells = layout.records.cells.query("field == 'technique'")
    assert cells["value"].to_list() == ["amniotic membrane"] * 2
    assert cells["cell"].isna().all()


# Several records in a row

BOTH_EYES = table(
    "patient",
    {"patient_id": "No", "age": "Age"},
    eyes=[
        {"eye": "right", "operation_date": "Op R", "visits": [{"at": "m3", "closure": "OCT R"}]},
        {"eye": "left", "operation_date": "Op L", "visits": [{"at": "m3", "closure": "OCT L"}]},
    ],
)
BOTH_HEADINGS = ["No", "Age", "Op R", "OCT R", "Op L", "OCT L"]


def test_a_row_of_both_eyes_holds_the_operations_of_the_eyes_that_have_any():
    layout = laid_out(
        sheet(
            BOTH_HEADINGS,
            ["A-1", 61.0, DAY, "closed", DAY, "open"],
            ["A-2", 62.0, None, None, DAY, None],
        ),
        BOTH_EYES,
    )
    records = layout.records
    index = records.index
    assert rows_and_anchors(layout) == [
        ("operation", 2, "A2"), ("visit", 2, "A2"),
        ("operation", 2, "A2"), ("operation", 3, "A3"), ("visit", 2, "A2"),
    ]  # fmt: skip
    assert index["parent"].astype(object).where(index["parent"].notna(), None).to_list() == [
        None, 0, None, None, 2,
    ]  # fmt: skip
    assert {
        record: (value, cell_values(records)[record, "age"])
        for (record, field), value in cell_values(records, "operation").items()
        if field == "eye"
    } == {0: ("right", 61.0), 2: ("left", 61.0), 3: ("left", 62.0)}


def test_a_patient_of_whom_neither_eye_has_anything_is_told():
    row = ["A-1", 61.0, None, None, None, None]
    layout = laid_out(sheet(BOTH_HEADINGS, row), BOTH_EYES)
    assert len(layout.records.index) or told(layout.findings), "the row vanished without a word"


IN_COLUMNS = table(
    "operation",
    OPERATIONS,
    visits=[
        {"at": "baseline", "acuity": {"heading": "VA pre", "notation": "decimal"}},
        {"at": "m3", "date": "Seen", "closure": "OCT"},
    ],
)
COLUMN_HEADINGS = [*HEADINGS, "VA pre", "Seen", "OCT"]


def test_visits_in_columns_hang_on_the_operation_of_their_row():
    layout = laid_out(
        sheet(
            COLUMN_HEADINGS,
            [*ONE, 0.1, DAY, "closed"],
            [*TWO, None, None, "open"],
            ["A-3", "OD", DAY, None, None, None],
        ),
        IN_COLUMNS,
    )
    visits = layout.records.index.query("kind == 'visit'")
    assert list(zip(visits["row"], visits["at"], visits["parent"], strict=True)) == [
        (2, "baseline", 0), (2, "m3", 0), (3, "m3", 1),
    ]  # fmt: skip
    assert visits.index.is_unique
    assert set(cell_values(layout.records, "visit").values()) == {0.1, DAY, "closed", "open"}


def test_complications_have_their_own_sheet():
    events = sheet(["No", "Eye", "Event"], ["A-1", "OD", "RD"], name="Events")
    layout = laid_out(
        [sheet(HEADINGS, ONE), events],
        table("operation", OPERATIONS, sheet="Log"),
        table("complication", COMPLICATIONS, sheet="Events"),
    )
    assert rows_and_anchors(layout) == [("operation", 2, "A2"), ("complication", 2, "A2")]
    assert layout.records.index["sheet"].to_list() == ["Log", "Events"]


def test_of_merged_cells_that_lie_over_each_other_the_upper_counts():
    rows = ["A-1", "OD", DAY], [None, "OS", DAY], [None, "OD", DAY]
    both = sheet(HEADINGS, *rows, merged=[(3, 1, 4, 1), (2, 1, 3, 1)])
    assert of_field(laid_out(both, table("operation", OPERATIONS)), "patient_id") == {"A2": "A-1"}
