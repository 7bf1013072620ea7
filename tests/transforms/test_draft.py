"""Drafts of crosswalks: what a heading says, what values say, and what stands in the end."""

import datetime as dt
import tomllib
from collections import defaultdict

import pytest
from crosswalk_entries import entries
from drafted_centres import CENTRES
from hypothesis import given, settings
from hypothesis import strategies as st
from upload_sheets import sheet

from schemas.codebook import upload_fields
from schemas.crosswalk import Crosswalk
from schemas.vocabulary import normal_form
from transforms.draft import CONFIDENCE_LIMIT, USUAL_WINDOWS, draft, toml_of
from transforms.draft.column_values import column_values, unit_of
from transforms.draft.file_patterns import file_patterns
from transforms.draft.habits import date_order, decimal_mark
from transforms.draft.heading_fields import fields_named
from transforms.draft.heading_parts import ways_to_read
from transforms.draft.notation_words import ANY_LETTERS, letters_at_distance, said_by
from transforms.draft.notations import notation_of
from transforms.layout.headings import heading_form
from transforms.reading import Workbook

LATEST = dt.date(2026, 11, 22)
ROWS = 12
NONE = frozenset()


def proposal_of(*sheets, **files):
    books = {f"{name}.xlsx": Workbook((each,), "xlsx") for name, each in files.items()}
    books = books or {"file.xlsx": Workbook(sheets, "xlsx")}
    return draft(books, "heron", USUAL_WINDOWS, None, LATEST)


def operations(**more):
    """A sheet of operations that is certain, with more columns by heading."""
    columns = {
        "MRN": [f"H{n}" for n in range(ROWS)],
        "Eye": ["OD", "OS"] * 6,
        "Date of surgery": [dt.date(2024, 3, 1 + n) for n in range(ROWS)],
        **{heading.replace("_", " "): cells for heading, cells in more.items()},
    }
    return sheet(list(columns), *([c[n % len(c)] for c in columns.values()] for n in range(ROWS)))


def lines_of(proposal):
    """Every line by heading."""
    return {each.line.heading: each.line for table in proposal.tables for each in table.placed()}


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


# What a heading says


@pytest.mark.parametrize(
    ("heading", "language", "core", "time", "eye", "unit"),
    [
        ("AV 3m", "es", "av", "3 months", None, None),
        ("VA 3/12", "en", "va", "3 months", None, None),
        ("BCVA 1y", "en", "bcva", "1 year", None, None),
        ("6 Monate Visus", "de", "visus", "6 months", None, None),
        ("Acuité à 12 mois", "fr", "acuite", "12 months", None, None),
        ("AV a los 6 meses", "es", "av", "6 months", None, None),
        ("M6 OCT", "en", "oct", "6 months", None, None),
        ("VA 6 weeks post op", "en", "va", "6 weeks", None, None),
        ("VA J8", "fr", "va", "8 days", None, None),
        ("V2 letters", "en", "letters", "visit 2", None, None),
        ("Pre-op VA", "en", "va", "baseline", None, None),
        ("Final VA", "en", "va", "last", None, None),
        ("Œil droit Date", "fr", "date", None, "right", None),
        ("OP-Datum LA", "de", "op datum", None, "left", None),
        ("OS IOP 3m", "en", "iop", "3 months", "left", None),
        ("MLD (mm)", "en", "mld", None, None, "mm"),
        ("MLD [µm]", "en", "mld", None, None, "µm"),
        ("Graft mm", "en", "graft", None, None, "mm"),
        ("graft_mm", "en", "graft", None, None, "mm"),
        ("BCEA (deg^2)", "en", "bcea", None, None, "deg^2"),
        ("D.O.B.", "en", "dob", None, None, None),
        ("Closed (Y/N)", "en", "closed", None, None, None),
        ("# of PPVs", "en", "no of ppvs", None, None, None),
    ],
)
def test_headings_are_taken_apart(heading, language, core, time, eye, unit):
    ways = ways_to_read(heading, language, with_time=True, with_eye=True)
    found = {(way.core, way.time and way.time.label, way.eye, way.unit) for way in ways}
    assert (core, time, eye, unit) in found


@pytest.mark.parametrize("heading", ["VA 3-6 months", "10-2 mean", "Symptoms (months)", "P1 (%)"])
def test_headings_that_name_no_one_visit_are_of_none(heading):
    ways = ways_to_read(heading, "en", with_time=True, with_eye=False)
    assert [way for way in ways if way.time] == []


@pytest.mark.parametrize(
    ("core", "kind", "language", "field"),
    [
        ("no historia", "operation", "es", "patient_id"),
        ("patient fallnummer", "operation", "de", "patient_id"),
        ("date of macular surgery", "operation", "en", "operation_date"),
        ("tamponde", "operation", "en", "tamponade"),
        ("diameter of hole minimum", "operation", "en", "hole_min_diameter"),
        ("best corrected visual acuity letters", "visit", "en", "acuity"),
        ("lens status", "visit", "es", "lens_status"),
    ],
)
def test_a_heading_names_its_field_in_its_own_words_among_others_or_misspelt(
    core, kind, language, field
):
    best = max(fields_named(core, kind, language).values(), key=lambda named: named.score)
    assert (best.field, best.score >= CONFIDENCE_LIMIT) == (field, True)


@pytest.mark.parametrize(
    ("core", "kind"),
    [
        ("fellow eye va", "visit"), ("uncorrected va", "visit"), ("target iop", "visit"),
        ("planned graft diameter", "operation"), ("age at diagnosis", "operation"),
        ("date of first surgery", "operation"), ("previous tamponade", "operation"),
        ("patient name", "operation"), ("gas", "operation"), ("ring 12 p1", "visit"),
        ("reoperation date", "operation"), ("p1 amplitude", "visit"), ("max diameter", "operation"),
    ],
)  # fmt: skip
def test_a_word_that_changes_what_is_measured_keeps_a_heading_from_being_certain(core, kind):
    named = fields_named(core, kind, "en").values()
    assert [each for each in named if each.score >= CONFIDENCE_LIMIT] == []


# What values say


LETTERS = [35.0, 48.0, 61.0, 2.0, 55.0, 60.0]


@pytest.mark.parametrize(
    ("heading", "said"),
    [
        ("BCVA", None), ("BCVA logMAR", "logmar"), ("Visus dezimal", "decimal"),
        ("VA letters", ANY_LETTERS), ("AV letras", ANY_LETTERS),
        ("ETDRS", "letters"), ("lettres ETDRS", "letters"), ("ETDRS letter score", "letters"),
        ("Letters (20/20 = 85)", "letters"), ("letters, 20/20 = 100", "letters_100"),
        ("VA logMAR (from letters)", None),
    ],
)  # fmt: skip
def test_a_heading_names_the_scale_of_letters_or_leaves_it_open(heading, said):
    assert said_by(heading) == said


@pytest.mark.parametrize(
    ("heading", "bare", "notation"),
    [
        ("V4 letters 4 m", "v4 letters", "letters_4m"),
        ("ETDRS at 1 m", "etdrs", "letters_1m"),
        ("Buchstaben in 4m", "buchstaben", "letters_4m"),
    ],
)
def test_letters_may_be_of_the_distance_that_their_heading_names(heading, bare, notation):
    found, at_distance = letters_at_distance(heading)
    assert (normal_form(found), at_distance) == (bare, notation)


@pytest.mark.parametrize("heading", ["VA 4 m", "letters 3m", "ETDRS m4"])
def test_other_acuities_and_other_distances_are_none_of_letters(heading):
    assert letters_at_distance(heading) is None


@pytest.mark.parametrize(
    ("said", "values", "notation", "is_certain"),
    [
        (None, ["20/40", "20/200", "CF", "20/63-2"], "snellen_feet", True),
        (None, ["6/12", "6/60", "3/60", "HM"], "snellen_metres", True),
        (None, ["5/10", "1/20", "1,6/10"], "decimal", True),
        (None, ["6/12", "20/40"], "snellen_metres", True),  # the quotient is the same
        (None, ["20/40", "20/60", "20/80", "20/100", 0.5], "snellen_feet", True),
        (None, ["20/40", "20/60", 0.5], "snellen_feet", False),
        (None, ["5/10", "1/20", 0.3], "decimal", False),  # 0.3 may be logMAR
        (None, ["120/80", "135/85", "142/91", "118/77"], "snellen_metres", False),
        (None, ["0,125", "0,32", "0,03", "0,4"], "decimal", True),
        (None, ["0,125", "0,32", "0,05", "0,4"], "decimal", False),  # one tells, two must
        (None, [0.02, 0.04, 0.06, 0.08, 0.16, 0.22, 0.3, 0.4], "decimal", False),  # or letters
        (None, [0.05, 0.15, 0.25, 0.35, 0.45], "decimal", False),  # or half lines of logMAR
        (None, [-0.1, 0.88, 1.34, 0.42], "logmar", True),
        (None, [1.54, 0.86, 1.3, 2.0, 0.42], "logmar", False),
        ("logmar", [0.02, 0.04, 0.06, 0.08, 0.16], "logmar", True),
        ("decimal", [0.02, 0.04, 0.06, 0.08, 0.16], "decimal", True),
        ("logmar", [0.03, 0.125, 0.63, 0.4], "decimal", False),
        (None, LETTERS, "letters", False),  # 20/20 may be 85 or 100
        (ANY_LETTERS, LETTERS, "letters", False),
        (ANY_LETTERS, [*LETTERS, 104.0], "letters_100", False),
        (ANY_LETTERS, [], "letters", False),
        ("letters", LETTERS, "letters", True),
        ("letters", [*LETTERS, 104.0], "letters_100", False),
        ("letters_100", [*LETTERS, 104.0], "letters_100", True),
        ("letters_4m", LETTERS, "letters_4m", False),
        ("letters", ["20/40", "20/60"], "snellen_feet", False),
        (None, [0.4, 0.5, 1.0, 0.2], "decimal", False),
        ("logmar", [0.4, 0.5, 1.0, 0.2], "logmar", True),
        ("logmar", ["20/40", "20/60"], "snellen_feet", False),
        ("letters", [], "letters", True),
        ("letters_4m", [], "letters_4m", False),
    ],
)
def test_the_notation_is_told_from_values_and_heading(said, values, notation, is_certain):
    found = notation_of(said, [column_values(values, NONE)])
    assert (found.notation, found.is_certain) == (notation, is_certain)


@pytest.mark.parametrize(
    ("field", "said", "values", "unit", "is_certain"),
    [
        ("hole_min_diameter", None, [320.0, 980.0], "um", True),
        ("hole_min_diameter", None, [0.32, 0.98], "mm", False),  # or disc diameters
        ("hole_min_diameter", None, ["320 µm", "410 µm", "500 µm", "610 µm", 530], "um", True),
        ("hole_min_diameter", "mm", [0.32, 0.98], "mm", True),
        ("hole_min_diameter", "dd", [0.32, 0.98], "dd", True),
        ("hole_duration", None, [3.0, 14.0], None, False),  # weeks, months or years
        ("hole_duration", "weeks", [3.0, 14.0], "week", True),
        ("axial_length", None, [23.5, 31.0], None, True),
        ("tamponade_pct", None, [0.14, 0.2], "fraction", True),
    ],
)  # fmt: skip
def test_the_unit_is_told_from_heading_cells_or_range(field, said, values, unit, is_certain):
    asked = upload_fields("operation")[field]
    found = unit_of(asked, said, "heading", column_values(values, NONE))
    assert (found.unit, found.is_certain) == (unit, is_certain)


def test_a_heading_with_a_unit_that_the_field_cannot_have_is_not_of_the_field():
    asked = upload_fields("visit")["mferg_ring1_p1"]
    assert unit_of(asked, "ms", "heading", column_values([40.0], NONE)) is None


@pytest.mark.parametrize(
    ("texts", "order", "is_shown"),
    [
        (["27/05/2024", "03/04/2024"], "day-first", True),
        (["05/27/2024", "03/04/2024"], "month-first", True),
        (["2024-05-27"], "year-first", True),
        (["27.05.24", "2024-05-27"], "day-first", True),
        (["03/04/2024"], "day-first", False),
        ([], "day-first", False),
        (["27/05/2024", "05/27/2024"], "day-first", False),
    ],
)
def test_the_order_of_dates_is_told_from_days_above_twelve(texts, order, is_shown):
    found = date_order(texts)
    assert (found.value, found.is_shown) == (order, is_shown)


@pytest.mark.parametrize(
    ("texts", "language", "mark", "is_shown"),
    [
        (["0,45", "1,2 mm"], "en", "comma", True),
        (["0.45"], "de", "point", True),
        (["45"], "de", "comma", False),
        (["3.5.2024"], "en", "point", False),
    ],
)
def test_the_decimal_mark_is_told_from_texts(texts, language, mark, is_shown):
    found = decimal_mark(texts, None, language)
    assert (found.value, found.is_shown) == (mark, is_shown)


# Details and fields that other columns or the centre must settle


def visits(**more):
    """A sheet of visits without a date, with more columns by heading."""
    columns = {
        "MRN": [f"H{n // 4}" for n in range(ROWS)],
        "Eye": ["OD"] * ROWS,
        "IOP": [14, 15, 13],
        "OCT": ["closed", "open"],
        **{heading.replace("_", " "): cells for heading, cells in more.items()},
    }
    return sheet(list(columns), *([c[n % len(c)] for c in columns.values()] for n in range(ROWS)))


def standing(proposal):
    """Field, heading and details of every line that stands."""
    tables = tomllib.loads(toml_of(proposal)).get("table", [])
    return {name: source for table in tables for name, source in table["fields"].items()}


@pytest.mark.parametrize("heading", ["Visit", "Time point", "Follow-up", "Time after surgery"])
@pytest.mark.parametrize("cells", [["preop", "M1", "M3", "1 year"], ["3/12", "6 months", "12 m"]])
def test_visits_whose_time_is_in_words_alone_are_drafted(heading, cells):
    proposal = proposal_of(visits(**{heading: cells}))
    assert proposal.tables[0].row == "visit"
    assert standing(proposal)["visit_time"] == heading


@pytest.mark.parametrize(
    ("heading", "cells"),
    [
        ("Visit", ["V1", "V2", "V3", "V4"]),  # which visit, not when
        ("Follow-up", [3, 6, 12]),  # months, or what?
        ("Time", ["10:30", "11:45"]),
        ("Interval", ["final", "last", "final"]),
    ],
)
def test_what_does_not_say_when_is_no_time_of_a_visit(heading, cells):
    """The table is then no more than likely, and says what would do."""
    text = toml_of(proposal_of(visits(**{heading: cells})))
    assert "no heading is certain to be visit_date or visit_time" in text
    lines = lines_of(proposal_of(visits(**{heading: cells})))
    assert "visit_time" not in {line.field for line in lines.values()}


def test_a_date_goes_before_a_time_in_words_and_both_are_kept():
    days = [dt.date(2024, 5, 1 + n) for n in range(ROWS)]
    read = standing(proposal_of(visits(Visit=["preop", "M3"], Seen_on=days)))
    assert (read["visit_date"], read["visit_time"]) == ("Seen on", "Visit")


def test_dates_under_a_heading_for_a_visit_are_its_date_and_under_follow_up_no_more_than_likely():
    days = [dt.date(2024, 5, 1 + n) for n in range(ROWS)]
    assert standing(proposal_of(visits(Visit=days)))["visit_date"] == "Visit"
    line = lines_of(proposal_of(visits(**{"Follow-up": days})))["Follow-up"]
    assert (line.field, line.is_certain) == ("visit_date", False)


@pytest.mark.parametrize(
    "cells",
    [
        [0.02, 0.04, 0.06, 0.08, 0.16, 0.22, 0.3, 0.4],
        [0.05, 0.15, 0.25, 0.35, 0.45, 0.55],
        [0.1, 0.2, 0.3, 0.4, 0.5, 0.6],
    ],
)
def test_numbers_that_may_be_logmar_or_decimal_are_a_comment_that_asks(cells):
    proposal = proposal_of(operations(VA_3_months=cells))
    line = lines_of(proposal)["VA 3 months"]
    assert (line.field, line.is_certain) == ("acuity", False)
    assert "which of the two?" in line.reason
    written = [text for text in toml_of(proposal).splitlines() if "VA 3 months" in text]
    assert written
    assert all(text.strip().startswith("#") for text in written)


@given(
    step=st.sampled_from([0.02, 0.05, 0.1]),
    lines=st.lists(st.integers(1, 20), min_size=1, max_size=ROWS),
)
def test_no_logmar_of_letters_halves_or_lines_is_certain_to_be_decimal(step, lines):
    found = notation_of(None, [column_values([round(n * step, 2) for n in lines], NONE)])
    assert (found.notation, found.is_certain) != ("decimal", True)


def test_an_empty_column_says_for_certain_no_time():
    line = lines_of(proposal_of(visits(Time=[None])))["Time"]
    assert (line.field, line.is_certain) == ("visit_time", False)


def test_letters_behind_a_number_leave_the_notation_certain_and_ask_for_the_letters_of_a_line():
    seen = [dt.date(2024, 5, 1 + n) for n in range(ROWS)]
    cells = ["0.32", "0.125 -2", "0.03", "0.25+1", "0.63-1", "0.08 +2", "0.2", "0.63"]
    proposal = proposal_of(visits(Visit_date=seen, VA=cells))
    line = lines_of(proposal)["VA"]
    assert (line.source.notation, line.source.letters_a_line) == ("decimal", None)
    assert line.is_certain
    assert "4 have letters behind: name letters_a_line" in line.reason


def test_an_amplitude_is_left_to_people_because_no_file_says_its_area():
    seen = [dt.date(2024, 5, 1 + n) for n in range(ROWS)]
    proposal = proposal_of(visits(Visit_date=seen, **{"R1 (µV)": [0.31, 0.4, 0.22]}))
    line = lines_of(proposal)["R1 (µV)"]
    assert (line.field, line.source.unit, line.is_certain) == ("mferg_ring1_p1", "uV", False)
    assert "area_deg2" in line.reason
    assert Crosswalk.model_validate(tomllib.loads(toml_of(proposal)))


@pytest.mark.parametrize(
    ("cells", "scheme", "is_certain", "reason"),
    [
        (["closed", "open"], None, True, ""),
        (["1A", "2B", "0"], "filling_2020", False, "best"),
        (["U", "W", "V"], "contours_1999", False, "best"),
        (["1", "2"], None, False, "more than one scheme: types_2003, filling_2020"),
    ],
)
def test_grades_that_are_numbers_or_letters_are_told_by_their_scheme_for_people_to_confirm(
    cells, scheme, is_certain, reason
):
    seen = [dt.date(2024, 5, 1 + n) for n in range(ROWS)]
    proposal = proposal_of(visits(Visit_date=seen, OCT=cells, ELM=["absent"]))
    line = lines_of(proposal)["OCT"]
    assert (line.field, line.source.scheme, line.is_certain) == ("closure", scheme, is_certain)
    assert reason in line.reason


@pytest.mark.parametrize(
    ("cells", "loss", "is_certain"),
    [
        ([-4.1, -11.2, 0.4, -7.0], None, True),
        ([4.1, 11.2, 7.4, 3.0, 9.5], "positive", False),
        ([4.1, 11.2, 7.4, 3.0, 9.5, -1.0, 0.4, -2.2], "positive", False),
        ([4.1, 11.2, 7.4, 3.0, 9.5, -1.0, 0.4, -2.2, 2.0, 1.1], None, True),  # no more than half
        ([4.1, 11.2, 7.4, 3.0], None, True),  # fewer than the reader asks about
        ([], None, True),
    ],
)
def test_a_mean_defect_is_told_from_a_deviation_by_its_sign_for_people_to_confirm(
    cells, loss, is_certain
):
    seen = [dt.date(2024, 5, 1 + n) for n in range(ROWS)]
    line = lines_of(proposal_of(visits(Visit_date=seen, **{"10-2 MD": cells or [None]})))["10-2 MD"]
    assert (line.field, line.source.loss, line.is_certain) == ("perimetry_md", loss, is_certain)
    assert ('loss = "positive"' in toml_of(proposal_of(visits(MD=cells or [None])))) == bool(loss)


@pytest.mark.parametrize(
    ("kind", "heading", "cells", "field"),
    [
        ("operation", "Posture", ["face down", "supine"], "posture"),
        ("operation", "Face-down days", [5, 3, 7], "posture_days"),
        ("operation", "Posture (days)", [5, 3, 7], "posture_days"),
        ("operation", "Oil viscosity (cSt)", [1000, 5000], "tamponade_viscosity"),
        ("operation", "Arm 1 (µm)", [420, 510], "hole_arm_one"),
        ("operation", "Arm 2 (µm)", [400, 530], "hole_arm_two"),
        ("operation", "Graft diameter 2 (mm)", [1.5, 2.0], "graft_second_diameter"),
        ("visit", "VF MS", [21.5, 24.0], "perimetry_mean"),  # mean sensitivity, no milliseconds
        ("visit", "PH", ["20/40", "20/60"], "acuity_pinhole"),
        ("visit", "VA with pinhole", ["20/40", "20/60"], "acuity_pinhole"),
        ("visit", "10-2 FL %", [10, 20], "perimetry_fixation_loss"),
        ("visit", "False positives (%)", [3, 8], "perimetry_false_positive"),
        ("visit", "VF FN %", [3, 8], "perimetry_false_negative"),
        ("visit", "10-2 points", [68, 68], "perimetry_points"),
        ("visit", "Microperimetry points", [37, 68], "microperimetry_points"),
        ("visit", "Ring 4 implicit time (ms)", [36.0, 41.5], "mferg_ring4_time"),
        ("visit", "Norm R1 (nV/deg2)", [92.0, 88.0], "mferg_norm_ring1_p1"),
        ("visit", "R1 norm SD (nV/deg²)", [12.0, 14.0], "mferg_norm_ring1_sd"),
        ("visit", "No. of hexagons", [61, 103], "mferg_hexagons"),
        ("visit", "Electrode", ["DTL", "skin electrode"], "mferg_electrode"),
        ("visit", "Ring radii (deg)", ["2/5/10/15/25", "2/5/10/15/20"], "mferg_ring_radii"),
    ],
)
def test_fields_that_few_centres_record_are_known_by_their_headings(kind, heading, cells, field):
    seen = [dt.date(2024, 5, 1 + n) for n in range(ROWS)]
    more = {heading: cells}
    made = operations(**more) if kind == "operation" else visits(Visit_date=seen, **more)
    line = lines_of(proposal_of(made))[heading]
    assert (line.field, line.is_certain) == (field, True)


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
