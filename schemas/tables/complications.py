"""Table `complications`: one row for each adverse event after an operation."""

from __future__ import annotations

import pandas as pd
from pandera.typing import Series

from schemas import codes
from schemas.field import Limits, Required, Table, field


class Complications(Table):
    """What went wrong, when, and whether it needed surgery."""

    complication_key: Series[str] = field(
        "Complication", "Random code of the operation, then the place of the event.",
        nullable=False, unique=True,
    )  # fmt: skip
    operation_key: Series[str] = field("Operation", "Random code of the operation.", nullable=False)
    term: Series[str] = field(
        "Complication", "Coded event.", codes=codes.COMPLICATION, required=Required("hold"),
        upload="complication", reads="code", nullable=False,
        source="project choice of terms",
    )  # fmt: skip
    day: Series[pd.Int64Dtype] = field(
        "Day", "Days after the operation.", unit="day", hard=Limits(0, 9000, "project choice"),
        identifier="indirect", upload="complication_date",
    )  # fmt: skip
    needed_surgery: Series[pd.BooleanDtype] = field(
        "Needed surgery", "Another operation was needed.", upload="needed_surgery", reads="yes_no"
    )
