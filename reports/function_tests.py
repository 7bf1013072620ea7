"""Fields by class of device, and recordings of the retina, as rows of a page."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from reports.estimates import NONE, Estimate, Estimates, Subject
from reports.labels import field_title
from reports.measures import Measure, measure_of
from schemas.function_measures import (
    DEVICE_MEASURES,
    LOG_RATIOS,
    RELATIVE_MEASURES,
    DeviceMeasure,
)
from schemas.pooled_tables import BY_LUMINANCE, UNKNOWN_DEVICE
from schemas.study import Study
from schemas.visit_names import BASELINE

NOT_GIVEN = "not given"


@dataclass(frozen=True)
class FieldRow:
    """One measure in dB within one class of devices, or over all of them by luminance alone."""

    title: str
    device: str
    baseline: Estimate
    primary: Estimate
    change: Estimate
    is_unknown: bool = False
    is_by_luminance: bool = False


def field_rows(estimates: Estimates, study: Study) -> list[FieldRow]:
    """Rows of every measure that has an estimate at baseline or at the primary visit."""
    return [
        row
        for measure in DEVICE_MEASURES
        for row in _of_measure(estimates, measure, study.closure.primary)
        if row.baseline != NONE or row.primary != NONE
    ]


def _of_measure(estimates: Estimates, measure: DeviceMeasure, primary: str) -> Iterator[FieldRow]:
    def found(outcome: str, visit: str, **of: str) -> Estimate:
        return estimates.get(Subject(outcome, visit, statistic="mean", **of), NONE)

    title = field_title(measure.column)
    for level in _device_classes(estimates, measure):
        of = {"group": "device", "level": level}
        yield FieldRow(
            title,
            NOT_GIVEN if level == UNKNOWN_DEVICE else level,
            found(measure.column, BASELINE, **of),
            found(measure.column, primary, **of),
            found(measure.change, primary, **of),
            is_unknown=level == UNKNOWN_DEVICE,
        )
    if measure.by_luminance is not None:
        yield FieldRow(
            title,
            "all, by luminance",
            found(measure.by_luminance, BASELINE, analysis=BY_LUMINANCE),
            found(measure.by_luminance, primary, analysis=BY_LUMINANCE),
            found(measure.change, primary, analysis=BY_LUMINANCE),
            is_by_luminance=True,
        )


def _device_classes(estimates: Estimates, measure: DeviceMeasure) -> list[str]:
    """Levels with an estimate of the measure, by luminance, the unknown last."""
    levels = {
        subject.level
        for subject in estimates
        if subject.outcome == measure.column and subject.group == "device"
    }
    known = sorted(levels - {UNKNOWN_DEVICE}, key=lambda level: float(level.split()[0]))
    return known + [UNKNOWN_DEVICE] * (UNKNOWN_DEVICE in levels)


def recording_rows(estimates: Estimates, study: Study) -> list[Measure]:
    """Log ratios at the primary visit, and what is relative already at baseline too."""
    primary = study.closure.primary
    subjects = {
        f"{field_title(ratio.column)}: ln({primary} / baseline)": Subject(ratio.outcome, primary)
        for ratio in LOG_RATIOS
    } | {
        f"{field_title(column)}, {visit}": Subject(column, visit)
        for column in RELATIVE_MEASURES
        for visit in (BASELINE, primary)
    }
    rows = [measure_of(estimates, title, subject) for title, subject in subjects.items()]
    return [row for row in rows if row.mean != NONE]
