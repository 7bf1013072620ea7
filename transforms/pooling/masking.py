"""Small counts are hidden where a table goes to people who could recognise a patient in them."""

from __future__ import annotations

import pandas as pd

_HIDDEN = (
    "eyes", "events", "estimate", "ci_low", "ci_high", "pi_low", "pi_high", "tau2", "i2",
)  # fmt: skip


def masked(table: pd.DataFrame, smallest_cell: int) -> pd.DataFrame:
    """Hides rows in which a count of 1 to `smallest_cell` - 1 stands: eyes with the outcome, eyes
    without it, or the eyes themselves. 0 hides nothing."""
    counts = [table["eyes"], table["events"], table["eyes"] - table["events"]]
    is_small = pd.concat([c.between(1, smallest_cell - 1) for c in counts], axis=1)
    hide = is_small.fillna(False).any(axis=1)
    result = table.assign(masked=hide)
    result.loc[hide, list(_HIDDEN)] = None
    return result
