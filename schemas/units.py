"""Units: what a number in an upload may be given in, and the factor to the codebook's unit."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Unit:
    """The factor from this unit to the codebook's, and how cells write it (after case folding).

    `is_nominal` marks a unit whose size differs from eye to eye.
    """

    factor: float
    spellings: tuple[str, ...]
    is_nominal: bool = False


_MILLIMETRE = ("mm", "millimetre", "millimetres", "millimeter", "millimeters", "milímetros")
_MICROMETRE = (
    "um", "\u00b5m", "\u03bcm", "\u00b5", "\u03bc", "u", "micron", "microns", "micra", "micras",
    "micrometre", "micrometres", "micrometer", "micrometers", "mikrometer", "micromètres",
    "micrómetros", "micrômetros",
)  # fmt: skip

# By the codebook's unit. 1 disc diameter = 1500 µm is the teaching value; measured discs run from
# 1500 to 2100 µm, which is why a length given in disc diameters is nominal.
UNITS: dict[str, dict[str, Unit]] = {
    "um": {
        "um": Unit(1.0, _MICROMETRE),
        "mm": Unit(1000.0, _MILLIMETRE),
        "dd": Unit(1500.0, ("dd", "disc diameter", "disc diameters", "dp", "pd"), is_nominal=True),
    },
    "mm": {"mm": Unit(1.0, _MILLIMETRE), "um": Unit(0.001, _MICROMETRE)},
    "month": {
        "month": Unit(1.0, ("month", "months", "mo", "meses", "mes", "mois", "monate", "mês")),
        "year": Unit(12.0, ("year", "years", "y", "años", "ans", "jahre", "anos")),
        "week": Unit(7 * 12 / 365.25, ("week", "weeks", "wk", "w")),
    },
    "years": {
        "years": Unit(1.0, ("years", "year", "y", "yrs", "yo", "años", "ans", "jahre", "anos"))
    },
    "%": {"%": Unit(1.0, ("%", "percent", "per cent")), "fraction": Unit(100.0, ())},
    "dB": {"dB": Unit(1.0, ("db",))},
    "asb": {"asb": Unit(1.0, ("asb",))},
    "mmHg": {"mmHg": Unit(1.0, ("mmhg", "mm hg", "torr"))},
    "ms": {"ms": Unit(1.0, ("ms", "msec"))},
    "nV/deg2": {"nV/deg2": Unit(1.0, ("nv/deg2", "nv/deg²", "nv/deg^2"))},
    "deg2": {"deg2": Unit(1.0, ("deg2", "deg²", "deg^2"))},
}

# Quantities that spreadsheets give in units that numbers alone cannot tell apart: the crosswalk
# must name the unit.
UNIT_MUST_BE_NAMED = frozenset({"um"})


def unit_sign(unit: str | None) -> str:
    """A unit as it is printed: `um` becomes µm, `nV/deg2` nV/deg²; nothing where there is none."""
    return (unit or "").replace("um", "µm").replace("deg2", "deg²").replace("month", "months")


def units_for(base: str | None) -> dict[str, Unit]:
    """The units in which a quantity with the codebook's unit `base` may be given, by name."""
    return UNITS.get(base or "", {})


def unit_named(text: str, base: str | None) -> str | None:
    """Name of the unit for a quantity in `base` that a text spells, or None."""
    wanted = text.casefold().rstrip(".")
    return next(
        (
            name
            for name, unit in units_for(base).items()
            if wanted in (name.casefold(), *unit.spellings)
        ),
        None,
    )
