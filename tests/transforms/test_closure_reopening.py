"""Holes that were closed and are open again: when, and which scans say so."""

import pytest
from operated_eyes import BRIDGED, FLAT, GRAFT, OPEN, derived, shown

COLUMNS = ("reopened", "reopened_day")


def reopened(operated, scans, number=0):
    return shown(derived(operated, scans)[0], *COLUMNS, number=number)


@pytest.mark.parametrize(
    ("scans", "found"),
    [
        ([], (None, None)),
        ([(90, None)], (None, None)),
        ([(90, "not_gradable")], (None, None)),
        ([(90, "not_done")], (None, None)),
        ([(-20, BRIDGED), (0, OPEN)], (None, None)),
        ([(90, BRIDGED)], (False, None)),
        ([(90, OPEN)], (False, None)),
        ([(90, OPEN), (180, BRIDGED)], (False, None)),
        ([(90, BRIDGED), (180, GRAFT)], (False, None)),
        ([(90, BRIDGED), (180, "not_gradable")], (False, None)),
        ([(90, BRIDGED), (180, OPEN)], (True, 180)),
        ([(90, BRIDGED), (180, "open_unspecified"), (365, OPEN)], (True, 180)),
        ([(90, BRIDGED), (180, OPEN), (365, BRIDGED)], (True, 180)),
        ([(30, OPEN), (90, BRIDGED), (180, OPEN)], (True, 180)),
        ([(90, "closed_unspecified"), (100, "not_gradable"), (180, OPEN)], (True, 180)),
        # Strict closure leads.
        ([(90, BRIDGED), (180, FLAT)], (True, 180)),
        ([(90, FLAT), (180, OPEN)], (False, None)),
        ([(90, OPEN), (180, FLAT)], (False, None)),
    ],
)
def test_open_after_closed_is_open_again(scans, found):
    of_operation = [(0, day, state) for day, state in scans]
    assert reopened([0], of_operation) == found
    assert reopened([0], of_operation[::-1]) == found


@pytest.mark.parametrize(
    ("scans", "first", "second"),
    [
        # By day after the first operation; the second is on day 150.
        ([(0, 90, BRIDGED), (0, 120, OPEN)], (True, 120), (None, None)),
        ([(0, 90, BRIDGED), (1, 30, OPEN)], (False, None), (False, None)),
        ([(0, 90, OPEN), (1, 30, BRIDGED), (1, 60, OPEN)], (False, None), (True, 60)),
        ([(0, 90, BRIDGED), (0, 120, OPEN), (1, 60, BRIDGED)], (True, 120), (False, None)),
        # Which came first on the day of the operation is not told.
        ([(0, 90, BRIDGED), (0, 150, OPEN)], (False, None), (None, None)),
        ([(0, 90, BRIDGED), (1, 0, OPEN)], (False, None), (None, None)),
        # In the first operation's row, but after the second.
        ([(0, 90, BRIDGED), (0, 200, OPEN)], (False, None), (False, None)),
        ([(0, 200, BRIDGED), (0, 250, OPEN)], (None, None), (True, 100)),
    ],
)
def test_a_further_operation_begins_anew(scans, first, second):
    assert reopened([0, 150], scans, number=0) == first
    assert reopened([0, 150], scans, number=1) == second


@pytest.mark.parametrize(
    ("scans", "found"),
    [
        ([(0, "m3", BRIDGED), (0, "m6", OPEN)], (True, None)),
        ([(0, "m3", BRIDGED), (0, 200, OPEN)], (True, 200)),
        ([(0, 100, BRIDGED), (0, "m3", OPEN)], (False, None)),
        ([(0, "m3", BRIDGED), (0, 90, OPEN)], (False, None)),
    ],
)
def test_an_undated_scan_counts_at_its_windows_target_but_gives_no_day(scans, found):
    assert reopened([0], scans) == found


@pytest.mark.parametrize(
    ("scans", "behind", "behind_day"),
    [
        ([(0, 90, "not_gradable")], [], []),
        ([(0, 30, OPEN), (0, 90, BRIDGED), (0, 120, "not_gradable")], [100, 101], []),
        ([(0, 90, BRIDGED), (0, 180, OPEN), (0, 365, BRIDGED)], [100, 101], [101]),
        ([(0, 90, BRIDGED), (0, "m6", OPEN)], [100, 101], []),
    ],
)
def test_the_scans_behind_it_are_the_graded_ones_up_to_that_which_shows_it(
    scans, behind, behind_day
):
    _, deciding = derived([0], scans)
    assert deciding["reopened"].to_list() == behind
    assert deciding["reopened_day"].to_list() == behind_day
