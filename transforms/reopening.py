"""Whether, and on which day, the hole of an operated eye was open again.

An eye has reopened where a scan is not strictly closed after one that is, with no further operation
of the eye between. Strict closure leads here as everywhere: a hole that was closed and is now flat
open has reopened, and one that went from flat open to elevated was never closed. Scans alone say
so; a complication without such a scan stays a complication.
"""

from __future__ import annotations

import pandas as pd

from schemas.codes import CLOSED_STRICT
from transforms.scans import is_true


def find_reopenings(later: pd.DataFrame) -> tuple[pd.DataFrame, dict[str, pd.Series]]:
    """Columns reopened and reopened_day of every operation that has a graded scan, by its label.

    Takes the frame of `transforms.scans.later_scans`. The day is missing where the scan that shows
    the hole open again has no date. Returns also the labels of the scans behind each column, by the
    operation's label: of `reopened` every graded scan, up to the one that shows it.
    """
    is_own = ~is_true(later["since"] >= later["until_next"])
    own = later[is_own & later["is_graded"]].sort_values(["since", "day"], kind="stable")
    is_closed = own["closure"].isin(CLOSED_STRICT)
    closed_since = own["since"].where(is_closed).groupby(own["operation"]).transform("min")
    is_again = ~is_closed & is_true(own["since"] > closed_since)
    opened = own[is_again].drop_duplicates("operation").set_index("operation")
    dated = opened[opened["day"].notna()]
    found = pd.DataFrame(
        {
            "reopened": is_again.groupby(own["operation"]).any().astype("boolean"),
            "reopened_day": dated["since"].astype("Int64"),
        }
    )
    is_further = is_true(own["since"] > own["operation"].map(opened["since"]))
    behind = own[~is_further].set_index("operation")["visit_label"]
    return found, {"reopened": behind, "reopened_day": dated["visit_label"]}
