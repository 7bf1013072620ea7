"""Contexts for tests of cell readers: one column of an upload as a crosswalk would declare it."""

from __future__ import annotations

import pandas as pd

from schemas.codebook import RecordKind, upload_fields
from schemas.conventions import OFF_CHART_SETS
from schemas.crosswalk import Source
from transforms.harmonise.context import Context


def context(
    kind: RecordKind, field: str, *, language: str = "en", decimal: str = "point", **source: object
) -> Context:
    """A column with a heading; `source` gives unit, notation or codes."""
    return Context(
        upload_fields(kind)[field],
        Source.model_validate({"heading": "x", **source}),
        language,
        decimal,  # type: ignore[arg-type]
        OFF_CHART_SETS["measured_2009"],
    )


def cells(*values: object) -> pd.Series:
    """Distinct cells as the readers get them."""
    return pd.Series(list(values), dtype="object")
