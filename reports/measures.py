"""Statistics of one measure, as a row of a page's table."""

from __future__ import annotations

from dataclasses import dataclass

from reports.estimates import NONE, Estimate, Estimates, Subject


@dataclass(frozen=True)
class Measure:
    """Statistics of one measure in one set of eyes; `gained` and `lost` only for a change of
    acuity."""

    title: str
    mean: Estimate
    sd: Estimate
    median: Estimate
    lower_quartile: Estimate
    upper_quartile: Estimate
    gained: Estimate = NONE
    lost: Estimate = NONE
    is_total: bool = False


def measure_of(estimates: Estimates, title: str, subject: Subject) -> Measure:
    """Every statistic that the table holds of the measure of `subject`."""

    def statistic(name: str, of: str = subject.outcome) -> Estimate:
        return estimates.get(subject._replace(outcome=of, statistic=name), NONE)

    return Measure(
        title=title,
        mean=statistic("mean"),
        sd=statistic("sd"),
        median=statistic("median"),
        lower_quartile=statistic("lower_quartile"),
        upper_quartile=statistic("upper_quartile"),
        gained=statistic("proportion", "acuity_gained_0.3"),
        lost=statistic("proportion", "acuity_lost_0.3"),
    )
