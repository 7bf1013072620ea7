"""How complete and how usual the data should be: every threshold of the quality checks.

All are project choices, without a published source. Shares are of the rows that call for a field.
"""

from __future__ import annotations

from schemas.field import Missing

# Fields that the codebook requires, by what becomes of a row without them.
REQUIRED: dict[Missing, float] = {"hold": 1.0, "ask": 0.90}

# Fields that the codebook does not require but that the pooled tables and their methods rest on.
EXPECTED: dict[str, dict[str, float]] = {
    "operations": {
        "age_years": 0.95,
        "sex": 0.95,
        "indication": 0.80,
        "prior_repairs": 0.80,
        "hole_base_diameter_um": 0.50,
        "primary_closure": 0.80,
        "final_closure": 0.90,
    },
    "visits": {
        "day": 0.95,
        "acuity_logmar": 0.80,
        "closure": 0.70,
    },
    "complications": {"day": 0.80},
}

# Share of the values that should lie inside a field's soft limits. Fewer point at a unit that is
# wrong for the whole column rather than at single unusual eyes.
USUAL = 0.90

# Tables in which every centre must have a row. A centre may well have no complications.
NEVER_EMPTY = ("operations", "visits")
