"""Pooled acuity: at baseline, at each window, and the change between the two, in each analysis."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from schemas.codes import LIGHT_AT_MOST
from schemas.conventions import OFF_CHART_SETS
from schemas.pooled_tables import BY_LINE, MAIN, WITHOUT_LIGHT_PERCEPTION, off_chart_analysis
from schemas.study import Study
from schemas.visit_names import BASELINE
from transforms.harmonise.acuity.off_chart import off_chart_logmar
from transforms.pooling.acuity_category import by_category
from transforms.pooling.acuity_change import acuity_change, gained, lost
from transforms.pooling.estimates import Outcomes, Row, estimate_rows
from transforms.pooling.groups import groups
from transforms.pooling.visit_choice import by_window, chosen_visits


def acuity_rows(first: pd.DataFrame, visits: pd.DataFrame, study: Study) -> list[Row]:
    """Mean, SD, median and quartiles of logMAR and of its change from baseline, and the shares of
    eyes that gained or lost 0.3 or more, in the main analysis and in each sensitivity analysis.

    `first` holds the index operations, labelled by operation_key. All analyses are about the same
    visits. The sensitivity analyses are made over all eyes and by technique, without medians, which
    hang little on the values off the chart; the main one by centre too. Each says how many eyes
    rest on an acuity off the chart.
    """
    chosen = chosen_visits(visits, study, "acuity_logmar")
    imputed = by_window(chosen["acuity_imputed"].astype("Float64"), study).eq(1).fillna(False)
    by_site_too = tuple(groups(first, study, ("site", "technique")))
    by_technique = tuple(groups(first, study, ("technique",)))
    rows: list[Row] = []
    for analysis, values in _analyses(chosen).items():
        of = by_site_too if analysis == MAIN else by_technique
        for outcomes in _outcomes(analysis, by_window(values, study), imputed):
            rows += estimate_rows(outcomes, of)
    for outcomes in by_category(chosen, study):
        rows += estimate_rows(outcomes, by_technique)
    return rows


def _analyses(chosen: pd.DataFrame) -> dict[str, pd.Series]:
    """logMAR of the chosen visits by analysis."""
    logmar, words = chosen["acuity_logmar"], chosen["acuity_off_chart"]
    on_chart = logmar.where(words.isna())
    distance = chosen["acuity_distance_m"]
    sets = {
        off_chart_analysis(name): on_chart.fillna(off_chart_logmar(words, distance, values))
        for name, values in OFF_CHART_SETS.items()
    }
    return {
        MAIN: logmar,
        **sets,
        WITHOUT_LIGHT_PERCEPTION: logmar.mask(words.isin(LIGHT_AT_MOST)),
        BY_LINE: chosen["acuity_line_logmar"].fillna(logmar),
    }


def _outcomes(analysis: str, logmar: pd.DataFrame, imputed: pd.DataFrame) -> Iterator[Outcomes]:
    """Outcomes of one analysis at baseline and at each window, from frames with one column each."""
    for window in logmar:
        known = logmar[window].notna()
        measures = {"acuity_logmar": logmar[window]}
        shares = {"acuity_imputed": imputed[window].where(known)}
        if window != BASELINE:
            change = acuity_change(logmar[BASELINE], logmar[window])
            either = imputed[window] | imputed[BASELINE]
            measures["acuity_change_logmar"] = change
            shares |= {
                "acuity_change_imputed": either.where(change.notna()),
                "acuity_gained_0.3": gained(change),
                "acuity_lost_0.3": lost(change),
            }
        yield Outcomes(str(window), analysis, measures, shares, is_brief=analysis != MAIN)
