"""Rows of a frame as plain mappings, for what is written row by row."""

from __future__ import annotations

from typing import Any

import pandas as pd


def records(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """One mapping a row, from column name to value."""
    return [{str(name): value for name, value in row.items()} for row in frame.to_dict("records")]
