"""Drafts of crosswalks as a whole: what stands in the end, what is left to people, and tables."""

import datetime as dt
import tomllib
from collections import defaultdict

import pytest
from crosswalk_entries import entries
from drafted_centres import CENTRES
from drafts import LATEST, ROWS, lines_of, operations, proposal_of
from hypothesis import given, settings
from hypothesis import strategies as st
from upload_sheets import sheet

from schemas.crosswalk import Crosswalk
from transforms.draft import USUAL_WINDOWS, draft, toml_of
from transforms.draft.file_patterns import file_patterns
from transforms.layout.headings import heading_form

# Whole drafts


@pytest.mark.parametrize("name", CENTRES)
def test_invented_centres_are_drafted_rightly_too_and_nothing_wrongly(name):
    centre = CENTRES[name]
    proposal = draft(centre.workbooks(), name, USUAL_WINDOWS, None, LATEST)
    found = entries(Crosswalk.model_validate(tomllib.loads(toml_of(proposal))))
    right = found & centre.entries()
    share = len(right) / len(centre.entries())
    figure = f"{len(right)} of {len(centre.entries())} ({share:.0%}), {len(found - right)} wrong"
    print(f"\ndraft {name}: {figure}")  # noqa: T201  the figure is asked for
    assert found - right == set()
    assert share >= centre.least_share
    assert (proposal.language.value, proposal.dates.value, proposal.decimal.value) == (
        centre.language, centre.dates, centre.decimal,
    )  # fmt: skip


def test_the_stated_confidence_is_no_more_than_what_is_right():
    stated = defaultdict(list)
    for name, centre in CENTRES.items():
        right = {(entry[3], entry[4]) for entry in centre.entries()}
        for table in draft(centre.workbooks(), name, USUAL_WINDOWS, None, LATEST).tables:
            for _, _, line, stands in table.placed():
                is_right = (line.field, heading_form(line.heading)) in right
                stated[stands].append((line.confidence, is_right))
    mean, share = (sum(column) / len(stated[True]) for column in zip(*stated[True], strict=True))
    figure = f"{len(stated[True])} lines stand: stated {mean:.1%}, right {share:.1%}"
    below = f"{sum(is_right for _, is_right in stated[False])} of {len(stated[False])}"
    print(f"\n{figure}; of the comments {below} are right")  # noqa: T201  the figure is asked for
    assert share >= mean


@pytest.mark.parametrize("name", CENTRES)
def test_no_text_of_a_patient_or_a_surgeon_stands_in_a_draft(name):
    centre = CENTRES[name]
    text = toml_of(draft(centre.workbooks(), name, USUAL_WINDOWS, None, LATEST))
    identifying = {
        str(cell)
        for tables in centre.files.values() for table in tables for column in table.columns
        for cell in column.cells
        if column.field in ("patient_id", "surgeon", "birth_date", "operation_date", "visit_date")
        or column.joined.split()[-1] in ("Nom", "name", "Nachname")
    }  # fmt: skip
    assert {value for value in identifying if len(value) > 2 and value in text} == set()
    assert "Ravelange" not in text  # in a file's name


@settings(max_examples=80, deadline=None)
@given(
    st.lists(
        st.one_of(
            st.sampled_from(["MRN", "Eye", "Date of surgery", "VA 3m", "MLD (mm)", "Tamponade"]),
            st.sampled_from(["OD date of surgery", "OS date of surgery", "OD technique",
                             "OS technique", "OD MRN", "OS VA 3m", "Eye 3m", "OD Tamponade"]),
            st.text(max_size=12),
        ),
        min_size=1, max_size=9,
    ),
    st.text(min_size=1, max_size=9),
    st.lists(st.one_of(st.none(), st.text(max_size=6), st.floats(), st.dates()), min_size=1),
)  # fmt: skip
def test_whatever_stands_in_a_workbook_the_draft_is_toml_and_what_is_certain_a_crosswalk(
    headings, name, cells
):
    usual = {"MRN": "H1", "Eye": "OD", "Date of surgery": dt.date(2024, 3, 1)}
    body = [
        [usual.get(heading, dt.date(2024, 3, 1 + row) if "date" in heading else
                   cells[(row + column) % len(cells)]) for column, heading in enumerate(headings)]
        for row in range(4)
    ]  # fmt: skip
    proposal = proposal_of(sheet(headings, *body, name=name))
    content = tomllib.loads(toml_of(proposal))
    if any(table.is_certain for table in proposal.tables):
        Crosswalk.model_validate(content)
    else:
        assert "table" not in content


def both_eyes(left_date):
    head = ["MRN", "OD date of surgery", "OD technique", "OS date of surgery", "OS technique",
            "VA 3m", "OS VA 3m", "OD MRN", "Side"]  # fmt: skip
    rows = [
        [f"H{n}", dt.date(2024, 1, 1 + n), "ART", left_date, "ART", "20/40", "20/50", f"H{n}", "OD"]
        for n in range(ROWS)
    ]
    return proposal_of(sheet(head, *rows))


def test_a_visit_in_a_row_of_both_eyes_is_of_the_eye_that_its_heading_names():
    proposal = both_eyes(dt.date(2024, 5, 1))
    table = Crosswalk.model_validate(tomllib.loads(toml_of(proposal))).tables[0]
    assert [(eye.eye, [visit.at for visit in eye.visits]) for eye in table.eyes] == [
        ("right", []), ("left", ["m3"]),
    ]  # fmt: skip
    assert ("VA 3m", "F1") in proposal.tables[0].unread


def test_an_eye_without_a_certain_date_of_operation_is_a_comment():
    text = toml_of(both_eyes("after Easter"))
    table = Crosswalk.model_validate(tomllib.loads(text)).tables[0]
    assert [eye.eye for eye in table.eyes] == ["right"]
    assert '#   eye = "left"' in text


def test_a_table_in_a_file_whose_name_tells_nothing_is_a_comment_and_says_so():
    text = toml_of(proposal_of(Alix=operations(), Corven=operations(Age=[70])))
    assert "table" not in tomllib.loads(text)
    assert "no words of its file's name tell it from the other files" in text


def test_a_heading_with_a_control_character_in_it_makes_no_invalid_comment():
    text = toml_of(proposal_of(operations(**{"Tamponade": ["SF6"], "Tamp\x07": ["air"]})))
    assert "fits as well" in text
    assert tomllib.loads(text)


def test_a_table_without_a_certain_record_number_is_a_comment_and_says_so():
    rows = [["red", "OD", dt.date(2024, 1, 1 + n), "ART", "SF6"] for n in range(9)]
    text = toml_of(proposal_of(sheet(["Who", "Eye", "Op date", "Technique", "Tamp"], *rows)))
    assert "table" not in tomllib.loads(text)
    assert "no heading is certain to be patient_id" in text
    assert '#   operation_date = "Op date"' in text


def test_headings_that_are_not_read_and_sheets_without_a_table_are_listed_by_cell_and_name():
    first = operations(Notes=["x"], Zorb=[1])
    text = toml_of(proposal_of(first, sheet(["Colour", "Meaning"], ["red", "late"], name="Key")))
    assert '# not read: "Notes" (D1)' in text
    assert '# not read: "Zorb" (E1)' in text
    assert '#   "Key": no row has three headings that are known' in text


def test_fields_that_the_codebook_asks_for_and_no_heading_names_are_listed():
    table = proposal_of(operations(Technique=["ART"])).tables[0]
    assert table.asked_for == [
        "hole_min_diameter", "graft_diameter", "tamponade", "tamponade_pct"
    ]  # fmt: skip
    assert "graft_size_reference" in table.possible


# What is left to people


@pytest.mark.parametrize(
    ("row", "cells", "field"),
    [
        ("operation", ["SF6", "silicone oil", "C3F8 14%"], "tamponade"),
        ("operation", ["ART", "amniotic membrane", "ILM free flap"], "technique"),
        ("visit", ["20/40", "20/200", "20/63"], "acuity"),
    ],
)
def test_values_alone_suggest_a_field_and_make_none_certain(row, cells, field):
    more = {"visit": {"Visit_date": [dt.date(2024, 9, 3)], "IOP": [14, 15], "ELM": ["absent"]}}
    line = lines_of(proposal_of(operations(Zorb=cells, **more.get(row, {}))))["Zorb"]
    assert (line.field, line.is_certain) == (field, False)


def test_two_headings_that_say_the_same_leave_the_choice_to_people():
    lines = lines_of(proposal_of(operations(Tamponade=["SF6"], Tamp=["air"])))
    assert "'Tamp' fits as well" in lines["Tamponade"].reason
    assert not lines["Tamponade"].is_certain


def test_of_two_headings_the_one_that_says_more_is_taken():
    lines = lines_of(proposal_of(operations(Date=[dt.date(2024, 5, 5)])))
    assert lines["Date of surgery"].is_certain
    assert "Date" not in lines


def test_a_heading_that_stands_twice_is_not_certain():
    two = sheet(
        ["MRN", "Eye", "Op date", "IOL", "Tamponade", "Tamponade"],
        *([f"H{n}", "OD", dt.date(2024, 1, 1 + n), "x", "SF6", "air"] for n in range(ROWS)),
    )
    line = lines_of(proposal_of(two))["Tamponade"]
    assert not line.is_certain
    assert "another column has the same heading" in line.reason


def test_values_that_no_reader_takes_keep_a_listed_heading_from_being_certain():
    lines = lines_of(proposal_of(operations(Age=["adult", "old", "young"])))
    assert not lines["Age"].is_certain


def test_a_visit_that_no_window_holds_is_a_comment():
    proposal = proposal_of(operations(VA_24m=["20/40", "20/50"], VA_3m=["20/40", "20/50"]))
    read = tomllib.loads(toml_of(proposal))["table"][0]["visits"]
    assert [visit["at"] for visit in read] == ["m3"]
    assert "24 months, day 730, which no window of the study holds" in toml_of(proposal)


def test_a_visit_without_a_window_stands_where_its_date_says_when():
    days = [dt.date(2024, 9, 1 + n) for n in range(ROWS)]
    proposal = proposal_of(operations(V1_date=days, V1_VA=["20/40", "20/50"], V2_VA=["20/40"]))
    visits = tomllib.loads(toml_of(proposal))["table"][0]["visits"]
    assert [visit["date"] for visit in visits] == ["V1 date"]


def test_rows_that_repeat_an_operation_are_its_visits():
    head = ["MRN", "Eye", "Date of surgery", "Technique", "Tamponade", "Visit date", "VA"]
    rows = [
        [f"H{n // 4}", "OD", dt.date(2024, 1, 1 + n // 4), "ART", "SF6", dt.date(2024, 6, 1 + n),
         "20/40"]
        for n in range(ROWS)
    ]  # fmt: skip
    assert proposal_of(sheet(head, *rows)).tables[0].row == "visit"


# Tables


def test_tables_one_below_the_other_in_a_sheet_are_both_found():
    head = ["MRN", "Eye", "Date of surgery", "Technique"]
    rows = [[f"H{n}", "OD", dt.date(2024, 1, 1 + n), "ART"] for n in range(6)]
    below = [["MRN", "Eye", "Complication", "Back to theatre"], ["H1", "OD", "cataract", "no"],
             ["H2", "OD", "retinal detachment", "yes"]]  # fmt: skip
    proposal = proposal_of(sheet(head, *rows, [], ["Complications"], *below))
    assert [(table.row, table.header) for table in proposal.tables] == [
        ("operation", (1,)), ("complication", (10,)),
    ]  # fmt: skip


def test_names_of_groups_that_stand_over_their_first_column_alone_count_on_to_the_right():
    groups = ["MRN", "Eye", "Date of surgery", "3 months", None, "12 months", None]
    below = [None, None, None, "VA", "OCT", "VA", "OCT"]
    rows = [
        [f"H{n}", "OD", dt.date(2024, 1, 1 + n), "20/40", "closed", "20/50", "open"]
        for n in range(6)
    ]
    table = proposal_of(sheet(groups, below, *rows)).tables[0]
    assert [(v.at, [line.heading for line in v.lines]) for v in table.visits] == [
        ("m3", ["3 months VA", "3 months OCT"]), ("m12", ["12 months VA", "12 months OCT"]),
    ]  # fmt: skip


def test_a_row_of_units_says_units_and_notations():
    head = ["MRN", "Eye", "Date of surgery", "MLD", "VA 3m"]
    rows = [[f"H{n}", "OD", dt.date(2024, 1, 1 + n), 0.4 + n / 10, 0.4] for n in range(6)]
    units = [None, None, "dd/mm/yyyy", "(mm)", "logMAR"]
    lines = lines_of(proposal_of(sheet(head, units, *rows)))
    assert (lines["MLD"].source.unit, lines["MLD"].is_certain) == ("mm", True)
    assert (lines["VA 3m"].source.notation, lines["VA 3m"].is_certain) == ("logmar", True)


def test_a_table_beside_another_in_a_sheet_is_one_of_its_own():
    head = ["MRN", "Eye", "Date of surgery", "Technique", None, "MRN", "Eye", "Complication"]
    rows = [
        [f"H{n}", "OD", dt.date(2024, 1, 1 + n), "ART", None, f"H{n}", "OD", "cataract"]
        for n in range(6)
    ]
    assert [t.row for t in proposal_of(sheet(head, *rows)).tables] == ["operation", "complication"]


@pytest.mark.parametrize("merged", [[], [(3, 5, 3, 6), (3, 7, 3, 8)]])
def test_groups_that_stand_over_the_visits_alone_belong_to_their_headings(merged):
    """A group that begins with a figure, "3 Monate", is a heading like any other."""
    head = ["Fallnummer", "Auge", "OP-Datum", "Operation", "Visus", "OCT", "Visus", "OCT"]
    rows = [
        [f"P{n}", "RA", dt.date(2025, 3, 1 + n), "Amnion", "0,1", "offen", "0,3", "geschlossen"]
        for n in range(8)
    ]
    groups = [None] * 4 + ["präop", None, "3 Monate"]
    of = sheet(["Augenklinik"], [], groups, head, *rows, merged=merged)
    (table,) = proposal_of(of).tables
    said = toml_of(proposal_of(of))
    assert table.row == "operation"
    for heading in ("präop Visus", "präop OCT", "3 Monate Visus", "3 Monate OCT"):
        assert f'"{heading}"' in said


def test_headings_that_are_said_again_begin_no_new_table():
    head = ["MRN", "Eye", "Date of surgery", "Technique"]
    rows = [[f"H{n}", "OD", dt.date(2024, 1, 1 + n), "ART"] for n in range(6)]
    later = [[f"G{n}", "OS", dt.date(2025, 1, 1 + n), "ART"] for n in range(6)]
    tables = proposal_of(sheet(head, *rows, head, *later)).tables
    assert [table.row for table in tables] == ["operation"]


def test_words_and_numbers_for_missing_are_found_where_they_cannot_be_values():
    proposal = proposal_of(
        operations(Age=[71, 64, 999], MLD=[420, 999, 610], Sex=["F", "n/a", "M"])
    )
    assert proposal.missing == {"n/a": 4}  # a hole can be 999 µm wide
    proposal = proposal_of(operations(Age=[71, 64, 999, 58, 66, 80]))
    assert proposal.missing == {"999": 1}


@pytest.mark.parametrize(
    ("names", "patterns"),
    [
        (["operations.csv", "follow up.csv"], {"operations.csv": "operations*",
                                              "follow up.csv": "follow up*"}),
        (["Follow up - Alix Corven.xlsx", "Operations 2026-W47.xlsx"],
         {"Follow up - Alix Corven.xlsx": "Follow up*",
          "Operations 2026-W47.xlsx": "Operations*"}),
        (["Corven.xlsx", "Alix.csv"], {"Corven.xlsx": "*.xlsx", "Alix.csv": "*.csv"}),
        (["Corven.xlsx", "Alix.xlsx"], {}),
        (["one.xlsx"], {}),
    ],
)  # fmt: skip
def test_files_are_told_apart_by_words_that_name_no_one(names, patterns):
    assert file_patterns(names, names) == patterns
