"""Measures of function beside acuity, and the way in which each may be pooled.

Decibels are counted from the brightest target of their device, and amplitudes hang on electrode,
amplifier and stimulus. Neither means the same in two centres, so nothing here is ever pooled as a
plain number over devices or laboratories.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from schemas.codebook import table_fields
from schemas.conventions import Device

# Columns of `visits` that must agree between two recordings, where both give them, for one to be a
# change from the other.
SAME_RECORDING = ("mferg_electrode", "mferg_hexagons", "mferg_ring_outer_deg")


@dataclass(frozen=True, kw_only=True)
class DeviceMeasure:
    """A mean in decibels: pooled within the class of devices that share a brightest target.

    `column` holds it, `brightest` the luminance at 0 dB of its `device` and `points` how many
    points were tested, all columns of `visits`. `by_luminance` holds the same on one scale of
    luminance, and `reliable` is false where the field is not to be used. `change` is the outcome of
    its change from baseline.
    """

    column: str
    change: str
    device: Device
    brightest: str
    points: str
    by_luminance: str | None = None
    reliable: str | None = None


DEVICE_MEASURES = (
    DeviceMeasure(
        column="perimetry_mean_db", change="perimetry_mean_change_db", device="bowl",
        brightest="perimeter_max_asb", points="perimetry_points",
        by_luminance="perimetry_mean_at_10000_asb_db", reliable="perimetry_reliable",
    ),
    DeviceMeasure(
        column="perimetry_md_db", change="perimetry_md_change_db", device="bowl",
        brightest="perimeter_max_asb", points="perimetry_points", reliable="perimetry_reliable",
    ),
    DeviceMeasure(
        column="microperimetry_mean_db", change="microperimetry_mean_change_db",
        device="microperimeter",
        brightest="microperimeter_max_asb", points="microperimetry_points",
        by_luminance="microperimetry_mean_at_10000_asb_db",
    ),
)  # fmt: skip


@dataclass(frozen=True)
class LogRatio:
    """An amplitude that is pooled as the natural logarithm of its ratio to baseline, within the
    eye; `column` of `visits` holds it."""

    outcome: str
    column: str


_DENSITY = re.compile(r"mferg_ring(\d)_p1_nv_deg2")

LOG_RATIOS = tuple(
    LogRatio(f"mferg_ring{ring[1]}_log_ratio", column)
    for column in table_fields("visits")
    if (ring := _DENSITY.fullmatch(column))
)

# Without a unit, and against the same laboratory or the same person already.
RELATIVE_MEASURES = ("mferg_ring1_z", "mferg_ring1_fellow_ratio")
