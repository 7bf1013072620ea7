"""Decibels of perimeters and microperimeters, tied to the luminance of the brightest target.

The model. A device gives a threshold as dB = 10 log10(Lmax / L): L is the luminance of the dimmest
target seen, Lmax that of the device's brightest one, which is 0 dB. A decibel is thus worth another
luminance on every class of device, and a value of one class has on the scale of another

    dB_new = dB_old + 10 log10(Lmax_new / Lmax_old)

(arithmetic; open perimetry software, OPI dbTocd, has 10000 / pi cd/m2 for 0 dB and 10 dB a decade;
DICOM PS3.3 C.8.26 advises to check for each device how its decibels are defined). The shift is the
same for every value of a device, so it moves no difference between two visits on one device.

Its limits. It equates luminance, and an eye sees contrast: over a background of 31.4 asb a target
needs more light than over one of 4. Size, duration and colour of the target and the strategy differ
too. Floors and ceilings censor: 90 % of healthy points stood at the top of a 20 dB device (Transl
Vis Sci Technol 2014, PMC4164074), and of the points at 0 dB on one of two devices 29 % and 15 %
could be measured on the other (Invest Ophthalmol Vis Sci, meeting abstract 2563318). Published
pairs disagree with it: the same eyes were 8.8 dB apart on devices of 400 and 1000 asb, which the
shift puts at 4.0 (meeting abstract 2148406), and the curve fitted between two others over 10 to
19 dB, 15.6 + 0.564 dB - 0.009 dB^2, is no shift at all (PMC4164074). So the converted value has a
column of its own beside the native one, and the two are never pooled as one: a class of devices is
a group of its own, and change within the eye on one device needs no conversion.

What is converted is a mean. A mean sensitivity is the arithmetic mean of the points' dB, which is
the geometric mean of their 1 / L: points of 30, 30, 0 and 0 dB have a mean of 15.0. The mean of the
luminances would give 27.0, and is never used. A mean is no single threshold: where some of its
points lie at the floor or the ceiling, it is biased by them, and nothing in it shows how many they
were. Only a mean of 0 says so: every point lies at the floor, and it is a bound.
"""

from __future__ import annotations

import math

import numpy as np
import pandas as pd

from schemas.conventions import LUMINANCE_CLASSES, Device

REFERENCE_ASB = 10_000.0
# Luminances are given in cd/m2 to three digits and names are not: 318 cd/m2 is 999 asb.
SAME_CLASS = 0.01


def on_scale(db: pd.Series, max_asb: pd.Series, scale_asb: float = REFERENCE_ASB) -> pd.Series:
    """Each dB on the scale of a device whose brightest target has `scale_asb`.

    `max_asb` is the brightest target (asb) of the device that gave each value; both series share
    an index. Missing where the luminance is missing or not above 0.
    """
    brightest = max_asb.astype("float64").where(lambda asb: asb > 0)
    return db.astype("float64") + 10.0 * np.log10(scale_asb / brightest)


def mean_on_scale(mean_db: pd.Series, max_asb: pd.Series) -> pd.Series:
    """Each mean sensitivity on the scale of 10000 asb, see `on_scale`.

    Missing where the mean is 0: no point was seen, and shifted it would be a sensitivity, the
    higher the dimmer the device.
    """
    mean = mean_db.astype("float64")
    return on_scale(mean.where(mean > 0), max_asb)


def class_luminance(max_asb: pd.Series, device: Device) -> pd.Series:
    """Luminance (asb) that `schemas.conventions` declares for the class of each device, by its
    brightest target (asb); missing where that is within a hundredth of none of them."""
    classes = {asb: _class_of(asb, device) for asb in max_asb.dropna().unique()}
    return max_asb.map(classes).astype("float64")


def known_luminances(device: Device) -> tuple[float, ...]:
    """Luminances (asb) of the classes of a kind of device, from the dimmest on."""
    classes = (each for each in LUMINANCE_CLASSES.values() if each.device == device)
    return tuple(sorted(each.max_asb for each in classes))


def _class_of(asb: float, device: Device) -> float | None:
    near = (
        each for each in known_luminances(device) if math.isclose(each, asb, rel_tol=SAME_CLASS)
    )
    return next(near, None)
