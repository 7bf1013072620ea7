"""The rings of a multifocal electroretinogram as sheets write them, to one way of writing.

Software differs in where its rings end, and amplitudes of unequal rings are not the same measure:
the radii are kept so that pooling can tell equal rings from others. They come out as the outer
radius of each ring in degrees, from the centre out: `2/5/10/15/25`. An outermost ring that is only
said to lie beyond a radius has none of its own; it stays as it is said, `2/5/10/15/>15`, and equals
no ring that ends somewhere.
"""

from __future__ import annotations

import re
from typing import NamedTuple

import pandas as pd

from schemas.conversions import RING_RADII
from schemas.decimal_mark import DecimalMark
from transforms.harmonise.context import PROBLEM, RULE, Context
from transforms.harmonise.numerals import plain_text, read_numeral

UNREADABLE = "ring_radii_unreadable"
FEWEST_RINGS, MOST_RINGS = 2, 8
WIDEST_DEG = 60.0

_DEGREE_SIGNS = str.maketrans({"º": "°", "˚": "°", "≤": "<", "≥": ">"})
_DEGREES = re.compile(r"°|(?<![^\W\d])(?:deg(?:rees?)?|grad(?:os?)?|degr[eé]s?|graus?)\b\.?", re.I)
_LOOSE = re.compile(r" ?(-) ?|([<>]) ?=? ?")
_RING = re.compile(r"([<>]?)(\d+(?:[.,]\d+)?)(?:-(\d+(?:[.,]\d+)?))?")
_CHAIN = re.compile(r"[\d.]+(?:-[\d.]+){2,}")
_COMMA = re.compile(r",( ?)")

_Read = tuple[str | None, str | None, str | None]
_REFUSED: _Read = (None, None, UNREADABLE)


class _Ring(NamedTuple):
    """One ring: `inner` is None where it begins where the last one ended, `outer` where it is open;
    and the rule that its writing breaks."""

    inner: float | None
    outer: float | None
    problem: str | None


def read_ring_radii(values: pd.Series, context: Context) -> pd.DataFrame:
    """Outer radii (degrees) of distinct cells, as text; labelled as `values`.

    Takes radii (2, 5, 10, 15, 25) and edge-to-edge ranges (0-2, 2-5, ... or <2, 2-5, ..., >15),
    parted by commas, semicolons, slashes, spaces or, of three radii and more, dashes. Refused: what
    does not increase or leaves a gap, fewer than 2 or more than 8 rings, radii over 60 degrees, and
    commas that may be decimal marks.
    """
    rows = [_read_one(value, context.decimal) for value in values]
    return pd.DataFrame(rows, index=values.index, columns=[context.column, RULE, PROBLEM])


def _read_one(value: object, decimal: DecimalMark) -> _Read:
    if not isinstance(value, str):
        return _REFUSED
    rings: list[_Ring] = []
    for part in _parts(value, decimal):
        ring = _ring(part.strip(), decimal)
        if ring is None:
            return _REFUSED
        rings.append(ring)
    text = _outer_radii(rings)
    if text is None:
        return _REFUSED
    return text, RING_RADII, next((ring.problem for ring in rings if ring.problem), None)


def _parts(value: str, decimal: DecimalMark) -> list[str]:
    """The text's rings, each in a part of its own; a zero in front is the centre, and no ring."""
    text = _DEGREES.sub("", plain_text(value.translate(_DEGREE_SIGNS)))
    text = _LOOSE.sub(r"\1\2", " ".join(text.split()))
    parts = _split(text, decimal)
    return parts[1:] if parts and parts[0].strip() == "0" else parts


def _split(text: str, decimal: DecimalMark) -> list[str]:
    for mark in ";/":
        if mark in text:
            return text.split(mark)
    if commas := _COMMA.findall(text):
        return text.split(",") if _part_numbers(commas, decimal) else []
    return text.split("-") if _CHAIN.fullmatch(text) else text.split()


def _part_numbers(commas: list[str], decimal: DecimalMark) -> bool:
    """Whether commas, each given with the space behind it, can be no decimal marks."""
    if all(commas):
        return True
    return not any(commas) and len(commas) > 1 and decimal == "point"


def _ring(part: str, decimal: DecimalMark) -> _Ring | None:
    found = _RING.fullmatch(part)
    if found is None:
        return None
    sign, *texts = found.groups()
    numerals = [read_numeral(text, decimal) for text in texts if text]
    problem = next((numeral.problem for numeral in numerals if numeral.problem), None)
    match sign, [numeral.value for numeral in numerals if numeral.value is not None]:
        case "", [inner, outer]:
            return _Ring(inner, outer, problem)
        case "", [outer] if len(numerals) == 1:
            return _Ring(None, outer, problem)
        case "<", [outer] if len(numerals) == 1:
            return _Ring(0.0, outer, problem)
        case ">", [inner] if len(numerals) == 1:
            return _Ring(inner, None, problem)
    return None


def _outer_radii(rings: list[_Ring]) -> str | None:
    """The radii in one way of writing, or None where the rings do not lie edge to edge."""
    edge = 0.0
    radii: list[str] = []
    for ring in rings:
        is_open_before = bool(radii) and radii[-1].startswith(">")
        if is_open_before or ring.inner not in (None, edge):
            return None
        if ring.outer is None:
            radii.append(f">{edge:g}")
        elif ring.outer > edge:
            edge = ring.outer
            radii.append(f"{edge:g}")
        else:
            return None
    fits = FEWEST_RINGS <= len(radii) <= MOST_RINGS and edge <= WIDEST_DEG
    return "/".join(radii) if fits else None
