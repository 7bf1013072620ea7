"""Drafts of crosswalks: details and fields that other columns or the centre must settle."""

import datetime as dt
import tomllib

import pytest
from drafts import NONE, ROWS, lines_of, operations, proposal_of
from hypothesis import given
from hypothesis import strategies as st
from upload_sheets import sheet

from schemas.crosswalk import Crosswalk
from transforms.draft import toml_of
from transforms.draft.column_values import column_values
from transforms.draft.notations import notation_of


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
