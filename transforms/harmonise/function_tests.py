"""Values that are worked out from tests of central function. The codebook says of which fields."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd

from schemas.codebook import table_fields, upload_fields
from transforms.harmonise.electroretinogram import ratio, z_score
from transforms.harmonise.luminance import mean_on_scale

WORKED_OUT: dict[str, Callable[..., pd.Series]] = {
    "perimetry_mean_at_10000_asb_db": mean_on_scale,
    "microperimetry_mean_at_10000_asb_db": mean_on_scale,
    "mferg_ring1_ring2_ratio": ratio,
    "mferg_ring1_ring3_ratio": ratio,
    "mferg_ring1_ring4_ratio": ratio,
    "mferg_ring1_ring5_ratio": ratio,
    "mferg_ring1_fellow_ratio": ratio,
    "mferg_ring1_norm_ratio": ratio,
    "mferg_ring1_z": z_score,
}


def work_out_function_tests(visits: pd.DataFrame) -> None:
    """Adds the worked-out columns to the visits, missing where a part of them is missing."""
    for column, rule in WORKED_OUT.items():
        parts = table_fields("visits")[column].upload
        visits[column] = rule(*(_numbers(visits, name) for name in parts))


def _numbers(visits: pd.DataFrame, upload: str) -> pd.Series:
    """The column that an upload field is read into, all missing where none was."""
    column = upload_fields("visit")[upload].column
    return visits.get(column, pd.Series(np.nan, index=visits.index)).astype("float64")
