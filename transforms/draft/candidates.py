"""Which fields a column may hold, with the confidence of each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from schemas.codebook import IDENTITY_FIELDS, RecordKind, UploadField, upload_fields
from schemas.crosswalk import Source
from transforms.draft.column_values import ColumnValues, Writing, share_that_fits, unit_of
from transforms.draft.heading_fields import HALF_UNDERSTOOD, Named, fields_named
from transforms.draft.heading_parts import (
    Parts,
    VisitTime,
    is_unit,
    unit_said,
    ways_to_read,
)
from transforms.draft.notation_words import said_by
from transforms.draft.notations import NotationFound, notation_of

# How far values that no reader takes lower the confidence of a heading: codes and names vary from
# centre to centre, numbers and dates do not. Project choices.
_LEFT_WITHOUT_VALUES = 0.88
_LEFT_BY_STRANGE_WORDS = 0.7
_LEFT_BY_STRANGE_NUMBERS = 0.4
_SPECIFIC_WORDS = frozenset({"code", "tamponade", "technique"})
_WORDS = frozenset({"code", "identity", "technique", "tamponade", "yes_no"})

# No more than this without a certain unit or notation, or where another column or field is as good.
UNSETTLED = 0.75
# No more than this from values alone: they cannot say of which eye, nor when.
VALUES_ALONE = 0.7


@dataclass(frozen=True)
class Column:
    """One column of a table: its heading, what a row of units says below it, and its values."""

    number: int
    heading: str
    said_below: str
    values: ColumnValues

    @property
    def notation_said(self) -> str | None:
        return said_by(f"{self.heading} {self.said_below}")


@dataclass(frozen=True)
class Candidate:
    """A field that a column may hold, in the block of a visit (`time`) or of an eye."""

    column: Column
    kind: RecordKind
    field: str
    parts: Parts
    confidence: float
    words: frozenset[str]
    reason: str
    unit: str | None = None
    notation: str | None = None

    @property
    def block(self) -> tuple[str | None, VisitTime | None]:
        is_visit = self.kind == "visit" and self.parts.time is not None
        return self.parts.eye, self.parts.time if is_visit else None


Notations = Mapping[str | None, NotationFound | None]


def candidates(
    column: Column, row: RecordKind, writing: Writing, notations: Notations, *, both_eyes: bool
) -> Iterator[Candidate]:
    """The fields that a column of a table may hold, when one row of it is a record of kind `row`.

    In an operation's row a heading that names a visit is one of that visit's fields; what was
    measured before the operation may also be one of the operation's own.
    """
    for parts in ways_to_read(
        column.heading, writing.language, with_time=row == "operation", with_eye=both_eyes
    ):
        if parts.time is None:
            found = _of_kind(column, row, parts, writing, notations)
            yield from (c for c in found if c.field not in _told_by_layout(parts, both_eyes))
            continue
        of_visit = [
            c for c in _of_kind(column, "visit", parts, writing, notations)
            if c.field not in IDENTITY_FIELDS
        ]  # fmt: skip
        yield from of_visit
        if parts.time.is_baseline and not of_visit:
            yield from _of_kind(column, "operation", parts, writing, notations)


def _told_by_layout(parts: Parts, both_eyes: bool) -> tuple[str, ...]:
    """Fields that no column may hold: where a row holds both eyes the block says which it is."""
    if not both_eyes:
        return ()
    return IDENTITY_FIELDS if parts.eye else ("eye",)


def _of_kind(
    column: Column, kind: RecordKind, parts: Parts, writing: Writing, notations: Notations
) -> Iterator[Candidate]:
    for named in fields_named(parts.core, kind, writing.language).values():
        field = upload_fields(kind)[named.field]
        found = _weighed(column, field, named, parts, writing, notations)
        if found:
            yield found


def _weighed(
    column: Column, field: UploadField, named: Named, parts: Parts, writing: Writing,
    notations: Notations,
) -> Candidate | None:  # fmt: skip
    in_heading = unit_said(column.heading)
    said_where = "heading" if in_heading else "row of units"
    unit = unit_of(field, in_heading or _unit_below(column), said_where, column.values)
    if unit is None:
        return None
    notation = notations.get(column.notation_said) if field.spec.reads == "acuity" else None
    if field.spec.reads == "acuity" and notation is None:
        return None
    source = Source(
        heading=column.heading, unit=unit.unit, notation=notation.notation if notation else None
    )
    share = share_that_fits(field, source, column.values, writing)
    confidence = named.score * _kept(field, column.values, share)
    if not unit.is_certain or (notation and not notation.is_certain):
        confidence = min(confidence, UNSETTLED)
    reasons = [
        _of_heading(named, field), _of_values(column.values, share), unit.reason,
        notation.reason if notation else "",
    ]  # fmt: skip
    return Candidate(
        column, field.kind, field.name, parts, confidence, frozenset(named.words.split()),
        "; ".join(filter(None, reasons)), unit.unit, source.notation,
    )  # fmt: skip


def _unit_below(column: Column) -> str | None:
    text = column.said_below.strip("()[] ")
    return text if is_unit(text) else None


def _kept(field: UploadField, values: ColumnValues, share: float) -> float:
    if values.is_empty:
        return _LEFT_WITHOUT_VALUES
    is_words = field.spec.reads in _WORDS
    left = _LEFT_BY_STRANGE_WORDS if is_words else _LEFT_BY_STRANGE_NUMBERS
    return left + (1 - left) * share


def _of_heading(named: Named, field: UploadField) -> str:
    title = field.spec.title.lower()
    return {
        "listed": f"heading is listed for {title}",
        "listed elsewhere": f"heading is listed for {title} in another language",
        "within": f"'{named.words}' is listed for {title}, the rest adds nothing",
        "in part": f"'{named.words}' is listed for {title}, the rest is not understood",
        "reordered": f"heading has the words for {title} in another order",
        "alike": f"heading is nearly '{named.words}', listed for {title}",
    }[named.reason]


def _of_values(values: ColumnValues, share: float) -> str:
    if values.is_empty:
        return "no value yet"
    count = len(values.distinct)
    return f"{round(share * count)} of {count} different values can be read"


def notations_of(columns: list[Column], writing: Writing) -> Notations:
    """The notation of a table's acuity columns, by what their headings say of it."""
    by_word: dict[str | None, list[ColumnValues]] = {}
    for column in columns:
        ways = ways_to_read(column.heading, writing.language, with_time=True, with_eye=True)
        if any("acuity" in fields_named(p.core, "visit", writing.language) for p in ways):
            by_word.setdefault(column.notation_said, []).append(column.values)
    return {said: notation_of(said, values) for said, values in by_word.items()}


def from_values(column: Column, row: RecordKind, writing: Writing) -> Candidate | None:
    """The field of words that nearly all values of a column belong to, where its heading says
    nothing: never more than a suggestion.
    """
    if len(column.values.distinct) < 2:
        return None
    best: Candidate | None = None
    fields = [f for f in upload_fields(row).values() if f.spec.reads in _SPECIFIC_WORDS]
    # Texts on technique may name a tamponade or a lens as well, and so come last.
    for field in sorted(fields, key=lambda field: field.spec.reads == "technique"):
        share = share_that_fits(field, Source(heading=column.heading), column.values, writing)
        confidence = VALUES_ALONE * share
        if confidence > HALF_UNDERSTOOD and (best is None or confidence > best.confidence):
            reason = f"heading is not known; {_of_values(column.values, share)}"
            best = Candidate(
                column, row, field.name, Parts(column.heading), confidence, frozenset(),
                f"{reason} as {field.spec.title.lower()}",
            )  # fmt: skip
    return best or _acuity_from_values(column, row)


def _acuity_from_values(column: Column, row: RecordKind) -> Candidate | None:
    field = upload_fields(row).get("acuity")
    found = notation_of(None, [column.values])
    if field is None or found is None or not found.is_certain or "fractions" not in found.reason:
        return None
    return Candidate(
        column, row, field.name, Parts(column.heading), VALUES_ALONE, frozenset(),
        f"heading is not known; {found.reason}", None, found.notation,
    )  # fmt: skip
