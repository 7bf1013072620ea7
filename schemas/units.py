"""Units: what a number in an upload may be given in, and the factor to the codebook's unit."""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from functools import cache
from itertools import combinations

_BRACKETED = re.compile(r"[(\[]([^()\[\]]+)[)\]]")


@dataclass(frozen=True)
class Unit:
    """The factor from this unit to the codebook's, and how cells write it beside its own name.

    `is_nominal` marks a unit whose size differs from eye to eye; `is_per_area` one that becomes the
    codebook's unit only when divided by an area in square degrees, which the crosswalk names.
    """

    factor: float
    spellings: tuple[str, ...]
    is_nominal: bool = False
    is_per_area: bool = False

    def factor_of(self, area_deg2: float | None) -> float:
        """The factor, of a unit that is per area for this area. Raises ValueError without one."""
        if not self.is_per_area:
            return self.factor
        if area_deg2 is None:
            raise ValueError("a unit per area needs the area")
        return self.factor / area_deg2


_MILLIMETRE = (
    "mm", "millimetre", "millimetres", "millimeter", "millimeters", "milímetro", "milímetros",
    "millimètre", "millimètres",
)  # fmt: skip
_MICROMETRE = (
    "um", "µm", "µ", "u", "micron", "microns", "micra", "micras", "micrón", "micrómetro",
    "micrómetros", "micrômetro", "micrômetros", "mícron", "mícrons", "micrometre", "micrometres",
    "micrometer", "micrometers", "micromètre", "micromètres", "mikrometer", "mikron",
)  # fmt: skip
_DISC_DIAMETER = (
    "dd", "dp", "pd", "disc diameter", "disc diameters", "disk diameter", "disk diameters",
    "diámetro de disco", "diámetros de disco", "diámetro papilar", "diámetros papilares",
    "diamètre papillaire", "diamètres papillaires", "Papillendurchmesser", "diâmetro de disco",
    "diâmetros de disco", "diâmetro papilar", "diâmetros papilares",
)  # fmt: skip
_MONTH = (
    "m", "mo", "mon", "mth", "mths", "month", "months", "mes", "meses", "mois", "Monat", "Monate",
    "Monaten", "mês",
)  # fmt: skip
_YEAR = (
    "y", "yr", "yrs", "yo", "year", "years", "year old", "years old", "año", "años", "an", "ans",
    "Jahr", "Jahre", "Jahren", "ano", "anos",
)  # fmt: skip
_WEEK = ("w", "wk", "wks", "week", "weeks", "semana", "semanas", "semaine", "semaines", "Woche",
         "Wochen")  # fmt: skip
_DAY = ("d", "day", "days", "día", "días", "jour", "jours", "Tag", "Tage", "Tagen", "dia", "dias")
_PER_CENT = ("%", "percent", "pct", "por ciento", "pour cent", "Prozent", "por cento")

# Days in a unit of time; a year has its leap days spread over it.
DAYS_OF = {"day": 1.0, "week": 7.0, "month": 365.25 / 12, "year": 365.25}

_MONTHS_A_DAY = 1 / DAYS_OF["month"]

# By the codebook's unit. 1 disc diameter = 1500 µm is the teaching value; measured discs run from
# 1500 to 2100 µm, which is why a length given in disc diameters is nominal.
UNITS: dict[str, dict[str, Unit]] = {
    "um": {
        "um": Unit(1.0, _MICROMETRE),
        "mm": Unit(1000.0, _MILLIMETRE),
        "dd": Unit(1500.0, _DISC_DIAMETER, is_nominal=True),
    },
    "mm": {"mm": Unit(1.0, _MILLIMETRE), "um": Unit(0.001, _MICROMETRE)},
    "month": {
        "month": Unit(1.0, _MONTH),
        "year": Unit(12.0, _YEAR),
        "week": Unit(DAYS_OF["week"] * _MONTHS_A_DAY, _WEEK),
        "day": Unit(_MONTHS_A_DAY, _DAY),
    },
    "years": {"years": Unit(1.0, _YEAR)},
    "%": {"%": Unit(1.0, _PER_CENT), "fraction": Unit(100.0, ())},
    "dB": {"dB": Unit(1.0, ("decibel", "decibels"))},
    "asb": {
        "asb": Unit(1.0, ("apostilb", "apostilbs")),
        "cd/m2": Unit(math.pi, ("candela/m2", "nit", "nits")),
    },
    "mmHg": {"mmHg": Unit(1.0, ("torr",))},
    "ms": {"ms": Unit(1.0, ("msec", "millisecond", "milliseconds"))},
    "nV/deg2": {
        "nV/deg2": Unit(1.0, ("nV/°2",)),
        "nV": Unit(1.0, ("nanovolt", "nanovolts"), is_per_area=True),
        "uV": Unit(1000.0, ("µV", "microvolt", "microvolts"), is_per_area=True),
    },
    "deg2": {
        "deg2": Unit(1.0, ("°2", "sq deg", "square degrees")),
        "arcmin2": Unit(1 / 3600, ("min2", "sq arcmin", "square arcmin")),
    },
    "cSt": {"cSt": Unit(1.0, ("cs", "centistoke", "centistokes", "mPas", "mPa s"))},
    "day": {"day": Unit(1.0, _DAY), "week": Unit(DAYS_OF["week"], _WEEK)},
}

# Quantities that spreadsheets give in units that numbers alone cannot tell apart: the crosswalk
# must name the unit.
UNIT_MUST_BE_NAMED = frozenset({"um"})


_SIGNS = {
    "um": "µm", "uV": "µV", "deg2": "deg²", "min2": "min²", "/m2": "/m²", "month": "months",
    "week": "weeks", "day": "days",
}  # fmt: skip


def unit_sign(unit: str | None) -> str:
    """A unit as it is printed: `um` becomes µm, `month` months; nothing where there is none."""
    sign = unit or ""
    for written, printed in _SIGNS.items():
        sign = sign.replace(written, printed)
    return sign


def units_for(base: str | None) -> dict[str, Unit]:
    """The units in which a quantity with the codebook's unit `base` may be given, by name."""
    return UNITS.get(base or "", {})


def unit_named(text: str, base: str | None) -> str | None:
    """Name of the unit for a quantity in `base` that a text spells, or None."""
    return _spellings(base).get(_as_compared(text))


@cache
def _spellings(base: str | None) -> dict[str, str]:
    return {
        _as_compared(spelling): name
        for name, unit in units_for(base).items()
        for spelling in (name, *unit.spellings)
    }


def _as_compared(text: str) -> str:
    """Without case, accents, spaces, dots, brackets and marks of powers: "Deg^2" is "deg²"."""
    letters = unicodedata.normalize("NFKD", text.casefold())
    return "".join(c for c in letters if not (unicodedata.combining(c) or c in _NOT_COMPARED))


_NOT_COMPARED = frozenset(" .^()[]")


def unit_in_heading(heading: str, base: str | None) -> str | None:
    """Name of the unit that a heading says, as in "Duration (weeks)" or "Graft mm", or None."""
    texts = [part.strip() for part in _BRACKETED.findall(heading)]
    *_, last = heading.split() or [""]
    if len(last) > 1 or last == "%":  # a letter alone at the end may mean anything
        texts.append(last)
    said = {name for text in texts if (name := unit_named(text, base))}
    return said.pop() if len(said) == 1 else None


def factors_of(base: str | None) -> set[float]:
    """By how much numbers change when they change their unit, the larger ratio of each pair."""
    factors = sorted(unit.factor for unit in units_for(base).values())
    return {large / small for small, large in combinations(factors, 2)}
