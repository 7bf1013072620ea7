"""The groups over which estimates are made: all eyes, each centre, technique and size class."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pandas as pd

from schemas.codebook import table_fields
from schemas.codes import GRAFT_MATERIAL
from schemas.study import Study

ALL = "all"


@dataclass(frozen=True)
class Group:
    """One group of index operations: what it is, and the labels of its rows."""

    group: str
    level: str
    rows: pd.Index

    @property
    def technique(self) -> str:
        """Technique of the eyes, `all` where it is not what they are grouped by."""
        return self.level if self.group == "technique" else ALL


def index_operations(operations: pd.DataFrame) -> pd.DataFrame:
    """The first operation of each eye: re-operations are outcomes, not further eyes."""
    return operations[operations["eye_operation_number"] == 1]


def groups(operations: pd.DataFrame, study: Study, names: tuple[str, ...]) -> Iterator[Group]:
    """Groups that have eyes, in the order of study and codebook, after the group of all."""
    columns = {
        "site": ("site", study.sites),
        "technique": ("graft_material", tuple(GRAFT_MATERIAL)),
        "size_class": (
            study.size_column, tuple(table_fields("operations")[study.size_column].codes or ()),
        ),
    }  # fmt: skip
    yield Group(ALL, ALL, operations.index)
    for name in names:
        column, levels = columns[name]
        for level in levels:
            rows = operations.index[operations[column] == level]
            if len(rows):
                yield Group(name, level, rows)
