"""What a reader of cells must know beside the cell: the centre's habits and the study's choices."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from schemas.codebook import UploadField
from schemas.crosswalk import Source
from schemas.decimal_mark import DecimalMark

PROBLEM = "problem"


@dataclass(frozen=True)
class Context:
    """One column of an upload: its field, the crosswalk's entry, and how the centre writes.

    `off_chart` gives the logMAR value of each off-chart acuity in the study's named set.
    """

    field: UploadField
    source: Source
    language: str
    decimal: DecimalMark
    off_chart: Mapping[str, float]

    @property
    def column(self) -> str:
        """Warehouse column that the cells are read into."""
        assert self.field.column is not None
        return self.field.column
