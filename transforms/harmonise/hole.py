"""Size classes of the hole, and the graft's size against it."""

from __future__ import annotations

import math

import pandas as pd

from schemas.conventions import SizeScheme


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
