"""Primary and final closure, sentence by sentence of the module's description.

Primary closure is read at m3: day 60 to 135, nearest to day 90.
"""

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from operated_eyes import (
    BRIDGED,
    FLAT,
    GRAFT,
    OPEN,
    derived,
    operations_on,
    shown,
    visits_with,
)
from upload_sheets import STUDY

from schemas.codes import CLOSURE
from transforms.closure import derive_closure
from transforms.scans import scans_after

NO_SCAN = (None, None, None)


def of(operations, moment, number=0):
    """State, strict and broad."""
    columns = (f"{moment}_closure{suffix}" for suffix in ("", "_strict", "_broad"))
    return shown(operations, *columns, number=number)


def primary(operated, scans, number=0):
    return of(derived(operated, scans)[0], "primary", number)


def final(operated, scans, number=0):
    return of(derived(operated, scans)[0], "final", number)


# The whole course of one eye: operated on again on `again`, scans by day after the first operation.

AS_CLOSED = (BRIDGED, True, True)
AS_FLAT = (FLAT, False, True)
AS_OPEN = (OPEN, False, False)
AS_FAILED = (None, False, False)
UNDER_GAS = ("not_gradable", None, None)


@pytest.mark.parametrize(
    ("again", "scans", "at_primary", "at_final"),
    [
        # Never operated on again.
        (None, [], NO_SCAN, NO_SCAN),
        (None, [(90, BRIDGED)], AS_CLOSED, AS_CLOSED),
        (None, [(90, FLAT)], AS_FLAT, AS_FLAT),
        (None, [(90, OPEN)], AS_OPEN, AS_OPEN),
        (None, [(30, BRIDGED)], NO_SCAN, AS_CLOSED),
        (None, [(30, BRIDGED), (90, OPEN)], AS_OPEN, AS_OPEN),
        (None, [(90, BRIDGED), (200, OPEN)], AS_CLOSED, AS_OPEN),
        (None, [(90, FLAT), (200, BRIDGED)], AS_FLAT, AS_CLOSED),
        # Gas or oil still in the eye.
        (None, [(90, "not_gradable")], UNDER_GAS, UNDER_GAS),
        (None, [(90, "not_gradable"), (130, BRIDGED)], AS_CLOSED, AS_CLOSED),
        (None, [(90, "not_gradable"), (200, BRIDGED)], UNDER_GAS, AS_CLOSED),
        (None, [(90, BRIDGED), (200, "not_gradable")], AS_CLOSED, AS_CLOSED),
        (None, [(90, "not_done")], ("not_done", None, None), ("not_done", None, None)),
        # Operated on again before the primary window begins.
        (40, [], AS_FAILED, NO_SCAN),
        (40, [(30, OPEN)], AS_FAILED, AS_OPEN),
        (40, [(30, BRIDGED)], AS_FAILED, AS_CLOSED),
        (40, [(90, BRIDGED)], AS_FAILED, AS_CLOSED),
        (40, [(90, "not_gradable")], AS_FAILED, UNDER_GAS),
        # Operated on again in the primary window.
        (100, [(80, BRIDGED)], AS_CLOSED, AS_CLOSED),
        (100, [(80, OPEN), (120, BRIDGED)], AS_OPEN, AS_CLOSED),
        (100, [(80, "not_gradable"), (120, BRIDGED)], AS_FAILED, AS_CLOSED),
        (100, [(120, BRIDGED)], AS_FAILED, AS_CLOSED),
        # Operated on again after it.
        (200, [(90, OPEN), (250, BRIDGED)], AS_OPEN, AS_CLOSED),
        (200, [(90, "not_gradable"), (250, BRIDGED)], UNDER_GAS, AS_CLOSED),
        (200, [(250, BRIDGED)], NO_SCAN, AS_CLOSED),
    ],
)
def test_the_course_of_an_eye(again, scans, at_primary, at_final):
    operated = [0] if again is None else [0, again]
    found, _ = derived(operated, [(0, day, state) for day, state in scans])
    assert (of(found, "primary"), of(found, "final")) == (at_primary, at_final)


# "Primary closure is read at the study's primary window"


@pytest.mark.parametrize(
    ("state", "strict", "broad"),
    [
        ("closed_retinal_bridging", True, True),
        ("closed_graft_in_place", True, True),
        ("closed_graft_absent", True, True),
        ("closed_unspecified", True, True),
        ("flat_open", False, True),
        ("elevated_open", False, False),
        ("open_unspecified", False, False),
    ],
)
def test_strict_counts_the_closed_states_and_broad_adds_flat_open(state, strict, broad):
    assert primary([0], [(0, 90, state)]) == (state, strict, broad)
    assert final([0], [(0, 90, state)]) == (state, strict, broad)


@pytest.mark.parametrize("day", [1, 59, 136, 400])
def test_scans_outside_the_primary_window_do_not_decide_primary_closure(day):
    assert primary([0], [(0, day, BRIDGED)]) == (None, None, None)


@pytest.mark.parametrize("day", [60, 135])
def test_both_ends_of_the_primary_window_do(day):
    assert primary([0], [(0, day, BRIDGED)]) == (BRIDGED, True, True)


# "of several graded visits the one nearest the window's target, of two as near the earlier"


@pytest.mark.parametrize(
    ("scans", "state"),
    [
        ([(0, 70, OPEN), (0, 95, BRIDGED)], BRIDGED),
        ([(0, 95, BRIDGED), (0, 70, OPEN)], BRIDGED),
        ([(0, 100, BRIDGED), (0, 80, OPEN)], OPEN),
        ([(0, 80, OPEN), (0, 100, BRIDGED)], OPEN),
        ([(0, 90, "not_gradable"), (0, 120, BRIDGED)], BRIDGED),
        ([(0, 90, None), (0, 120, BRIDGED)], BRIDGED),
        ([(0, "m3", BRIDGED), (0, 85, OPEN)], BRIDGED),
    ],
)
def test_the_graded_scan_nearest_the_target_decides_of_two_as_near_the_earlier(scans, state):
    assert primary([0], scans)[0] == state


def test_the_deciding_visits_are_told_by_their_labels():
    _, chosen = derived([0], [(0, 70, OPEN), (0, 92, BRIDGED), (0, 300, OPEN)])
    for column in ("closure", "closure_strict", "closure_broad"):
        assert chosen[f"primary_{column}"].to_dict() == {0: 101}
        assert chosen[f"final_{column}"].to_dict() == {0: 102}


def test_what_only_explains_why_there_is_no_verdict_is_behind_the_state_alone():
    _, chosen = derived([0], [(0, 90, "not_gradable")])
    assert chosen["primary_closure"].to_dict() == {0: 100}
    assert chosen["primary_closure_strict"].to_dict() == {}


def test_no_scan_is_behind_a_failure_that_a_further_operation_decides():
    _, chosen = derived([0, 120], [(0, 90, "not_gradable")])
    assert chosen["primary_closure"].to_dict() == {}
    assert chosen["primary_closure_strict"].to_dict() == {}


# "before any further macular operation of the same eye"


@pytest.mark.parametrize(
    ("operated_again", "scan", "found"),
    [
        (110, 100, (OPEN, False, False)),
        (110, 109, (OPEN, False, False)),
        (110, 110, (None, False, False)),
        (110, 120, (None, False, False)),
        (200, 100, (OPEN, False, False)),
    ],
)
def test_a_scan_counts_only_before_the_next_operation(operated_again, scan, found):
    assert primary([0, operated_again], [(0, scan, OPEN)]) == found


def test_a_scan_before_the_next_operation_counts_though_one_after_it_is_nearer():
    scans = [(0, 65, BRIDGED), (0, 91, OPEN)]
    assert primary([0, 80], scans) == (BRIDGED, True, True)


# "An eye that is operated on again before the window ends, without such a visit, is not closed"


@pytest.mark.parametrize(
    ("operated_again", "found"),
    [
        (40, (None, False, False)),
        (135, (None, False, False)),
        (136, (None, None, None)),
        (None, (None, None, None)),
    ],
)
def test_an_eye_operated_on_again_in_time_is_not_closed_and_else_is_not_known(
    operated_again, found
):
    operated = [0] if operated_again is None else [0, operated_again]
    assert primary(operated, []) == found


def test_an_ungradable_scan_before_the_next_operation_is_no_such_visit():
    assert primary([0, 120], [(0, 90, "not_gradable")]) == (None, False, False)


def test_the_last_operation_is_judged_by_its_own_scans():
    scans = [(0, 30, OPEN), (1, 90, BRIDGED)]
    assert primary([0, 40], scans, number=1) == (BRIDGED, True, True)
    assert primary([0, 40], scans, number=0) == (None, False, False)


# "Final closure is read at the eye's last graded visit, after any number of operations"


def test_final_closure_is_the_last_graded_state_also_after_further_operations():
    scans = [(0, 90, OPEN), (1, 90, BRIDGED), (1, 200, "not_gradable"), (1, 250, None)]
    for number in (0, 1):
        assert final([0, 150], scans, number) == (BRIDGED, True, True)


def test_a_scan_before_an_operation_does_not_decide_its_final_closure():
    assert final([0, 150], [(0, 90, BRIDGED)], number=0) == (BRIDGED, True, True)
    assert final([0, 150], [(0, 90, BRIDGED)], number=1) == (None, None, None)


@pytest.mark.parametrize("day", [-10, 0])
def test_a_scan_on_or_before_the_day_of_the_operation_shows_no_outcome(day):
    assert final([0], [(0, day, OPEN)]) == (None, None, None)


def test_scans_are_those_of_later_days_that_say_something():
    days = {-10: OPEN, 0: OPEN, 1: None, 2: OPEN, 3: "not_done"}
    visits = visits_with([(0, day, state) for day, state in days.items()])
    scans = scans_after(operations_on([0]), visits, STUDY.visits)
    assert scans["day"].to_list() == [2, 3]
    assert scans["is_graded"].to_list() == [True, False]


def test_a_scan_outside_all_windows_counts_for_final_closure():
    assert final([0], [(0, 300, FLAT)]) == (FLAT, False, True)


# "A scan that is not gradable or not done is never open: [...] the state names it as the reason"


@pytest.mark.parametrize("state", ["not_gradable", "not_done"])
@pytest.mark.parametrize("moment", ["primary", "final"])
def test_an_ungraded_scan_is_the_reason_why_there_is_no_verdict(moment, state):
    assert of(derived([0], [(0, 90, state)])[0], moment) == (state, None, None)


def test_without_a_word_about_the_scan_there_is_no_reason_either():
    assert primary([0], [(0, 90, None)]) == final([0], [(0, 90, None)]) == NO_SCAN


def test_the_reason_is_that_of_the_scan_that_would_have_decided():
    scans = [(0, 70, "not_done"), (0, 85, "not_gradable"), (0, 200, "not_done")]
    assert primary([0], scans) == ("not_gradable", None, None)
    assert final([0], scans) == ("not_done", None, None)


# "A visit without a date counts at its window's target"


def test_an_undated_visit_counts_at_its_windows_target():
    assert primary([0], [(0, "m3", BRIDGED)]) == (BRIDGED, True, True)
    assert primary([0, 91], [(0, "m3", BRIDGED)]) == (BRIDGED, True, True)
    assert primary([0, 90], [(0, "m3", BRIDGED)]) == (None, False, False)
    assert final([0], [(0, "m6", BRIDGED), (0, 170, OPEN)])[0] == BRIDGED
    assert final([0], [(0, "m6", BRIDGED), (0, 190, OPEN)])[0] == OPEN
    assert final([0], [(0, "baseline", OPEN)]) == (None, None, None)


def test_eyes_of_a_patient_are_judged_apart():
    operations = pd.DataFrame(
        {
            "patient_key": "p", "eye": ["right", "left"], "from_first": [0, 0],
            "operation_key": ["o0", "o1"],
        },
        index=[7, 3],
    ).astype({"from_first": "Int64"})  # fmt: skip
    found, _ = derive_closure(
        operations, visits_with([(0, 90, BRIDGED), (1, 90, OPEN)]), "m3", STUDY.visits
    )
    assert found["primary_closure"].to_dict() == {7: BRIDGED, 3: OPEN}
    assert found["final_closure"].to_dict() == {7: BRIDGED, 3: OPEN}


def test_of_two_scans_at_one_time_the_dated_one_decides():
    scans = [(0, "m3", BRIDGED), (0, 90, OPEN)]
    for in_order in (scans, scans[::-1]):
        assert primary([0], in_order) == final([0], in_order) == AS_OPEN


@pytest.mark.parametrize(
    ("again", "scans"),
    [(100, [(0, 150, OPEN), (1, 50, GRAFT)]), (90, [(0, "m6", OPEN), (1, "m3", GRAFT)])],
)
def test_of_two_scans_at_one_time_in_two_rows_that_of_the_later_operation_is_final(again, scans):
    for in_order in (scans, scans[::-1]):
        assert final([0, again], in_order) == (GRAFT, True, True)


# Laws

DAYS = st.integers(1, 400) | st.sampled_from(["m1", "m3", "m6"])
SCANS = st.lists(
    st.tuples(st.integers(0, 1), DAYS, st.sampled_from([*CLOSURE])),
    max_size=8, unique_by=lambda scan: scan[:2],
)  # fmt: skip
VERDICTS = [f"{moment}_closure_{name}" for moment in ("primary", "final")
            for name in ("strict", "broad")]  # fmt: skip


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 300), SCANS, st.randoms())
def test_the_order_of_visits_changes_nothing(again, scans, random):
    shuffled = random.sample(scans, len(scans))
    pd.testing.assert_frame_equal(derived([0, again], scans)[0], derived([0, again], shuffled)[0])


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 300), SCANS)
def test_whatever_is_closed_strictly_is_closed_broadly_and_both_are_known_or_neither(again, scans):
    found, _ = derived([0, again], scans)
    for moment in ("primary", "final"):
        strict, broad = found[f"{moment}_closure_strict"], found[f"{moment}_closure_broad"]
        assert (strict.isna() == broad.isna()).all()
        assert (broad | ~strict).fillna(True).all()


@settings(max_examples=40, deadline=None)
@given(
    st.integers(1, 300), SCANS, st.integers(0, 1), st.integers(1, 400),
    st.sampled_from(["not_gradable", "not_done"]),
)  # fmt: skip
def test_a_further_scan_that_cannot_be_graded_changes_no_verdict(again, scans, number, day, state):
    kept = [scan for scan in scans if scan[:2] != (number, day)]
    before, _ = derived([0, again], kept)
    after, _ = derived([0, again], [*kept, (number, day, state)])
    columns = [*VERDICTS, "reopened_day"]
    pd.testing.assert_frame_equal(before[columns], after[columns])
    assert (before["reopened"].fillna(False) == after["reopened"].fillna(False)).all()


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 300), SCANS)
def test_behind_every_state_there_is_a_scan_with_that_state(again, scans):
    found, deciding = derived([0, again], scans)
    states = visits_with(scans)["closure"]
    for column in ("primary_closure", "final_closure"):
        behind = deciding[column].map(states).reindex(found.index).astype("str")
        pd.testing.assert_series_equal(behind, found[column], check_names=False)
