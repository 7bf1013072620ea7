"""What becomes of a finding from one week to the next."""

import pandas as pd
import pytest

from transforms.finding_history import advance, gone_cases

COLUMNS = ["finding_key", "case_label", "rule", "first_week", "last_week", "state", "answer"]
FOUND = ["finding_key", "case_label", "rule"]
CASES = frozenset({"O1", "O2"})


def findings(*rows):
    return pd.DataFrame(rows, columns=COLUMNS, dtype="object")


def found(*rows):
    return pd.DataFrame(rows, columns=FOUND, dtype="object")


def after(before, now, week="W48", present=CASES):
    """Key to (state, first week, last week) after a week."""
    result = advance(before, now, week, present)
    assert list(result.columns) == COLUMNS
    assert result["finding_key"].is_unique
    return {row["finding_key"]: (row["state"], row["first_week"], row["last_week"])
            for row in result.to_dict("records")}  # fmt: skip


MISSING = ("F-1", "O1", "value_missing")
OPEN = (*MISSING, "W46", "W47", "open", None)


@pytest.mark.parametrize(
    ("before", "now", "present", "state"),
    [
        ([], [MISSING], CASES, ("open", "W48", "W48")),
        ([OPEN], [MISSING], CASES, ("open", "W46", "W48")),
        ([OPEN], [], CASES, ("fixed", "W46", "W47")),
        ([OPEN], [], frozenset({"O2"}), ("withdrawn", "W46", "W47")),
        ([(*MISSING, "W45", "W46", "fixed", None)], [MISSING], CASES, ("open", "W45", "W48")),
        ([(*MISSING, "W45", "W46", "withdrawn", None)], [MISSING], CASES, ("open", "W45", "W48")),
        ([(*MISSING, "W45", "W46", "fixed", None)], [], frozenset(), ("fixed", "W45", "W46")),
        ([(*MISSING, "W45", "W46", "withdrawn", None)], [], CASES, ("withdrawn", "W45", "W46")),
    ],
    ids=["opened", "stays", "fixed", "withdrawn", "reopened", "back", "stays fixed", "stays gone"],
)
def test_each_way_a_finding_can_go(before, now, present, state):
    assert after(findings(*before), found(*now), present=present) == {"F-1": state}


def test_a_finding_of_no_case_is_fixed_when_it_is_found_no_more():
    before = findings(("F-2", None, "row_left_out", "W46", "W47", "open", None))
    assert after(before, found(), present=frozenset()) == {"F-2": ("fixed", "W46", "W47")}


def test_findings_go_their_ways_side_by_side():
    before = findings(
        OPEN,
        ("F-2", "O2", "value_missing", "W46", "W47", "open", None),
        ("F-3", "O9", "value_missing", "W46", "W47", "open", None),
    )
    now = found(MISSING, ("F-4", "O2", "eye_missing"))
    assert {key: state for key, (state, *_) in after(before, now).items()} == {
        "F-1": "open", "F-2": "fixed", "F-3": "withdrawn", "F-4": "open",
    }  # fmt: skip


def test_the_weeks_before_stay_as_they_were():
    before = findings(OPEN)
    untouched = before.copy()
    after(before, found())
    pd.testing.assert_frame_equal(before, untouched)


def test_a_history_of_nothing_stays_empty():
    assert after(findings(), found()) == {}


# Cases that are gone


def merged(*operations):
    return pd.DataFrame(operations, columns=["operation_key", "patient_key"], dtype="object")


def gone(operations, before=(), present=frozenset(), uncertain=frozenset()):
    rows = gone_cases(merged(*operations), findings(*before), present, uncertain)
    assert set(rows["kind"]) <= {"operation"}
    return rows["case_label"].to_list()


BOTH = [("O1", "P1"), ("O2", "P2")]


@pytest.mark.parametrize(
    ("present", "uncertain", "missed"),
    [
        ({"O1", "O2"}, set(), []),
        ({"O1"}, set(), ["O2"]),
        (set(), set(), ["O1", "O2"]),
        ({"O1"}, {"P2"}, []),
        ({"O1"}, {"P1"}, ["O2"]),
    ],
)
def test_a_merged_case_that_the_upload_does_not_hold_is_gone(present, uncertain, missed):
    assert gone(BOTH, present=frozenset(present), uncertain=frozenset(uncertain)) == missed


def missed_before(state):
    return ("F-9", "O2", "case_gone", "W47", "W47", state, None)


@pytest.mark.parametrize(
    ("state", "present", "missed"),
    [("open", set(), ["O2"]), ("open", {"O2"}, []), ("fixed", set(), [])],
)
def test_a_case_that_was_missed_stays_missed_until_it_is_back(state, present, missed):
    assert gone([], [missed_before(state)], frozenset(present)) == missed


def test_a_case_is_missed_once_though_it_was_merged_and_missed():
    assert gone([("O2", "P2")], [missed_before("open")]) == ["O2"]


def test_a_missed_case_stays_open_week_after_week_and_is_fixed_when_it_is_back():
    history = findings()
    states = []
    for week, present in (("W47", {"O1"}), ("W48", {"O1"}), ("W49", {"O1", "O2"})):
        operations = merged(*BOTH) if week == "W47" else merged(("O1", "P1"))
        missed = gone_cases(operations, history, frozenset(present), frozenset())
        now = missed.assign(finding_key="F-9", rule="case_gone")
        labels = frozenset(present) | frozenset(now["case_label"])
        history = advance(history, now, week, labels)
        states.append((history["state"].item(), history["first_week"].item()))
    assert states == [("open", "W47"), ("open", "W47"), ("fixed", "W47")]
