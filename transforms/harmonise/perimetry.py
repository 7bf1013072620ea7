"""Static fields: one sign for the mean deviation, and which fields are reliable."""

from __future__ import annotations

import numpy as np
import pandas as pd

from schemas.conventions import FIELD_RELIABILITY
from schemas.conversions import LOSS_SIGN_TURNED
from transforms.findings import none_raised, raised
from transforms.harmonise.context import PROBLEM, RULE, Context
from transforms.harmonise.quantities import read_number
from transforms.harmonise.readings import Readings, column_of
from transforms.records import CellsOfRecords

SIGN_UNCLEAR = "loss_sign_unclear"

# Mean deviations above +2 dB are rare in healthy eyes (from memory) and say nothing of an eye with
# a hole. Of fewer numbers than five each is asked about by the codebook's limits.
ABOVE_HEALTHY_DB = 2.0
FEWEST_DISTINCT = 5
MOSTLY = 0.5

_RELIABLE = "perimetry_reliable"


def read_deviation(values: pd.Series, context: Context) -> pd.DataFrame:
    """Mean deviations (dB) of distinct cells, negative for loss; columns as of `read_number`.

    One kind of perimeter prints a mean deviation, negative for loss, another a mean defect,
    positive for it (from memory): which one it is, the crosswalk's `loss` says. Where it says
    nothing, and more than half of at least five distinct numbers lie above +2 dB, none is used.
    """
    read = read_number(values, context)
    deviation = read[context.column].astype("float64")
    match context.source.loss:
        case "positive":
            turned = read[RULE].mask(deviation.notna(), LOSS_SIGN_TURNED)
            return read.assign(**{context.column: 0.0 - deviation, RULE: turned})
        case None if may_be_defect(deviation):
            unclear = read[PROBLEM].mask(deviation.notna(), SIGN_UNCLEAR)
            return pd.DataFrame({context.column: np.nan, RULE: None, PROBLEM: unclear})
    return read


def may_be_defect(deviation: pd.Series) -> bool:
    """Whether numbers of a column (dB) look like mean defects, which are positive for loss."""
    distinct = deviation.drop_duplicates().dropna()
    above = (distinct > ABOVE_HEALTHY_DB).mean()
    return len(distinct) >= FEWEST_DISTINCT and bool(above > MOSTLY)


def settle_reliability(
    visits: pd.DataFrame, readings: Readings, cells: CellsOfRecords
) -> pd.DataFrame:
    """False positives and negatives decide which fields are reliable; else the centre's word does.

    Sets `perimetry_reliable` of the visits (labelled by record) in place and returns a finding
    for each field of which the centre says otherwise. Fixation losses decide nothing: the checks
    place targets on the blind spot of an eye that fixates centrally, which an eye with a hole need
    not do, and much of what they count is an artefact in any eye (Ophthalmology 1991;98:76-78).
    To be called when impossible shares have been taken out.
    """
    limits = FIELD_RELIABILITY["usual"]
    positives = column_of(visits, "perimetry_false_positive_pct").astype("float64")
    negatives = column_of(visits, "perimetry_false_negative_pct").astype("float64")
    is_decided = positives.notna() | negatives.notna()
    if not is_decided.any():
        return none_raised()
    fails = (positives > limits.false_positive_over) | (negatives >= limits.false_negative_from)
    by_answers = (~fails).astype("boolean").where(is_decided)
    by_word = readings.column(_RELIABLE).astype("boolean")
    visits[_RELIABLE] = by_answers.fillna(by_word)
    for made_of in (readings.read_from, readings.rules):
        if _RELIABLE in made_of:
            made_of[_RELIABLE] = made_of[_RELIABLE].mask(is_decided)
    differs = (by_answers != by_word).fillna(False).astype(bool)
    return raised("reliability_differs", cells.of("visit", _RELIABLE, visits.index[differs]))
