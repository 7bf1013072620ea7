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
    """One group of index operations: what it is, the labels of its rows, and their centres."""

    group: str
    level: str
    sites: pd.Series

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
    sites = operations["site"]
    yield Group(ALL, ALL, sites)
    for name in names:
        column, levels = columns[name]
        for level in levels:
            of_level = sites[operations[column] == level]
            if len(of_level):
                yield Group(name, level, of_level)
