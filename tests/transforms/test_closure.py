"""Primary and final closure, sentence by sentence of the module's description.

Primary closure is read at m3: day 60 to 135, nearest to day 90.
"""

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from upload_sheets import STUDY

from schemas.codes import CLOSURE
from transforms.closure import derive_closure
from transforms.visit_windows import window_of

CLOSED = "closed_retinal_bridging"
OPEN = "elevated_open"
FLAT = "flat_open"
FIELDS = ("closure", "closure_strict", "closure_broad")


def derive(operated, seen):
    """Closure of the operations of one right eye, on `operated` days from the first, by scans.

    A scan is (operation, day, state), or (operation, window's name, state) without a date.
    """
    operations = pd.DataFrame(
        {
            "patient_key": "p", "eye": "right", "from_first": operated,
            "operation_key": [f"o{number}" for number in range(len(operated))],
        }
    ).astype({"from_first": "Int64"})  # fmt: skip
    return derive_closure(operations, _visits(seen), "m3", STUDY.visits)


def _visits(seen):
    visits = pd.DataFrame(
        [(f"o{number}", when, state) for number, when, state in seen],
        columns=["operation_key", "when", "closure"],
        index=pd.RangeIndex(100, 100 + len(seen)),
    ).astype({"closure": "str"})
    day = pd.to_numeric(visits["when"], errors="coerce").astype("Int64")
    window = window_of(day, STUDY.visits).fillna(visits["when"].astype("str"))
    return visits.assign(day=day, visit=window)


def of(result, moment, number=0):
    """State, strict and broad; None where missing."""
    row = result[0].iloc[number]
    return tuple(None if pd.isna(row[f"{moment}_{f}"]) else row[f"{moment}_{f}"] for f in FIELDS)


def primary(operated, seen, number=0):
    return of(derive(operated, seen), "primary", number)


def final(operated, seen, number=0):
    return of(derive(operated, seen), "final", number)


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
    assert primary([0], [(0, day, CLOSED)]) == (None, None, None)


@pytest.mark.parametrize("day", [60, 135])
def test_both_ends_of_the_primary_window_do(day):
    assert primary([0], [(0, day, CLOSED)]) == (CLOSED, True, True)


# "of several graded visits the one nearest the window's target, of two as near the earlier"


@pytest.mark.parametrize(
    ("scans", "state"),
    [
        ([(0, 70, OPEN), (0, 95, CLOSED)], CLOSED),
        ([(0, 95, CLOSED), (0, 70, OPEN)], CLOSED),
        ([(0, 100, CLOSED), (0, 80, OPEN)], OPEN),
        ([(0, 80, OPEN), (0, 100, CLOSED)], OPEN),
        ([(0, 90, "not_gradable"), (0, 120, CLOSED)], CLOSED),
        ([(0, 90, None), (0, 120, CLOSED)], CLOSED),
        ([(0, "m3", CLOSED), (0, 85, OPEN)], CLOSED),
    ],
)
def test_the_graded_scan_nearest_the_target_decides_of_two_as_near_the_earlier(scans, state):
    assert primary([0], scans)[0] == state


def test_the_deciding_visits_are_told_by_their_labels():
    _, chosen = derive([0], [(0, 70, OPEN), (0, 92, CLOSED), (0, 300, OPEN)])
    assert chosen["primary"].to_dict() == {0: 101}
    assert chosen["final"].to_dict() == {0: 102}


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
    scans = [(0, 65, CLOSED), (0, 91, OPEN)]
    assert primary([0, 80], scans) == (CLOSED, True, True)


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
    scans = [(0, 30, OPEN), (1, 90, CLOSED)]
    assert primary([0, 40], scans, number=1) == (CLOSED, True, True)
    assert primary([0, 40], scans, number=0) == (None, False, False)


# "Final closure is read at the eye's last graded visit, after any number of operations"


def test_final_closure_is_the_last_graded_state_also_after_further_operations():
    scans = [(0, 90, OPEN), (1, 90, CLOSED), (1, 200, "not_gradable"), (1, 250, None)]
    for number in (0, 1):
        assert final([0, 150], scans, number) == (CLOSED, True, True)


def test_a_scan_before_an_operation_does_not_decide_its_final_closure():
    assert final([0, 150], [(0, 90, CLOSED)], number=0) == (CLOSED, True, True)
    assert final([0, 150], [(0, 90, CLOSED)], number=1) == (None, None, None)


@pytest.mark.parametrize("day", [-10, 0])
def test_a_scan_on_or_before_the_day_of_the_operation_shows_no_outcome(day):
    assert final([0], [(0, day, OPEN)]) == (None, None, None)


def test_a_scan_outside_all_windows_counts_for_final_closure():
    assert final([0], [(0, 300, FLAT)]) == (FLAT, False, True)


# "A scan that is not gradable or not done is missing, never open"


@pytest.mark.parametrize("state", ["not_gradable", "not_done", None])
def test_a_scan_that_cannot_be_graded_is_missing_and_never_open(state):
    assert primary([0], [(0, 90, state)]) == (None, None, None)
    assert final([0], [(0, 90, state)]) == (None, None, None)


# "A visit without a date counts at its window's target"


def test_an_undated_visit_counts_at_its_windows_target():
    assert primary([0], [(0, "m3", CLOSED)]) == (CLOSED, True, True)
    assert primary([0, 91], [(0, "m3", CLOSED)]) == (CLOSED, True, True)
    assert primary([0, 90], [(0, "m3", CLOSED)]) == (None, False, False)
    assert final([0], [(0, "m6", CLOSED), (0, 170, OPEN)])[0] == CLOSED
    assert final([0], [(0, "m6", CLOSED), (0, 190, OPEN)])[0] == OPEN
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
        operations, _visits([(0, 90, CLOSED), (1, 90, OPEN)]), "m3", STUDY.visits
    )
    assert found["primary_closure"].to_dict() == {7: CLOSED, 3: OPEN}
    assert found["final_closure"].to_dict() == {7: CLOSED, 3: OPEN}


SCANS = st.lists(
    st.tuples(st.integers(0, 1), st.integers(1, 400), st.sampled_from([*CLOSURE])), max_size=8
)


@settings(max_examples=25, deadline=None)
@given(st.integers(1, 300), SCANS, st.randoms())
def test_the_order_of_visits_changes_nothing_and_broad_holds_whatever_is_strict(
    again, scans, random
):
    scans = list({scan[:2]: scan for scan in scans}.values())
    shuffled = random.sample(scans, len(scans))
    for moment in ("primary", "final"):
        for number in (0, 1):
            found = of(derive([0, again], scans), moment, number)
            assert found == of(derive([0, again], shuffled), moment, number)
            assert (found[1] is None) == (found[2] is None)
            assert not found[1] or found[2]
