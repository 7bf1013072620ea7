"""Values that are worked out from tests of central function, of which fields the codebook says, and
what is asked about their devices."""

from __future__ import annotations

from collections.abc import Callable

import pandas as pd

from schemas.codebook import table_fields, upload_fields
from schemas.function_measures import DEVICE_MEASURES
from transforms.findings import gathered, raised
from transforms.harmonise.electroretinogram import ratio, z_score
from transforms.harmonise.luminance import class_luminance, known_luminances, mean_on_scale
from transforms.harmonise.readings import column_of
from transforms.records import CellsOfRecords

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
    return column_of(visits, str(upload_fields("visit")[upload].column)).astype("float64")


def luminance_findings(visits: pd.DataFrame, cells: CellsOfRecords) -> pd.DataFrame:
    """Asks about a brightest target that no known class of devices has."""
    devices = {measure.brightest: measure.device for measure in DEVICE_MEASURES}
    found = []
    for column, device in devices.items():
        if column not in visits:
            continue
        given = visits[column].astype("float64").dropna()
        unknown = given.index[class_luminance(given, device).isna()]
        name = table_fields("visits")[column].upload[0]
        usual = " or ".join(f"{asb:g}" for asb in known_luminances(device))
        found.append(raised("luminance_unknown", cells.of("visit", name, unknown), other=usual))
    return gathered(*found)
