"""One acuity cell through its reader, for the tests of acuity."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd
from reading_context import cells, context

from schemas.conventions import OFF_CHART_SETS
from transforms.harmonise.acuity.reader import read_acuity


def read(value: object, notation: str | None = None, field: str = "acuity", **habits) -> pd.Series:
    """What is read of one cell; `habits` are the centre's and the crosswalk's entry's."""
    return read_column([value], notation, field, **habits).iloc[0]


def read_column(
    values: list[object], notation: str | None = None, field: str = "acuity",
    off_chart: str = "measured_2009", **habits,
) -> pd.DataFrame:  # fmt: skip
    sheet = context("visit", field, notation=notation, **habits)
    return read_acuity(cells(*values), replace(sheet, off_chart=OFF_CHART_SETS[off_chart]))


def said(value: object) -> object:
    """The value, or None where it is missing."""
    return None if pd.isna(value) else value
