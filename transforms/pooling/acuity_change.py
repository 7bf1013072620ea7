"""Change of acuity within the eye, and when it counts."""

from __future__ import annotations

import pandas as pd

# 0.3 logMAR is three lines, 15 letters, a doubling of the visual angle: the change that series
# count as meaningful. Common practice, no source.
MEANINGFUL_CHANGE = 0.3

# Changes are compared after rounding, so that 1.0 - 0.7 counts as 0.3.
_DIGITS = 9


def acuity_change(before: pd.Series, after: pd.Series) -> pd.Series:
    """logMAR after less logMAR before, so that negative is better; missing where either is."""
    return (after - before).round(_DIGITS)


def gained(change: pd.Series) -> pd.Series:
    """Whether the eye is better by 0.3 logMAR or more; missing where the change is."""
    return (change <= -MEANINGFUL_CHANGE).where(change.notna())


def lost(change: pd.Series) -> pd.Series:
    """Whether the eye is worse by 0.3 logMAR or more; missing where the change is."""
    return (change >= MEANINGFUL_CHANGE).where(change.notna())
