"""What a reader of cells must know beside the cell: the centre's habits and the study's choices."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from schemas.codebook import UploadField
from schemas.conventions import OffChartSet
from schemas.crosswalk import Source
from schemas.decimal_mark import DecimalMark

# Columns that a reader may give beside the values. `PROBLEM` is the rule of `schemas.rules` that a
# cell breaks, `TOLD` what the finding quotes (codes and names of fields, never what a cell says),
# `RULE` the rule of `schemas.conversions` by which the values were made of the cell; a column with
# a rule of its own has it under `rule_of`.
PROBLEM = "problem"
TOLD = "told"
RULE = "rule"


def rule_of(column: str) -> str:
    """Column of a reader's frame with the rule of one of its columns of values alone."""
    return f"{RULE}:{column}"


def columns_of_values(read: pd.DataFrame) -> list[str]:
    """The columns of a reader's frame that hold values."""
    beside = (PROBLEM, TOLD, RULE)
    return [str(name) for name in read if name not in beside and f"{RULE}:" not in str(name)]


@dataclass(frozen=True)
class Context:
    """One column of an upload: its field, the crosswalk's entry, and how the centre writes.

    `off_chart` is the study's named set of logMAR values for acuities off the chart.
    """

    field: UploadField
    source: Source
    language: str
    decimal: DecimalMark
    off_chart: OffChartSet

    @property
    def column(self) -> str:
        """Warehouse column that the cells are read into."""
        assert self.field.column is not None
        return self.field.column
