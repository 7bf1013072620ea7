"""Multifocal electroretinogram: what makes responses of different laboratories comparable.

Amplitudes are never pooled as they stand. A response density (nV/deg2) hangs on the electrode (skin
electrodes give 32 to 38 % of what a thread gives, PMC12137451), on amplifier and filters, on how
the array is scaled (the same healthy eyes had a ring 1 of 1.88 times ring 2 on an unscaled array
and of 1.20 times on a scaled one, Invest Ophthalmol Vis Sci, meeting abstract 2388663), and on the
rings' radii, which are the software's own. The ISCEV standard (2021 update,
doi:10.1007/s10633-020-09812-w) therefore has every laboratory collect its own norm. What carries
from one to another is what cancels the laboratory: the change within an eye as a log ratio, which
pooling makes of two visits, and the z-score against the laboratory's own norm.

Ratios cancel electrode and amplifier, but not the array: they compare on equal rings alone. The
fellow eye of a hole is not a healthy one (its central 2 degrees were marginally reduced, meeting
abstract 2419739), so a ratio to it tells less loss than there is.
"""

from __future__ import annotations

import pandas as pd


def ratio(response: pd.Series, reference: pd.Series) -> pd.Series:
    """Response density over a reference in the same unit: another ring, the fellow eye, the norm.

    Missing where either is missing or the reference is not above 0.
    """
    return response / reference.where(reference > 0)


def z_score(response: pd.Series, norm_mean: pd.Series, norm_sd: pd.Series) -> pd.Series:
    """Standard deviations of the laboratory's norm by which a response lies above its mean.

    All three in one unit. Missing where any is missing or the standard deviation is not above 0.
    """
    return (response - norm_mean) / norm_sd.where(norm_sd > 0)
