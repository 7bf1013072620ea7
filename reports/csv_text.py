"""Comma-separated text: UTF-8, one line end, stable floats, nothing that runs as a formula."""

from __future__ import annotations

import pandas as pd
from pandas.api.types import is_bool_dtype, is_numeric_dtype

from reports.spreadsheet import neutralised


def csv_bytes(frame: pd.DataFrame) -> bytes:
    """The frame as .csv; floats have the shortest digits that read back as the same number."""
    safe = pd.DataFrame(
        {
            neutralised(name): column
            if is_numeric_dtype(column) or is_bool_dtype(column)
            else column.astype(object).map(neutralised)
            for name, column in frame.items()
        }
    )
    return safe.to_csv(index=False, lineterminator="\n").encode("utf-8")
