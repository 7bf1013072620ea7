"""The page of pooled results: closure and function, with figures, tables and methods."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import pandas as pd
from markupsafe import Markup

from reports.estimates import (
    NONE,
    Estimate,
    Estimates,
    Subject,
    index_estimates,
    levels_of,
)
from reports.figures.forest import COLUMNS, LAYOUTS, forest
from reports.function_tests import field_rows, recording_rows
from reports.labels import closure_subjects, level_titles
from reports.measures import Measure, measure_of
from reports.page import render
from reports.run_view import RunView
from reports.sensitivity import sensitivity_rows
from schemas import codes
from schemas.conventions import OFF_CHART_SETS, SIZE_SCHEMES
from schemas.visit_names import BASELINE, BASELINE_DAYS
from transforms.pooling.groups import index_operations

GROUPS = {"site": "Centre", "technique": "Technique", "size_class": "Size of the hole"}
ALL_EYES = "All eyes"
CHANGE = "acuity_change_logmar"


@dataclass(frozen=True)
class Figure:
    """A forest plot in the layouts for a wide and a narrow page."""

    figure_id: str
    caption: str
    drawings: list[Markup]


@dataclass(frozen=True)
class Row:
    """A row of a table of estimates; the last row of a table stands for all eyes."""

    title: str
    cells: list[Estimate]
    is_total: bool = False


@dataclass(frozen=True)
class Grouped:
    """A table of estimates by one grouping."""

    group: str
    heading: str
    rows: list[Row]


@dataclass(frozen=True)
class OffChart:
    """An acuity that no chart measures: its value in the study's set and how often it occurs,
    None where that count is masked."""

    title: str
    value: float
    visits: int | None


def pooled_page(view: RunView) -> str:
    """The page pooled.html."""
    closure = index_estimates(view.tables["closure"])
    function = index_estimates(view.tables["function"])
    subjects = closure_subjects(view.study)
    leading, broad, *_ = subjects
    return render(
        "pooled.html",
        title="Pooled results",
        study_name=view.study.study.name,
        week=view.week,
        code_version=view.code_version,
        here="pooled.html",
        study=view.study,
        eyes=len(index_operations(view.operations)),
        primary_days=view.study.visits[view.study.closure.primary],
        leading=closure.get(leading, NONE),
        broad=closure.get(broad, NONE),
        figures=[_figure(view, closure, leading, group) for group in ("site", "technique")],
        outcome_titles=list(subjects.values()),
        closure_tables=[_by_group(view, closure, group, list(subjects)) for group in GROUPS],
        acuity=_acuity(view, function),
        change=_change(view, function),
        change_by_group=[
            _change_by_group(view, function, group) for group in ("site", "technique")
        ],
        sensitivity=sensitivity_rows(function, view.study),
        fields=field_rows(function, view.study),
        recordings=recording_rows(function, view.study),
        baseline_days=BASELINE_DAYS,
        off_chart_set=OFF_CHART_SETS[view.study.acuity.off_chart],
        off_chart=_off_chart(view),
        acuities=int(view.visits["acuity_logmar"].notna().sum()),
        size_scheme=SIZE_SCHEMES[view.study.hole.size_classes],
        closed_strict=[codes.CLOSURE[code] for code in codes.CLOSED_STRICT],
        closed_broad_too=[
            codes.CLOSURE[code] for code in codes.CLOSED_BROAD if code not in codes.CLOSED_STRICT
        ],
        closure_unknown=[codes.CLOSURE[code] for code in codes.CLOSURE_UNKNOWN],
        methods=_methods(view.tables.values()),
    )


def _figure(view: RunView, estimates: Estimates, leading: Subject, group: str) -> Figure:
    heading = GROUPS[group]
    rows = _forest_rows(view, estimates, leading, group)
    title = f"Primary closure, strict, by {heading.lower()}"
    description = (
        f"Forest plot: share of eyes closed at {leading.visit} with its 95 per cent Wilson "
        f"interval, one row a {heading.lower()}, all eyes in the last row. The numbers stand "
        "beside each row and in the table below."
    )
    drawings = [
        forest(
            rows, layout, figure_id=f"forest-{group}", title=title, description=description,
            heading=heading,
        )
        for layout in LAYOUTS
    ]  # fmt: skip
    # The drawing escapes its own texts.
    return Figure(f"figure-{group}", title, [Markup(drawing) for drawing in drawings])


def _forest_rows(view: RunView, estimates: Estimates, leading: Subject, group: str) -> pd.DataFrame:
    titles = levels_of(estimates, group, level_titles(view, group))
    subjects = {title: leading._replace(group=group, level=code) for code, title in titles.items()}
    subjects[ALL_EYES] = leading
    found = [(title, estimates.get(subject, NONE)) for title, subject in subjects.items()]
    values = [
        (title, one.eyes, one.events, one.value, one.low, one.high, one.masked, title == ALL_EYES)
        for title, one in found
    ]
    return pd.DataFrame(values, columns=list(COLUMNS))


def _by_group(view: RunView, estimates: Estimates, group: str, subjects: list[Subject]) -> Grouped:
    rows = [
        Row(
            title,
            [estimates.get(one._replace(group=group, level=level), NONE) for one in subjects],
        )
        for level, title in levels_of(estimates, group, level_titles(view, group)).items()
    ]
    total = Row(ALL_EYES, [estimates.get(one, NONE) for one in subjects], is_total=True)
    return Grouped(group, GROUPS[group], [*rows, total])


def _acuity(view: RunView, estimates: Estimates) -> list[Measure]:
    start, end = BASELINE_DAYS
    titles = {BASELINE: f"baseline (day \u2212{-start} to {end})", **_window_titles(view)}
    return [
        measure_of(estimates, title, Subject("acuity_logmar", visit))
        for visit, title in titles.items()
    ]


def _change(view: RunView, estimates: Estimates) -> list[Measure]:
    return [
        measure_of(estimates, title, Subject(CHANGE, visit))
        for visit, title in _window_titles(view).items()
    ]


def _change_by_group(view: RunView, estimates: Estimates, group: str) -> tuple[str, list[Measure]]:
    """Heading, and the change at the primary window by level with all eyes last."""
    overall = Subject(CHANGE, view.study.closure.primary)
    rows = [
        measure_of(estimates, title, overall._replace(group=group, level=level))
        for level, title in levels_of(estimates, group, level_titles(view, group)).items()
    ]
    total = replace(measure_of(estimates, ALL_EYES, overall), is_total=True)
    return GROUPS[group], [*rows, total]


def _window_titles(view: RunView) -> dict[str, str]:
    return {
        name: f"{name} (day {start} to {end})"
        for name, (start, _, end) in view.study.visits.items()
    }


def _off_chart(view: RunView) -> list[OffChart]:
    values = OFF_CHART_SETS[view.study.acuity.off_chart].values
    imputed = view.visits[view.visits["acuity_imputed"].fillna(False).astype(bool)]
    words = imputed["acuity_off_chart"].value_counts()
    return [
        OffChart(title, values[code], _masked(int(words.get(code, 0)), view))
        for code, title in codes.OFF_CHART.items()
    ]


def _masked(number: int, view: RunView) -> int | None:
    return None if 0 < number < view.study.disclosure.internal_cell else number


def _methods(tables: Iterable[pd.DataFrame]) -> list[str]:
    """What the tables say was run, each method once."""
    return sorted({str(method) for table in tables for method in table["method"].dropna()})
