"""The hole and its graft: size classes, indices, and the graft's size against the hole.

A length in disc diameters is nominal: discs run from 1500 to 2100 µm. It decides no size class. An
index is left out where only some of its lengths are nominal; where all are, it is as exact as they.
An oversize is worked out all the same, and `graft_diameter_nominal` and `hole_min_diameter_nominal`
mark it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import pandas as pd

from schemas.conventions import SIZE_SCHEMES, SizeScheme

MINIMUM, BASE, HEIGHT = "hole_min_diameter_um", "hole_base_diameter_um", "hole_height_um"
ARMS = ("hole_arm_one_um", "hole_arm_two_um")
GRAFT = "graft_diameter_um"
LENGTHS = (MINIMUM, BASE, HEIGHT, *ARMS, GRAFT)


def size_class(minimum_um: pd.Series, is_nominal: pd.Series, scheme: SizeScheme) -> pd.Series:
    """Class of each minimum diameter (µm); an edge belongs to the class below it.

    A diameter in disc diameters is nominal and decides no class.
    """
    edges = [-math.inf, *scheme.edges, math.inf]
    classes = pd.cut(minimum_um, edges, right=True, labels=list(scheme.codes)).astype("str")
    return classes.where(~is_nominal.fillna(False).astype(bool) & minimum_um.notna())


def oversize_pct(graft_um: pd.Series, hole_um: pd.Series) -> pd.Series:
    """By how many per cent the graft's diameter exceeds the hole's: 100 (graft / hole - 1)."""
    return 100.0 * (graft_um / hole_um - 1.0)


def area_oversize_pct(graft_um: pd.Series, hole_um: pd.Series) -> pd.Series:
    """By how many per cent the graft's area exceeds the hole's: 100 ((graft / hole)^2 - 1)."""
    return 100.0 * ((graft_um / hole_um) ** 2 - 1.0)


def mean_diameter(first_um: pd.Series, second_um: pd.Series) -> pd.Series:
    """Diameter of the circle with the area of an ellipse: the geometric mean of its two diameters;
    the first one where there is no second."""
    return (first_um * second_um.fillna(first_um)).pow(0.5)


@dataclass(frozen=True)
class Lengths:
    """Lengths of hole and graft in µm, and whether each was given in disc diameters; both frames
    have the columns of `LENGTHS`."""

    um: pd.DataFrame
    is_nominal: pd.DataFrame

    def index_of(self, parts: tuple[str, ...], whole: str) -> pd.Series:
        """Sum of the parts / whole, left out where only some of them are nominal."""
        nominal = self.is_nominal[[*parts, whole]]
        is_alike = nominal.all(axis=1) | ~nominal.any(axis=1)
        return (sum(self.um[part] for part in parts) / self.um[whole]).where(is_alike)


def sizes(lengths: Lengths) -> pd.DataFrame:
    """Size classes, indices and oversize, by warehouse column, labelled as the lengths."""
    um, nominal = lengths.um, lengths.is_nominal[MINIMUM]
    return pd.DataFrame(
        {
            "hole_size_class": size_class(um[MINIMUM], nominal, SIZE_SCHEMES["ivts_2013"]),
            "hole_size_band": size_class(um[MINIMUM], nominal, SIZE_SCHEMES["bands_above_400"]),
            "hole_form_factor": lengths.index_of(ARMS, BASE),
            "macular_hole_index": lengths.index_of((HEIGHT,), BASE),
            "tractional_hole_index": lengths.index_of((HEIGHT,), MINIMUM),
            "diameter_hole_index": lengths.index_of((MINIMUM,), BASE),
            "graft_oversize_min_pct": oversize_pct(um[GRAFT], um[MINIMUM]),
            "graft_oversize_min_area_pct": area_oversize_pct(um[GRAFT], um[MINIMUM]),
            "graft_oversize_base_pct": oversize_pct(um[GRAFT], um[BASE]),
            "graft_oversize_base_area_pct": area_oversize_pct(um[GRAFT], um[BASE]),
        }
    )
