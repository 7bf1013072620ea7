"""What the columns, analyses and outcomes of the pooled tables mean, in words for whoever receives
them."""

from __future__ import annotations

from dataclasses import dataclass

from schemas.codebook import table_fields
from schemas.conventions import OFF_CHART_SETS
from schemas.function_measures import DEVICE_MEASURES, LOG_RATIOS

MAIN = "main"
WITHOUT_LIGHT_PERCEPTION = "without_light_perception"
BY_LINE = "by_line"
ORDERED_CATEGORY = "ordered_category"
BY_LUMINANCE = "by_luminance"

# Level of the group `device` where no brightest target was given.
UNKNOWN_DEVICE = "unknown"


@dataclass(frozen=True)
class PooledColumn:
    """A column of the pooled tables; `width` is its width in a spreadsheet, in characters."""

    description: str
    width: int = 10


COLUMNS = {
    "outcome": PooledColumn("What was counted or measured.", 26),
    "visit": PooledColumn("Visit window, baseline, or 'last' (gradable visit)."),
    "analysis": PooledColumn(
        "'main', or the sensitivity analysis that the row belongs to; rows of two analyses are "
        "about the same eyes and are not added up.", 24
    ),
    "technique": PooledColumn("Technique of the eyes, or 'all'.", 20),
    "group": PooledColumn("all, site, technique, size_class or device."),
    "level": PooledColumn(
        "Which centre, technique, size class, or class of device by the luminance of its "
        "brightest target.", 22
    ),
    "statistic": PooledColumn(
        "proportion, mean, sd, median, lower_quartile or upper_quartile.", 15
    ),
    "eyes": PooledColumn("Operated eyes with the outcome known."),
    "events": PooledColumn("Eyes with the outcome; empty where nothing is counted."),
    "estimate": PooledColumn("The statistic; a proportion lies between 0 and 1."),
    "ci_low": PooledColumn("Lower end of the 95 % confidence interval."),
    "ci_high": PooledColumn("Upper end of the 95 % confidence interval."),
    "pi_low": PooledColumn("Lower end of the 95 % prediction interval, from models."),
    "pi_high": PooledColumn("Upper end of the 95 % prediction interval, from models."),
    "tau2": PooledColumn("Variance between centres, from models."),
    "i2": PooledColumn("Share of the variance that lies between centres, from models."),
    "sites": PooledColumn("Centres that contribute eyes."),
    "method": PooledColumn("How estimate and interval were made.", 36),
    "masked": PooledColumn("True where a small count is hidden by disclosure control."),
}  # fmt: skip


@dataclass(frozen=True)
class Analysis:
    """One way of analysing the same eyes: its name on pages, and what it does."""

    title: str
    meaning: str


def off_chart_analysis(set_name: str) -> str:
    """The analysis in which acuities off the chart have the values of a named set."""
    return f"off_chart:{set_name}"


ANALYSES = {
    MAIN: Analysis("Main", "Acuities off the chart have the values of the study's own set."),
    **{
        off_chart_analysis(name): Analysis(
            f"Off the chart: {values.title[:1].lower()}{values.title[1:]}",
            f"Acuities off the chart have the values of the set {name}, whatever the study's own "
            "is.",
        )
        for name, values in OFF_CHART_SETS.items()
    },
    WITHOUT_LIGHT_PERCEPTION: Analysis(
        "Without light perception and worse",
        "Acuities of light perception or none are left out, and with them every change from or to "
        "one of them.",
    ),
    BY_LINE: Analysis(
        "By line", "Acuities are the line read, without the letters of a partial line."
    ),
    ORDERED_CATEGORY: Analysis(
        "By ordered category",
        "On the chart, counting fingers, hand motion, light perception, none: an eye that changed "
        "from one to another is better or worse, with no number; on the chart at both visits 0.3 "
        "logMAR decides.",
    ),
    BY_LUMINANCE: Analysis(
        "By luminance",
        "Fields of all device classes together: a mean sensitivity on the scale of a device whose "
        "brightest target is 10000 asb, a change as measured within each class. Equates luminance "
        "alone, not background, target size, colour or strategy, nor the ends of each scale.",
    ),
}  # fmt: skip

_ACUITY_OUTCOMES = {
    "acuity_logmar": "Distance acuity at the visit, logMAR; lower is better.",
    "acuity_imputed": "Share of those eyes whose acuity was off the chart and has the value of a "
    "set.",
    "acuity_change_logmar": "Acuity at the visit less acuity at baseline, logMAR; "
    "negative is better.",
    "acuity_change_imputed": "Share of those eyes in which one of the two acuities, or both, was "
    "off the chart.",
    "acuity_gained_0.3": "Share of eyes that gained 0.3 logMAR or more since baseline.",
    "acuity_lost_0.3": "Share of eyes that lost 0.3 logMAR or more since baseline.",
    "acuity_better_by_category": "Share of eyes in a better category than at baseline, or, on the "
    "chart at both visits, better by 0.3 logMAR or more.",
    "acuity_same_by_category": "Share of eyes in the same category as at baseline and, where that "
    "is on the chart, within less than 0.3 logMAR.",
    "acuity_worse_by_category": "Share of eyes in a worse category than at baseline, or, on the "
    "chart at both visits, worse by 0.3 logMAR or more.",
}


def outcome_meaning(outcome: str) -> str:
    """The definition of an outcome; empty for one that is not known here."""
    if found := (_ACUITY_OUTCOMES | _CHANGES).get(outcome):
        return found
    declared = {**table_fields("visits"), **table_fields("operations")}.get(outcome)
    return f"{declared.title}: {declared.description}" if declared else ""


def _title(column: str) -> str:
    return table_fields("visits")[column].title


_CHANGES = {
    measure.change: f"{_title(measure.column)} at the visit less the same at baseline, dB; "
    "positive is better. Within the eye, and only where both come from devices with the same "
    "brightest target and, as far as is known, the same number of points."
    for measure in DEVICE_MEASURES
} | {
    ratio.outcome: f"{_title(ratio.column)}: natural logarithm of its density at the visit / at "
    "baseline; positive is better, 0.69 a doubling. Within the eye and the same set-up; an eye "
    "with a density of 0 has none. Rings lie where each laboratory draws them."
    for ratio in LOG_RATIOS
}
