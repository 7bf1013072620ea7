"""Tests of central function that some centres have: microperimetry, fields, multifocal ERG."""

from __future__ import annotations

import random
from collections.abc import Mapping

from sample_inputs.generator.records import Cell, Record
from sample_inputs.generator.writing import number, yes_no


def constant(column: str, value: str | float) -> Cell:
    """One value for the whole centre, that its crosswalk names."""
    return Cell(None, {column: value}, is_constant=True)


MICRO_BRIGHTEST_ASB = 1000
MICRO_POINTS = constant("microperimetry_points", 37)


def add_microperimetry(visit: Record, logmar: float, rng: random.Random) -> None:
    """Mean sensitivity in dB, and where the eye fixates."""
    sensitivity = min(max(25 - 9 * logmar + rng.gauss(0, 1.2), 1.0), 30.0)
    within_1 = min(max(round(88 - 34 * logmar + rng.gauss(0, 6)), 6), 92)
    visit.cells |= {
        "microperimetry_mean": number("microperimetry_mean_db", round(sensitivity, 1)),
        "microperimeter_max": number("microperimeter_max_asb", MICRO_BRIGHTEST_ASB),
        "microperimetry_points": MICRO_POINTS,
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
    }


def add_answers(visit: Record, rng: random.Random) -> None:
    """How the eye answered: a field that was judged unreliable has many answers without a target.

    Fixation losses are many in any case: these eyes look off centre.
    """
    is_reliable = visit.cells["perimetry_reliable"].means["perimetry_reliable"]
    false_positive = rng.randint(0, 9) if is_reliable else rng.randint(22, 45)
    visit.cells |= {
        "perimetry_fixation_loss": number("perimetry_fixation_loss_pct", rng.randint(5, 70)),
        "perimetry_false_positive": number("perimetry_false_positive_pct", false_positive),
        "perimetry_false_negative": number("perimetry_false_negative_pct", rng.randint(0, 18)),
    }


def add_mean_defect(visit: Record, logmar: float, rng: random.Random) -> None:
    """A central field on a perimeter that gives its loss as a positive mean defect, in dB."""
    mean = round(min(max(29 - 7 * logmar + rng.gauss(0, 1.5), 6.0), 31.0), 1)
    loss = round(31.0 - mean + rng.uniform(-0.9, 0.9), 1)
    visit.cells |= {
        "perimetry_mean": number("perimetry_mean_db", mean),
        "perimetry_md": Cell(loss, {"perimetry_md_db": -loss}),
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


def add_outer_times(visit: Record, rng: random.Random) -> None:
    """P1 times of the rings round the central one, which are shorter."""
    for ring in range(2, 6):
        visit.cells[f"mferg_ring{ring}_time"] = number(
            f"mferg_ring{ring}_p1_ms", round(rng.uniform(29, 36), 1)
        )


def add_norm(visit: Record, years: int) -> None:
    """The laboratory's own norm of the first ring at that age, and its spread."""
    visit.cells |= {
        "mferg_norm_ring1_p1": number("mferg_norm_ring1_p1_nv_deg2", round(71 - 0.2 * years, 1)),
        "mferg_norm_ring1_sd": number("mferg_norm_ring1_sd_nv_deg2", 8.5 if years < 60 else 9.5),
    }


def add_microvolts(
    visit: Record, logmar: float, areas: Mapping[int, float], rng: random.Random
) -> None:
    """P1 amplitudes of inner rings in microvolts, one hexagon of each ring of so many square
    degrees, and their times."""
    for ring, area in areas.items():
        density = (44 - 17 * logmar if ring == 1 else 25.0) + rng.gauss(0, 2.5)
        amplitude = round(max(density, 5.0) * area / 1000, 3)
        visit.cells[f"mferg_ring{ring}_p1"] = Cell(
            amplitude, {f"mferg_ring{ring}_p1_nv_deg2": amplitude * 1000 / area}
        )
        visit.cells[f"mferg_ring{ring}_time"] = number(
            f"mferg_ring{ring}_p1_ms", round(rng.uniform(32, 43), 1)
        )
