"""What changed in a centre's cases and findings between two weeks."""

import pandas as pd
import pytest

from transforms.changes import COLUMNS, changes_by_site

SITES = ("heron", "ibis", "egret")


def tables(operations=(), visits=(), complications=(), findings=()):
    """Tables as of a week: (key, site, size), (key, day), (key, term), (finding, site, state)."""
    return {
        "operations": frame(operations, "operation_key", "site", "hole_min_diameter_um"),
        "visits": frame(visits, "operation_key", "day"),
        "complications": frame(complications, "operation_key", "term"),
        "findings": frame(findings, "finding_key", "site", "state"),
    }


def frame(rows, *columns):
    return pd.DataFrame(list(rows), columns=list(columns))


def changes(before, after, site="heron"):
    """The counts of one centre that are not zero."""
    found = changes_by_site(before, after, SITES)
    assert tuple(found.columns) == COLUMNS
    assert tuple(found["site"]) == SITES
    row = found.set_index("site").loc[site]
    return {name: int(count) for name, count in row.items() if count}


ONE = [("O1", "heron", 450.0)]
TWO = [*ONE, ("O2", "heron", 500.0)]


@pytest.mark.parametrize(
    ("before", "after", "counted"),
    [
        ({}, {}, {}),
        ({"operations": TWO}, {"operations": TWO}, {}),
        ({"operations": TWO}, {"operations": TWO[::-1]}, {}),
        ({"operations": ONE}, {"operations": TWO}, {"cases_new": 1}),
        ({"operations": TWO}, {"operations": ONE}, {"cases_gone": 1}),
        ({}, {"operations": TWO}, {"cases_new": 2}),
        ({"operations": TWO}, {"operations": [*ONE, ("O2", "heron", 501.0)]}, {"cases_changed": 1}),
        (
            {"operations": TWO, "visits": [("O1", 30)]},
            {"operations": TWO, "visits": [("O1", 30), ("O1", 90), ("O2", 90)]},
            {"cases_changed": 2},
        ),
        (
            {"operations": TWO, "visits": [("O1", 30), ("O1", 90)]},
            {"operations": TWO, "visits": [("O1", 90), ("O1", 30)]},
            {},
        ),
        (
            {"operations": TWO, "complications": [("O1", "cataract")]},
            {"operations": TWO, "complications": [("O1", "hypotony")]},
            {"cases_changed": 1},
        ),
        (
            {"operations": TWO, "visits": [("O1", 30), ("O2", 90)]},
            {"operations": TWO, "visits": [("O1", 90), ("O2", 30)]},
            {"cases_changed": 2},
        ),
    ],
)
def test_cases_that_are_new_changed_or_gone(before, after, counted):
    assert changes(tables(**before), tables(**after)) == counted


@pytest.mark.parametrize(
    ("before", "after", "counted"),
    [
        ([], [("F1", "heron", "open")], {"findings_opened": 1}),
        ([("F1", "heron", "open")], [("F1", "heron", "open")], {}),
        ([("F1", "heron", "open")], [("F1", "heron", "fixed")], {"findings_fixed": 1}),
        ([("F1", "heron", "fixed")], [("F1", "heron", "open")], {"findings_opened": 1}),
        ([], [("F1", "heron", "fixed")], {}),
    ],
)
def test_findings_that_were_opened_or_fixed(before, after, counted):
    assert changes(tables(findings=before), tables(findings=after)) == counted


def test_a_finding_whose_row_is_gone_was_not_fixed():
    before, after = [("F1", "heron", "open")], [("F1", "heron", "withdrawn")]
    assert changes(tables(findings=before), tables(findings=after)) == {}


def test_each_centre_is_counted_for_itself():
    before = tables(ONE)
    after = tables([*ONE, ("O3", "ibis", 600.0)])
    assert changes(before, after, "heron") == {}
    assert changes(before, after, "ibis") == {"cases_new": 1}
    assert changes(before, after, "egret") == {}
