"""What the numbers of an operation note measure: the gas, the oil, or something no field holds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from schemas.codebook import table_fields
from schemas.codes import GASES, OILS
from transforms.harmonise.notes.phrases import TRANSPARENT, UNIT, Item, clause_of
from transforms.harmonise.notes.tokens import Break

PERCENT = "tamponade_pct"
VISCOSITY = "tamponade_viscosity_cst"

# Oils for the eye, in cSt, from memory: a bare number beside an oil is its viscosity only if one of
# these; any other may be a size or a volume.
_OILS_MADE = frozenset({1000.0, 1300.0, 2000.0, 5000.0, 5500.0, 5700.0})


@dataclass(frozen=True)
class Measure:
    """A number that is understood: the column that holds it, if one does, and the place of the gas
    or oil that it belongs to, if of one."""

    column: str | None
    value: float
    of: int | None = None


def measures(items: Sequence[Item]) -> dict[int, Measure]:
    """The numbers that are understood, by place."""
    found = {}
    for at, item in enumerate(items):
        if item.kind != "number" or item.number is None:
            continue
        measure = _concentration(items, at) or _viscosity(items, at)
        if measure is None and _unit_of(items, at) not in (None, "viscosity"):
            measure = Measure(None, item.number)
        if measure is not None:
            found[at] = measure
    return found


def _unit_of(items: Sequence[Item], at: int) -> str | None:
    """The kind of unit behind the number, or behind the run of numbers that it stands in."""
    for item in items[at + 1 :]:
        if item.before is not Break.JOINED or item.kind not in ("number", "unit"):
            return None
        if item.kind == "unit" and item.codes[UNIT] != "between":
            return item.codes[UNIT]
    return None


def _concentration(items: Sequence[Item], at: int) -> Measure | None:
    """Per cent of the gas beside the number, if the number plainly is that.

    Without a per cent sign it must stand right behind the gas; below one it is a fraction.
    """
    item = items[at]
    before, behind = _beside(items, at, -1), _beside(items, at, 1)
    if item.number is None or item.is_approximate or _is_run(items, before, behind):
        return None
    if item.is_percent:
        gas = next((place for place in (before, behind) if _is_gas(items, place)), None)
        return None if gas is None else Measure(PERCENT, item.number, gas)
    is_behind = at > 0 and _is_gas(items, at - 1) and item.before is Break.JOINED
    if not is_behind or _unit_of(items, at) is not None or item.number == 1:
        return None
    value = item.number if item.number > 1 else round(100 * item.number, 6)
    return Measure(PERCENT, value, at - 1)


def _is_run(items: Sequence[Item], *places: int | None) -> bool:
    return any(place is not None and items[place].kind == "number" for place in places)


def _is_gas(items: Sequence[Item], place: int | None) -> bool:
    return place is not None and items[place].codes.get("tamponade") in GASES


def _is_oil(items: Sequence[Item], place: int | None) -> bool:
    return place is not None and items[place].codes.get("tamponade") in OILS


def _viscosity(items: Sequence[Item], at: int) -> Measure | None:
    """Viscosity in cSt (mPa s is taken for the same), if the number plainly is that."""
    item = items[at]
    unit = _unit_of(items, at)
    oil = _oil_beside(items, at)
    if item.number is None or item.is_percent or item.is_approximate:
        return None
    limits = table_fields("operations")[VISCOSITY].hard
    assert limits is not None
    if unit == "viscosity" and limits.low <= item.number <= limits.high:
        return Measure(VISCOSITY, item.number, oil)
    if unit is None and oil is not None and item.number in _OILS_MADE:
        return Measure(VISCOSITY, item.number, oil)
    return None


def _oil_beside(items: Sequence[Item], at: int) -> int | None:
    """The oil that a number stands behind, or that stands behind a number which begins its clause
    ("5000 oil"; in "hole 1000 oil" the number is the hole's)."""
    first = at
    while first > 0 and items[first].before is Break.JOINED and items[first - 1].kind == "number":
        first -= 1
    before = _beside(items, first, -1)
    if _is_oil(items, before):
        return before
    behind = _beside(items, at, 1)
    opens = all(items[place].kind == "filler" for place in range(clause_of(items, at).start, first))
    return behind if opens and _is_oil(items, behind) else None


def _beside(items: Sequence[Item], at: int, step: int) -> int | None:
    """The next item that is no filler or unit, within the clause; for a number that is a clause by
    itself ("SF6, 20%"), within the sentence."""
    breaks = [item.before for item in items] + [Break.SENTENCE]
    last = at + 1
    while last < len(items) and items[last].kind == "unit" and breaks[last] is Break.JOINED:
        last += 1
    is_alone = breaks[at] > Break.JOINED and breaks[last] > Break.JOINED
    widest = Break.CLAUSE if is_alone else Break.JOINED
    here = at
    while 0 <= here + step < len(items):
        if breaks[here + 1 if step > 0 else here] > widest:
            return None
        here += step
        if items[here].kind not in (*TRANSPARENT, "unit"):
            return here
    return None
