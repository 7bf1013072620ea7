"""Details of an entry: unit, notation, sign and grading, as headings and values tell them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import reduce

import pandas as pd

from schemas.codebook import UploadField, upload_fields
from schemas.conventions import CLOSURE_GRADINGS
from schemas.crosswalk import Source
from schemas.units import unit_named, units_for
from transforms.draft.column_values import (
    MOSTLY,
    ColumnValues,
    Writing,
    share_that_fits,
    unit_of,
)
from transforms.draft.columns import Column
from transforms.draft.heading_fields import Named, fields_named
from transforms.draft.heading_parts import Parts
from transforms.draft.notations import NotationFound, notation_of
from transforms.harmonise.numerals import plain_text
from transforms.harmonise.perimetry import ABOVE_HEALTHY_DB, may_be_defect

Notations = Mapping[str | None, NotationFound | None]

# Letters behind a plain number, "0.4 -2", which a crosswalk must say how to count.
_WITH_LETTERS = re.compile(r"\d[\d.,]* ?\(?[+-] ?\d\)?")
_LETTERS_A_LINE = 5


@dataclass(frozen=True)
class Details:
    """What a crosswalk would name beside a heading, whether all of it is certain, and why.

    `tried` is beside or in the place of `named` when the values are tried, where the crosswalk
    needs something that no file says.
    """

    named: Mapping[str, object]
    is_certain: bool
    reason: str
    tried: Mapping[str, object] = field(default_factory=dict)

    def source(self, column: Column) -> Source:
        """The column's entry in the crosswalk."""
        return Source.model_validate({"heading": column.heading, **self.named})

    def trial(self, column: Column) -> Source:
        """The entry by which the column's values are tried."""
        return Source.model_validate({"heading": column.heading, **self.named, **self.tried})


def details_of(
    column: Column,
    asked: UploadField,
    named: Named,
    parts: Parts,
    writing: Writing,
    notations: Notations,
) -> Details | None:
    """The details of a column as one of the field `asked`; None where its heading or values rule
    that out."""
    found = [_unit(column, asked, named, parts)]
    if asked.spec.reads == "acuity":
        found.append(_notation(notations.get(parts.notation), column.values))
    if asked.spec.reads == "deviation":
        found.append(_sign(column.values))
    if asked.name == "closure" and not column.values.is_empty:
        found.append(_grading(column, asked, writing))
    told = [details for details in found if details is not None]
    return reduce(_joined, told) if len(told) == len(found) else None


def _joined(one: Details, other: Details) -> Details:
    return Details(
        {**one.named, **other.named}, one.is_certain and other.is_certain,
        "; ".join(filter(None, (one.reason, other.reason))), {**one.tried, **other.tried},
    )  # fmt: skip


def _unit(column: Column, asked: UploadField, named: Named, parts: Parts) -> Details | None:
    phrase, where = column.unit_said
    is_word = parts.unit is None and named.words == parts.core  # MS for mean sensitivity, no unit
    if phrase and is_word and not unit_named(phrase, asked.spec.unit):
        phrase = None
    found = unit_of(asked, phrase, where, column.values)
    if found is None:
        return None
    unit = units_for(asked.spec.unit).get(found.unit or "")
    if unit is not None and unit.is_per_area:
        reason = f"{found.reason}: name area_deg2 too, the area of the ring's hexagon"
        return Details({"unit": found.unit}, False, reason, {"unit": None})
    return Details({"unit": found.unit}, found.is_certain, found.reason)


def _notation(found: NotationFound | None, values: ColumnValues) -> Details | None:
    if found is None:
        return None
    told = Details({"notation": found.notation}, found.is_certain, found.reason)
    with_letters = sum(
        _WITH_LETTERS.fullmatch(plain_text(value)) is not None
        for value in values.distinct if isinstance(value, str)
    )  # fmt: skip
    if found.notation not in ("decimal", "logmar") or not with_letters:
        return told
    reason = f"{with_letters} have letters behind: name letters_a_line, and they are read"
    return _joined(told, Details({}, True, reason, {"letters_a_line": _LETTERS_A_LINE}))


def _sign(values: ColumnValues) -> Details:
    numbers = pd.Series(values.plain_numbers, dtype="float64")
    if not may_be_defect(numbers):
        return Details({}, True, "")
    above = (numbers > ABOVE_HEALTHY_DB).sum()
    reason = f"{above} of {len(numbers)} numbers are above {ABOVE_HEALTHY_DB:g}: is that loss?"
    return Details({"loss": "positive"}, False, reason)


def _grading(column: Column, asked: UploadField, writing: Writing) -> Details:
    """A published grading whose numbers or letters the cells hold, where words do not say it."""

    def share(**details: str) -> float:
        source = Source.model_validate({"heading": column.heading, **details})
        return share_that_fits(asked, source, column.values, writing)

    in_words = share()
    shares = {name: share(scheme=name) for name in CLOSURE_GRADINGS}
    best = max(shares.values())
    if in_words >= MOSTLY or best < MOSTLY:
        return Details({}, True, "")
    fitting = [name for name, fits in shares.items() if fits == best]
    if len(fitting) > 1:
        return Details({}, False, f"its grades fit more than one scheme: {', '.join(fitting)}")
    title = CLOSURE_GRADINGS[fitting[0]].title
    return Details({"scheme": fitting[0]}, False, f"its grades fit '{title}' best")


def notations_of(columns: Iterable[Column], writing: Writing) -> Notations:
    """The notation of a table's acuity columns, by what their headings say of it."""
    of_acuity = {name for name, f in upload_fields("visit").items() if f.spec.reads == "acuity"}
    by_word: dict[str | None, list[ColumnValues]] = {}
    for column in columns:
        ways = column.ways_to_read(writing.language, with_time=True, with_eye=True)
        said = {
            parts.notation for parts in ways
            if of_acuity & fields_named(parts.core, "visit", writing.language).keys()
        }  # fmt: skip
        for notation in said:
            by_word.setdefault(notation, []).append(column.values)
    return {said: notation_of(said, values) for said, values in by_word.items()}
