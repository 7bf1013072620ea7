"""Versioned conventions: tables of numbers and grades that are chosen by name, kept as TOML.

Every entry has a title, a version and a source. A changed number is a new version. What else an
entry has is annotated with its label and unit, as the dictionary page shows it.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from typing import Annotated, Any, Literal, TypeVar

from schemas.file_note import note_of

Device = Literal["bowl", "microperimeter"]


@dataclass(frozen=True, kw_only=True)
class Convention:
    """What every entry of a table has; `name` is its key."""

    name: str
    title: str
    version: str
    source: str


@dataclass(frozen=True, kw_only=True)
class OffChartSet(Convention):
    """logMAR values given to the acuities that no chart measures, by code."""

    values: Annotated[dict[str, float], "logMAR"]


@dataclass(frozen=True, kw_only=True)
class AcuityChart(Convention):
    """Lines of a chart: sizes and the distances from which they are read, its own first, both in
    its unit of length; or decimal acuities."""

    distances: Annotated[tuple[float, ...], "Distances"] = ()
    sizes: Annotated[tuple[float, ...], "Sizes"] = ()
    decimals: Annotated[tuple[float, ...], "Decimal lines"] = ()


@dataclass(frozen=True, kw_only=True)
class SizeScheme(Convention):
    """Upper edges of the classes of the minimum diameter, in micrometres, edge included.

    The last class has no upper edge.
    """

    codes: Annotated[tuple[str, ...], "Classes"]
    edges: Annotated[tuple[float, ...], "Upper edges, µm"]


@dataclass(frozen=True, kw_only=True)
class ClosureGrading(Convention):
    """Grades of a published scheme, as written, to the codebook's states."""

    grades: Annotated[dict[str, str], "Grade and state"]


@dataclass(frozen=True, kw_only=True)
class LuminanceClass(Convention):
    """Luminance of the brightest target in apostilb, which is 0 dB, and of the background.

    Bowl perimeters and microperimeters are classes apart even where their luminances agree.
    """

    device: Annotated[Device, "Device"]
    max_asb: Annotated[float, "Brightest target, asb"]
    background: Annotated[str, "Background"]


@dataclass(frozen=True, kw_only=True)
class HexagonArray(Convention):
    """Hexagons in each ring from the centre out, and the rings' outer radii in degrees."""

    hexagons: Annotated[int, "Hexagons"]
    rings: Annotated[tuple[int, ...], "Hexagons in each ring"]
    outer_deg: Annotated[tuple[float, ...], "Outer radii, degrees"]


@dataclass(frozen=True, kw_only=True)
class FieldReliability(Convention):
    """Shares of answers, in per cent, by which a field is unreliable: false positives over the
    one, false negatives from the other on."""

    false_positive_over: Annotated[float, "False positives over, %"]
    false_negative_from: Annotated[float, "False negatives from, %"]


@dataclass(frozen=True, kw_only=True)
class GasConcentration(Convention):
    """Usual range of a gas in air, in per cent of volume."""

    low: Annotated[float, "From, %"]
    high: Annotated[float, "To, %"]


Entry = TypeVar("Entry", bound=Convention)


def _load(file: str, kind: type[Entry]) -> dict[str, Entry]:
    return {
        name: kind(name=name, **{key: _frozen(value) for key, value in entry.items()})
        for name, entry in tomllib.loads(_text(file)).items()
    }


def _text(file: str) -> str:
    return files(__name__).joinpath(f"{file}.toml").read_text(encoding="utf-8")


def _frozen(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


OFF_CHART_SETS = _load("off_chart_acuity", OffChartSet)
ACUITY_CHARTS = _load("acuity_charts", AcuityChart)
SIZE_SCHEMES = _load("hole_size", SizeScheme)
CLOSURE_GRADINGS = _load("closure_gradings", ClosureGrading)
LUMINANCE_CLASSES = _load("luminance", LuminanceClass)
HEXAGON_ARRAYS = _load("mferg_arrays", HexagonArray)
FIELD_RELIABILITY = _load("field_reliability", FieldReliability)
GAS_CONCENTRATIONS = _load("gas_concentrations", GasConcentration)


@dataclass(frozen=True)
class ConventionTable:
    """A file of conventions; its title, its entries and what the comment at its head says."""

    file: str
    title: str
    entries: Mapping[str, Convention]

    @property
    def note(self) -> str:
        return note_of(_text(self.file))


# Every file of this folder.
CONVENTIONS = (
    ConventionTable("off_chart_acuity", "Acuities off the chart", OFF_CHART_SETS),
    ConventionTable("acuity_charts", "Lines of acuity charts", ACUITY_CHARTS),
    ConventionTable("hole_size", "Size classes", SIZE_SCHEMES),
    ConventionTable("closure_gradings", "Closure gradings", CLOSURE_GRADINGS),
    ConventionTable("luminance", "Luminance of perimeters", LUMINANCE_CLASSES),
    ConventionTable("field_reliability", "Reliability of fields", FIELD_RELIABILITY),
    ConventionTable("mferg_arrays", "Arrays of hexagons", HEXAGON_ARRAYS),
    ConventionTable("gas_concentrations", "Concentrations of gases", GAS_CONCENTRATIONS),
)
