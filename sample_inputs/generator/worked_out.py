"""Values that follow from others of the same row: sizes of hole and graft, shifts and ratios.

Written down from the published formulas, beside the tool's own.
"""

from __future__ import annotations

import math

TruthRow = dict[str, object]

BRIGHTEST_ASB = 10000
RINGS = (2, 3, 4, 5)


def of_operation(row: TruthRow) -> TruthRow:
    """Size classes, indices of the hole, and the graft's size against the hole."""
    minimum, base, height, one, two = (
        _number(row, f"hole_{name}_um")
        for name in ("min_diameter", "base_diameter", "height", "arm_one", "arm_two")
    )
    graft = _mean_diameter(row)
    is_nominal = _is_nominal(row, "hole_min_diameter") is True
    arms = None if one is None or two is None else one + two
    height = None if is_nominal else height
    return {
        "hole_min_diameter_nominal": _is_nominal(row, "hole_min_diameter"),
        "hole_base_diameter_nominal": _is_nominal(row, "hole_base_diameter"),
        "hole_size_class": None if is_nominal else _size_class(minimum),
        "hole_size_band": None if is_nominal else _size_band(minimum),
        "hole_form_factor": _ratio(arms, base),
        "macular_hole_index": _ratio(height, base),
        "tractional_hole_index": _ratio(height, minimum),
        "diameter_hole_index": _ratio(minimum, base),
        "graft_diameter_um": graft,
        "graft_diameter_nominal": None if graft is None else False,
        "graft_oversize_min_pct": _more(_ratio(graft, minimum)),
        "graft_oversize_min_area_pct": _more(_ratio(graft, minimum), power=2),
        "graft_oversize_base_pct": _more(_ratio(graft, base)),
        "graft_oversize_base_area_pct": _more(_ratio(graft, base), power=2),
    }


def of_visit(row: TruthRow) -> TruthRow:
    """Sensitivities on the scale of the brightest perimeter, and what the first ring is to others
    and to the laboratory's norm."""
    ring_1, norm, spread = (
        _number(row, f"mferg_{name}_nv_deg2") for name in ("ring1_p1", "norm_ring1_p1",
                                                           "norm_ring1_sd")
    )  # fmt: skip
    outer = {ring: _number(row, f"mferg_ring{ring}_p1_nv_deg2") for ring in RINGS}
    beyond_norm = None if ring_1 is None or norm is None else ring_1 - norm
    return {
        **{f"mferg_ring1_ring{ring}_ratio": _ratio(ring_1, outer[ring]) for ring in RINGS},
        "perimetry_mean_at_10000_asb_db": _at_brightest(row, "perimetry", "perimeter"),
        "microperimetry_mean_at_10000_asb_db": _at_brightest(
            row, "microperimetry", "microperimeter"
        ),
        "mferg_ring1_fellow_ratio": _ratio(ring_1, _number(row, "mferg_fellow_ring1_p1_nv_deg2")),
        "mferg_ring1_norm_ratio": _ratio(ring_1, norm),
        "mferg_ring1_z": _ratio(beyond_norm, spread),
    }


def _number(row: TruthRow, name: str) -> float | None:
    value = row.get(name)
    return float(value) if isinstance(value, int | float) else None


def _is_nominal(row: TruthRow, length: str) -> bool | None:
    """Whether a length was given in disc diameters, where it was given."""
    if _number(row, f"{length}_um") is None:
        return None
    return row.get(f"{length}_nominal") is True


def _mean_diameter(row: TruthRow) -> float | None:
    """The geometric mean of an oval graft's diameters, which has the area of the ellipse."""
    first = _number(row, "graft_diameter_um")
    second = _number(row, "graft_second_diameter_um")
    return first if first is None or second is None else math.sqrt(first * second)


def _ratio(above: float | None, below: float | None) -> float | None:
    return None if above is None or below is None else above / below


def _more(ratio: float | None, power: int = 1) -> float | None:
    """By how many per cent one length, or area, exceeds the other."""
    return None if ratio is None else 100 * (ratio**power - 1)


def _at_brightest(row: TruthRow, test: str, device: str) -> float | None:
    mean, brightest = _number(row, f"{test}_mean_db"), _number(row, f"{device}_max_asb")
    if mean is None or brightest is None:
        return None
    return mean + 10 * math.log10(BRIGHTEST_ASB / brightest)


def _size_class(minimum: float | None) -> str | None:
    if minimum is None:
        return None
    return ("small_to_250" if minimum <= 250 else "medium_251_400" if minimum <= 400
            else "large_over_400")  # fmt: skip


def _size_band(minimum: float | None) -> str | None:
    if minimum is None:
        return None
    bands = ((400, "to_400"), (500, "401_500"), (650, "501_650"), (800, "651_800"))
    return next((band for edge, band in bands if minimum <= edge), "over_800")
