"""Pooled fields: central perimetry and microperimetry, never over classes of devices.

A decibel is counted from the brightest target of its device, dB = 10 log10(Lmax / L), so that the
same eye has 14 dB less on a device of 400 asb than on one of 10000 asb, and scales also differ at
both ends. Levels and changes are therefore estimated within the class of devices that share a
brightest target, and a change only where both fields come from one class. Eyes whose class is not
known are counted, and no mean is made of them: they may come from several.

Over all classes there are rows of the analysis `by_luminance` alone: the level on the scale of
10000 asb, and the changes as measured within each class, in which the brightest target cancels.
"""

from __future__ import annotations

import pandas as pd

from schemas.function_measures import DEVICE_MEASURES, DeviceMeasure
from schemas.pooled_tables import BY_LUMINANCE, UNKNOWN_DEVICE
from schemas.study import Study
from schemas.visit_names import BASELINE
from transforms.harmonise.luminance import class_luminance
from transforms.pooling.estimates import Outcomes, Row, count_rows, estimate_rows
from transforms.pooling.groups import ALL, Group
from transforms.pooling.visit_choice import by_window, chosen_visits, differs_from_baseline

NOT_ESTIMATED = "not estimated, device class not known"


def perimetry_rows(first: pd.DataFrame, visits: pd.DataFrame, study: Study) -> list[Row]:
    """Level at baseline and at each window, and change from baseline, of each measure in dB.

    `first` holds the index operations, labelled by operation_key. Fields that are not reliable are
    left out. A row is given where at least one eye was measured.
    """
    rows: list[Row] = []
    for measure in DEVICE_MEASURES:
        chosen = chosen_visits(_reliable(visits, measure), study, measure.column)
        chosen = chosen[chosen.index.isin(first.index, level="operation_key")]
        brightest = chosen[measure.brightest].astype("float64")
        of_class = class_luminance(brightest, measure.device).fillna(brightest)
        chosen = chosen.assign(**{measure.brightest: of_class})
        rows += _of_measure(measure, chosen, first["site"], study)
    return rows


def _reliable(visits: pd.DataFrame, measure: DeviceMeasure) -> pd.DataFrame:
    if measure.reliable is None:
        return visits
    return visits[visits[measure.reliable].fillna(True).astype(bool)]


def _of_measure(
    measure: DeviceMeasure, chosen: pd.DataFrame, sites: pd.Series, study: Study
) -> list[Row]:
    level = by_window(chosen[measure.column], study)
    brightest = by_window(chosen[measure.brightest], study)
    is_other = differs_from_baseline(chosen[measure.brightest], study)
    is_other |= differs_from_baseline(chosen[measure.points], study)
    change = level.sub(level[BASELINE], axis=0).mask(is_other).drop(columns=BASELINE)
    of_both = brightest.where(brightest[BASELINE].notna(), axis=0)
    rows = _by_device(measure.column, level, brightest, sites)
    rows += _by_device(measure.change, change, of_both, sites)
    if measure.by_luminance is None:
        return rows
    on_one_scale = by_window(chosen[measure.by_luminance], study)
    within_class = change.where(of_both[change.columns].notna())
    return [
        *rows,
        *_by_luminance(measure.by_luminance, on_one_scale, sites),
        *_by_luminance(measure.change, within_class, sites),
    ]


def _by_device(
    outcome: str, values: pd.DataFrame, brightest: pd.DataFrame, sites: pd.Series
) -> list[Row]:
    """Rows within each class of devices; of an unknown class the number of eyes alone."""
    rows: list[Row] = []
    for window, column in values.items():
        measured = column.dropna()
        luminance = brightest[window].loc[measured.index]
        of = Outcomes(str(window), measures={outcome: measured})
        for asb in sorted(luminance.dropna().unique()):
            rows += estimate_rows(of, [_device(f"{asb:g} asb", luminance == asb, sites)])
        if luminance.isna().any():
            unknown = _device(UNKNOWN_DEVICE, luminance.isna(), sites)
            rows += count_rows(of, [unknown], NOT_ESTIMATED)
    return rows


def _device(level: str, is_of_class: pd.Series, sites: pd.Series) -> Group:
    return Group("device", level, sites.loc[is_of_class.index[is_of_class]])


def _by_luminance(outcome: str, values: pd.DataFrame, sites: pd.Series) -> list[Row]:
    """Rows over all classes that say so."""
    rows: list[Row] = []
    for window, column in values.items():
        if (measured := column.dropna()).empty:
            continue
        of = Outcomes(str(window), BY_LUMINANCE, {outcome: measured})
        rows += estimate_rows(of, [Group(ALL, ALL, sites.loc[measured.index])])
    return rows
