"""Multifocal electroretinogram: rings of the standard's arrays, densities, ratios, z-scores."""

import itertools
import math
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from reading_context import cells, context

from schemas.conventions import HEXAGON_ARRAYS
from transforms.harmonise.coded import read_code
from transforms.harmonise.electroretinogram import ratio, z_score
from transforms.harmonise.quantities import read_integer, read_number

RINGS = pd.read_csv(Path(__file__).parents[1] / "reference" / "mferg_rings.csv")
TYPICAL = (61, 103)  # as the ISCEV standard calls them


def series(*values):
    return pd.Series(list(values), dtype="float64")


@pytest.mark.parametrize(
    "row", RINGS.to_dict("records"), ids=lambda r: f"ring {r['ring']} of {r['hexagons']}"
)
def test_every_ring_of_the_typical_arrays(row):
    array = HEXAGON_ARRAYS[f"hexagons_{row['hexagons']}"]
    place = row["ring"] - 1
    assert array.rings[place] == row["members"]
    assert sum(array.rings[: row["ring"]]) == row["within"]
    assert (0, *array.outer_deg)[place] == row["inner_deg"]
    assert array.outer_deg[place] == row["outer_deg"]


def test_no_ring_of_them_is_left_out():
    checked = RINGS.groupby("hexagons")["ring"].apply(list).to_dict()
    assert checked == {
        count: [*range(1, len(HEXAGON_ARRAYS[f"hexagons_{count}"].rings) + 1)] for count in TYPICAL
    }


@pytest.mark.parametrize("array", HEXAGON_ARRAYS.values(), ids=HEXAGON_ARRAYS.keys())
def test_the_rings_of_an_array_hold_all_its_hexagons_and_widen(array):
    assert sum(array.rings) == array.hexagons
    assert len(array.outer_deg) in (0, len(array.rings))
    assert all(inner < outer for inner, outer in itertools.pairwise(array.outer_deg))


@pytest.mark.parametrize(("cell", "count"), [(61.0, 61), ("103", 103), (241.0, 241)])
def test_an_array_is_kept_by_its_count_known_or_not(cell, count):
    found = read_integer(cells(cell), context("visit", "mferg_hexagons"))
    assert found["mferg_hexagons"].item() == count


@pytest.mark.parametrize(
    ("cell", "source", "density", "rule"),
    [
        (42.0, {}, 42, "as_typed"),
        (0.42, {"unit": "uV", "area_deg2": 10}, 42, "uV_to_nV/deg2"),
        (420.0, {"unit": "nV", "area_deg2": 10}, 42, "nV_to_nV/deg2"),
        ("0.42 µV", {"unit": "nV", "area_deg2": 10}, 42, "uV_to_nV/deg2"),
        ("42 nV/deg²", {"unit": "nV", "area_deg2": 10}, 42, "as_typed"),
        (0.021, {"unit": "uV", "area_deg2": 0.5}, 42, "uV_to_nV/deg2"),
    ],
)
def test_a_density_is_the_amplitude_over_the_area_of_the_rings_hexagon(cell, source, density, rule):
    read = read_number(cells(cell), context("visit", "mferg_ring1_p1", **source)).iloc[0]
    assert read["mferg_ring1_p1_nv_deg2"] == pytest.approx(density)
    assert (read["rule"], read["problem"]) == (rule, None)


@pytest.mark.parametrize("cell", ["420 nV", "0.42 µV"])
def test_an_amplitude_without_an_area_is_no_density(cell):
    read = read_number(cells(cell), context("visit", "mferg_ring1_p1")).iloc[0]
    assert pd.isna(read["mferg_ring1_p1_nv_deg2"])
    assert read["problem"] == "unit_unknown"


@pytest.mark.parametrize(
    ("response", "reference", "expected"),
    [
        # Mean relative amplitudes of healthy eyes, 61 hexagons unscaled, ring 2 as 1.0: Invest
        # Ophthalmol Vis Sci, meeting abstract 2388663.
        (1.88, 1.0, 1.88),
        (1.88, 0.66, 2.848),
        (1.88, 0.51, 3.686),
        (1.88, 0.38, 4.947),
        (0.0, 20.0, 0.0),
        (20.0, 0.0, None),
        (20.0, None, None),
        (None, 20.0, None),
    ],
)
def test_a_ratio_is_missing_where_it_has_nothing_to_compare_to(response, reference, expected):
    found = ratio(series(response), series(reference)).item()
    assert math.isnan(found) if expected is None else found == pytest.approx(expected, abs=5e-4)


@given(st.floats(0, 400), st.floats(0.1, 400), st.floats(0.05, 20))
def test_what_an_electrode_or_amplifier_does_to_both_rings_cancels(response, reference, gain):
    as_measured = ratio(series(response), series(reference)).item()
    amplified = ratio(series(gain * response), series(gain * reference)).item()
    assert amplified == pytest.approx(as_measured)


@pytest.mark.parametrize(
    ("response", "mean", "spread", "expected"),
    [
        (20.0, 50.0, 10.0, -3.0),
        (50.0, 50.0, 10.0, 0.0),
        (55.0, 50.0, 10.0, 0.5),
        (20.0, 50.0, 0.0, None),
        (20.0, 50.0, None, None),
        (20.0, None, 10.0, None),
        (None, 50.0, 10.0, None),
    ],
)
def test_a_z_score_counts_standard_deviations_of_the_laboratorys_norm(
    response, mean, spread, expected
):
    found = z_score(series(response), series(mean), series(spread)).item()
    assert math.isnan(found) if expected is None else found == pytest.approx(expected)


@pytest.mark.parametrize(
    ("words", "language", "kind"),
    [
        ("DTL", "en", "fibre"),
        ("électrode DTL", "fr", "fibre"),
        ("DTL-Faden", "de", "fibre"),
        ("ERG-jet", "en", "contact_lens"),
        ("lente de contacto", "es", "contact_lens"),
        ("Kontaktlinse", "de", "contact_lens"),
        ("gold foil", "en", "foil"),
        ("HK loop", "es", "foil"),
        ("folha de ouro", "pt", "foil"),
        ("skin", "en", "skin"),
        ("électrode cutanée", "fr", "skin"),
        ("eletrodo de pele", "pt", "skin"),
        ("corneal", "en", None),
        ("gold", "en", None),
        ("no contact lens", "en", None),
    ],
)
def test_electrodes_in_words(words, language, kind):
    read = read_code(cells(words), context("visit", "mferg_electrode", language=language)).iloc[0]
    found = None if pd.isna(read["mferg_electrode"]) else read["mferg_electrode"]
    assert (found, read["problem"]) == (kind, None if kind else "word_unknown")
