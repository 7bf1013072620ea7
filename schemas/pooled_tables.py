"""What the columns and outcomes of the pooled tables mean, in words for whoever receives them."""

from __future__ import annotations

from dataclasses import dataclass

from schemas.codebook import table_fields


@dataclass(frozen=True)
class PooledColumn:
    """A column of the pooled tables; `width` is its width in a spreadsheet, in characters."""

    description: str
    width: int = 10


COLUMNS = {
    "outcome": PooledColumn("What was counted or measured.", 26),
    "visit": PooledColumn("Visit window, baseline, or 'last' (gradable visit)."),
    "technique": PooledColumn("Technique of the eyes, or 'all'.", 20),
    "group": PooledColumn("all, site, technique or size_class."),
    "level": PooledColumn("Which centre, technique or size class.", 22),
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
}

_ACUITY_OUTCOMES = {
    "acuity_logmar": "Distance acuity at the visit, logMAR; lower is better.",
    "acuity_change_logmar": "Acuity at the visit less acuity at baseline, logMAR; "
    "negative is better.",
    "acuity_gained_0.3": "Share of eyes that gained 0.3 logMAR or more since baseline.",
    "acuity_lost_0.3": "Share of eyes that lost 0.3 logMAR or more since baseline.",
}


def outcome_meaning(outcome: str) -> str:
    """The definition of an outcome; empty for one that is not known here."""
    if outcome in _ACUITY_OUTCOMES:
        return _ACUITY_OUTCOMES[outcome]
    declared = table_fields("operations").get(outcome)
    return f"{declared.title}: {declared.description}" if declared else ""
