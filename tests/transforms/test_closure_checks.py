"""Gradings that are asked about: under gas or oil, beside the graft's position, within a window.

The study's windows are m1 (day 14 to 59), m3 (60 to 135) and m6 (136 to 270).
"""

import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from upload_sheets import OPERATIONS, VISITS, sheet, table, taken_in

OPERATED = dt.datetime(2025, 3, 1)
RULES = ("closure_under_tamponade", "gradings_conflict")
FIELDS = {
    **VISITS, "closure": "OCT", "under_tamponade": "Gas or oil", "graft_position": "Graft",
}  # fmt: skip


def asked(*visits, again=None, row=lambda place: place):
    """Rule, cell and what it quotes, of gradings in a sheet with one visit a row from row 2 on.

    A visit is (day, state of the hole, tamponade, graft's position); its state stands in column D.
    """
    log = sheet(
        ["No", "Eye", "Op"],
        *(["A-1", "OD", OPERATED + dt.timedelta(day)] for day in (0, again) if day is not None),
    )
    rows = [
        ["A-1", "OD", OPERATED + dt.timedelta(day), *[*said, *[None] * 3][:3]]
        for day, *said in visits
    ]
    follow_up = sheet(["No", "Eye", "Seen", "OCT", "Gas or oil", "Graft"], *rows, name="Follow up")
    intake = taken_in(
        (log, follow_up),
        {**table("operation", OPERATIONS), "sheet": "Log"},
        {**table("visit", FIELDS), "sheet": "Follow up"},
    )
    findings = intake.tables["findings"]
    found = findings[findings["rule"].isin(RULES)]
    assert set(found["action"]) <= {"ask"}
    assert set(found["upload"]) <= set(intake.counts.index)
    return sorted(
        (rule, cell, other or "")
        for rule, cell, other in zip(found["rule"], found["cell"], found["other"], strict=True)
    )


UNDER = ("closure_under_tamponade", "D2", "")


@pytest.mark.parametrize(
    ("visit", "found"),
    [
        ((90, "closed", "yes"), [UNDER]),
        ((90, "open", "yes"), [UNDER]),
        ((90, "flat open", "yes"), [UNDER]),
        ((20, "closed", "yes"), [UNDER]),
        ((90, "not gradable", "yes"), []),
        ((90, "not done", "yes"), []),
        ((90, None, "yes"), []),
        ((90, "perhaps", "yes"), []),
        ((90, "closed", "no"), []),
        ((90, "closed", None), []),
    ],
)
def test_a_grading_under_gas_or_oil_is_asked_about(visit, found):
    assert asked(visit) == found


@pytest.mark.parametrize(
    ("state", "position", "is_asked"),
    [
        ("closed graft in place", "in place", False),
        ("closed graft in place", "partly displaced", False),
        ("closed graft in place", "dislocated", True),
        ("closed graft in place", "lost", True),
        ("closed graft in place", "absorbed", True),
        ("closed graft absent", "in place", True),
        ("closed graft absent", "lost", False),
        ("closed graft absent", "absorbed", False),
        ("closed retinal bridging", "lost", False),
        ("closed", "lost", False),
        ("open", "lost", False),
        ("open", "absorbed", True),
        ("flat open", "absorbed", True),
        ("elevated open", "absorbed", True),
        ("elevated open", "dislocated", False),
        ("elevated open", "in place", False),
        ("not gradable", "lost", False),
        ("not gradable", "absorbed", False),
    ],
)
def test_a_state_that_the_grafts_position_rules_out_is_asked_about(state, position, is_asked):
    told = [("gradings_conflict", "D2", f"graft position: {position.replace(' ', '_')}")]
    assert asked((90, state, None, position)) == (told if is_asked else [])


def of(cell, other):
    return ("gradings_conflict", cell, f"see {other}")


@pytest.mark.parametrize(
    ("visits", "found"),
    [
        ([(70, "closed"), (100, "open")], [of("D3", "D2")]),
        ([(70, "open"), (100, "closed")], [of("D3", "D2")]),
        ([(100, "open"), (70, "closed")], [of("D2", "D3")]),
        ([(70, "closed"), (100, "flat open")], [of("D3", "D2")]),
        ([(70, "closed"), (90, "open"), (120, "closed")], [of("D3", "D2"), of("D4", "D3")]),
        ([(70, "closed"), (90, "not gradable"), (120, "open")], [of("D4", "D2")]),
        ([(70, "closed"), (100, "type 1")], []),
        ([(70, "open"), (100, "flat open")], []),
        ([(70, "closed"), (100, "not gradable")], []),
        ([(70, "closed")], []),
        # Of two windows, of none, and before the operation.
        ([(70, "closed"), (140, "open")], []),
        ([(280, "closed"), (400, "open")], []),
        ([(-30, "open"), (-5, "closed")], []),
    ],
)
def test_closed_and_open_within_a_window_is_asked_about_at_the_later_scan(visits, found):
    assert asked(*visits) == found


@pytest.mark.parametrize(
    ("again", "found"),
    [
        (60, [of("D3", "D2")]),
        (69, [of("D3", "D2")]),
        (80, []),
        (100, []),
        (101, [of("D3", "D2")]),
        (200, [of("D3", "D2")]),
    ],
)
def test_unless_the_eye_was_operated_on_again_between_the_two(again, found):
    """Both scans stand in the first operation's row, so that its windows hold them."""
    log = sheet(
        ["No", "Eye", "Op", "Seen 1", "OCT 1", "Seen 2", "OCT 2"],
        ["A-1", "OD", OPERATED, *_seen(70, "open"), *_seen(100, "closed")],
        ["A-1", "OD", OPERATED + dt.timedelta(again)],
    )
    blocks = [{"date": f"Seen {n}", "closure": f"OCT {n}"} for n in (1, 2)]
    findings = taken_in(log, table("operation", OPERATIONS, visits=blocks)).tables["findings"]
    told = findings[findings["rule"] == "gradings_conflict"]
    assert told["cell"].to_list() == ["G2"] * len(found)
    assert told["other"].to_list() == ["see E2"] * len(found)


def test_a_scan_without_a_date_stands_at_its_windows_target():
    log = sheet(
        ["No", "Eye", "Op", "OCT 3m", "Seen", "OCT"],
        ["A-1", "OD", OPERATED, "closed", *_seen(100, "open")],
        ["A-2", "OD", OPERATED, "closed", *_seen(80, "open")],
    )
    blocks = [{"at": "m3", "closure": "OCT 3m"}, {"date": "Seen", "closure": "OCT"}]
    findings = taken_in(log, table("operation", OPERATIONS, visits=blocks)).tables["findings"]
    told = findings[findings["rule"] == "gradings_conflict"]
    assert dict(zip(told["cell"], told["other"], strict=True)) == {"F2": "see D2", "D3": "see F3"}


def _seen(day, state):
    return OPERATED + dt.timedelta(day), state


def test_a_held_visit_is_no_other_grading():
    assert asked((70, "closed"), (70, "open"), (100, "closed")) == []


DAYS = st.lists(st.integers(60, 135), max_size=6, unique=True)
STATES = ("closed", "type 1", "open", "flat open", "not gradable")


@settings(max_examples=15, deadline=None)
@given(st.data(), DAYS, st.randoms())
def test_the_order_of_rows_changes_nothing_but_addresses(data, days, random):
    visits = [(day, data.draw(st.sampled_from(STATES))) for day in days]
    shuffled = random.sample(visits, len(visits))
    assert _days(visits) == _days(shuffled)


def _days(visits):
    """The findings by day in place of address."""
    at = {f"D{row}": day for row, (day, _) in enumerate(visits, 2)}
    return sorted((at[cell], at[other.removeprefix("see ")]) for _, cell, other in asked(*visits))
