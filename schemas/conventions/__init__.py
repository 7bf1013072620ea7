"""Versioned conventions: tables of numbers that a study chooses by name, kept as TOML."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from importlib.resources import files


@dataclass(frozen=True)
class OffChartSet:
    """logMAR values given to the acuities that no chart measures, by code."""

    title: str
    source: str
    values: dict[str, float]


@dataclass(frozen=True)
class SizeScheme:
    """Upper edges of the classes of the minimum diameter, in micrometres, edge included.

    The last class has no upper edge.
    """

    title: str
    source: str
    codes: tuple[str, ...]
    edges: tuple[float, ...]


def _load(name: str) -> dict[str, dict[str, object]]:
    return tomllib.loads(files(__name__).joinpath(name).read_text(encoding="utf-8"))


OFF_CHART_SETS = {
    name: OffChartSet(**entry)  # type: ignore[arg-type]
    for name, entry in _load("off_chart_acuity.toml").items()
}

SIZE_SCHEMES = {
    name: SizeScheme(
        title=str(entry["title"]),
        source=str(entry["source"]),
        codes=tuple(entry["codes"]),  # type: ignore[arg-type]
        edges=tuple(entry["edges"]),  # type: ignore[arg-type]
    )
    for name, entry in _load("hole_size.toml").items()
}
