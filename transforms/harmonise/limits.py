"""The codebook's limits, run as pandera checks over the harmonised values."""

from __future__ import annotations

from functools import cache
from typing import Literal

import pandas as pd
import pandera.pandas as pa

from schemas.codebook import RECORD_TABLE, RecordKind, table_fields

Kind = Literal["hard", "soft"]


@cache
def _limit_schema(kind: RecordKind, which: Kind) -> pa.DataFrameSchema:
    """One range check for each column of the kind's table that has such limits."""
    columns = {}
    for name, spec in table_fields(RECORD_TABLE[kind]).items():
        limits = spec.hard if which == "hard" else spec.soft
        if limits is not None:
            check = pa.Check.in_range(limits.low, limits.high, name=name)
            columns[name] = pa.Column(checks=check, nullable=True, required=False)
    return pa.DataFrameSchema(columns)


def outside(values: pd.DataFrame, kind: RecordKind, which: Kind) -> dict[str, pd.Index]:
    """Labels of the rows in which each column lies outside its hard or soft limits."""
    try:
        _limit_schema(kind, which).validate(values, lazy=True)
    except pa.errors.SchemaErrors as failed:
        # Only the masks are taken on: the exception's text would repeat the values.
        masks = {error.schema.name: error.check_output for error in failed.schema_errors}
    else:
        return {}
    return {str(name): mask.index[~mask.astype(bool)] for name, mask in masks.items()}
