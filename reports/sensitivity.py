"""How much pooled acuity hangs on the values given to words off the chart, as rows of a page."""

from __future__ import annotations

from dataclasses import dataclass

from reports.estimates import NONE, Estimate, Estimates, Subject
from schemas.conventions import OFF_CHART_SETS
from schemas.pooled_tables import (
    ANALYSES,
    BY_LUMINANCE,
    MAIN,
    ORDERED_CATEGORY,
    off_chart_analysis,
)
from schemas.study import Study


@dataclass(frozen=True)
class Sensitivity:
    """Change of acuity at the primary visit in one analysis; by category there is no mean."""

    title: str
    imputed: Estimate
    mean: Estimate
    better: Estimate
    worse: Estimate
    is_main: bool

    @property
    def eyes(self) -> int | None:
        """Eyes with a change; None where that is masked."""
        return self.better.eyes


def sensitivity_rows(estimates: Estimates, study: Study) -> list[Sensitivity]:
    """The main analysis, then each other; the study's own set is the main analysis."""
    own = off_chart_analysis(study.acuity.off_chart)
    return [_row(estimates, name, study) for name in ANALYSES if name not in (own, BY_LUMINANCE)]


def _row(estimates: Estimates, analysis: str, study: Study) -> Sensitivity:
    def found(outcome: str, statistic: str = "proportion") -> Estimate:
        visit = study.closure.primary
        return estimates.get(Subject(outcome, visit, statistic=statistic, analysis=analysis), NONE)

    by_category = analysis == ORDERED_CATEGORY
    return Sensitivity(
        title=_title(analysis, study),
        imputed=found("acuity_change_imputed"),
        mean=found("acuity_change_logmar", "mean"),
        better=found("acuity_better_by_category" if by_category else "acuity_gained_0.3"),
        worse=found("acuity_worse_by_category" if by_category else "acuity_lost_0.3"),
        is_main=analysis == MAIN,
    )


def _title(analysis: str, study: Study) -> str:
    if analysis != MAIN:
        return ANALYSES[analysis].title
    own = OFF_CHART_SETS[study.acuity.off_chart].title
    return f"Main, with the study's set: {own[:1].lower()}{own[1:]}"
