"""Distinct values: each once, types kept apart, every row at its place."""

import datetime as dt

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reading_context import context

from transforms.harmonise import read_cells
from transforms.harmonise.distinct import distinct_values
from transforms.harmonise.read_cells import read_distinct
from transforms.reading import PerCent

VALUES = [
    "1", "1.0", "TRUE", "", 1, 1.0, True, False, 0, 0.0, PerCent(1.0), PerCent(0.0), 2.5,
    dt.date(2026, 1, 2), dt.datetime(2026, 1, 2), dt.time(1), dt.timedelta(1),
]  # fmt: skip


def typed(values):
    return [(type(value), value) for value in values]


@settings(deadline=None)
@given(st.lists(st.sampled_from(VALUES), max_size=40))
def test_every_row_is_found_at_its_place_with_its_type(values):
    distinct, places = distinct_values(pd.Series(values, dtype="object"))
    assert typed(distinct.take(places)) == typed(values)
    assert len(set(typed(distinct))) == len(distinct) == len(set(typed(values)))


@pytest.mark.parametrize("values", [["1", "2", "1"], [1, True, 1.0, "1", PerCent(1.0), 1]])
def test_a_reader_sees_each_value_once_and_its_rows_keep_their_labels(values, monkeypatch):
    seen = []

    def read(distinct, column):
        seen.extend(distinct)
        return pd.DataFrame({"value": distinct, "rule": None, "problem": None}, distinct.index)

    monkeypatch.setitem(read_cells.READERS, "acuity", read)
    labels = range(10, 10 + len(values))
    column = pd.Series(values, index=labels, dtype="object")
    found = read_distinct(column, context("visit", "acuity", notation="decimal"))
    assert typed(found["value"]) == typed(values)
    assert list(found.index) == list(labels)
    assert len(seen) == len(set(typed(values)))


def test_true_is_no_acuity_where_1_is():
    column = pd.Series([1.0, True, 1.0, "1"], dtype="object")
    found = read_distinct(column, context("visit", "acuity", notation="decimal"))
    assert list(found["problem"].isna()) == [True, False, True, True]


def test_errors_and_formulas_without_a_result_do_not_reach_the_reader():
    column = pd.Series(["20/40", "#N/A", "#NOT STORED!", "20/40"], dtype="object")
    found = read_distinct(column, context("visit", "acuity", notation="snellen_feet"))
    assert list(found["problem"].dropna()) == ["error_value", "formula_unstored"]
    assert found["acuity_logmar"].notna().tolist() == [True, False, False, True]
