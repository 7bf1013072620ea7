"""Tests of central function that some centres have: microperimetry, fields, multifocal ERG."""

from __future__ import annotations

import random

from sample_inputs.generator.records import Cell, Record
from sample_inputs.generator.writing import number, yes_no

BRIGHTEST_ASB = Cell("10000", {"perimeter_max_asb": 10000.0}, is_constant=True)
MICRO_BRIGHTEST_ASB = Cell("1000", {"microperimeter_max_asb": 1000.0}, is_constant=True)


def add_microperimetry(visit: Record, logmar: float, rng: random.Random) -> None:
    """Mean sensitivity in dB, and where the eye fixates."""
    sensitivity = min(max(25 - 9 * logmar + rng.gauss(0, 1.2), 1.0), 30.0)
    within_1 = min(max(round(88 - 34 * logmar + rng.gauss(0, 6)), 6), 92)
    visit.cells |= {
        "microperimetry_mean": number("microperimetry_mean_db", round(sensitivity, 1)),
        "microperimeter_max": MICRO_BRIGHTEST_ASB,
        "fixation_p1": number("fixation_p1_pct", within_1),
        "fixation_p2": number("fixation_p2_pct", min(within_1 + rng.randint(4, 22), 100)),
        "fixation_bcea": number("fixation_bcea_deg2", round(rng.uniform(0.8, 9.5), 1)),
    }


def add_central_field(visit: Record, logmar: float, rng: random.Random) -> None:
    """A 10-2 field: mean sensitivity and mean deviation in dB."""
    mean = min(max(33 - 7 * logmar + rng.gauss(0, 1.5), 8.0), 35.0)
    visit.cells |= {
        "perimetry_mean": number("perimetry_mean_db", round(mean, 1)),
        "perimetry_md": number("perimetry_md_db", round(mean - 34.0, 2)),
        "perimetry_reliable": yes_no("perimetry_reliable", rng.random() < 0.85, ("yes", "no")),
        "perimeter_max": BRIGHTEST_ASB,
    }


def add_multifocal_erg(visit: Record, logmar: float, rng: random.Random) -> None:
    """P1 densities of five rings in nV/deg2, and the time of the central one."""
    centre = max(46 - 18 * logmar + rng.gauss(0, 3), 6.0)
    densities = (centre, 24 + rng.gauss(0, 2), 17 + rng.gauss(0, 2), 12 + rng.gauss(0, 1), 9.0)
    for ring, density in enumerate(densities, start=1):
        visit.cells[f"mferg_ring{ring}_p1"] = number(
            f"mferg_ring{ring}_p1_nv_deg2", round(density, 1)
        )
    visit.cells["mferg_ring1_time"] = number("mferg_ring1_p1_ms", round(rng.uniform(33, 44), 1))
    visit.cells["mferg_fellow_ring1_p1"] = number(
        "mferg_fellow_ring1_p1_nv_deg2", round(rng.uniform(44, 68), 1)
    )
