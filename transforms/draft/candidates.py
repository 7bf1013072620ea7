"""Which fields a column may hold, with the confidence of each."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from schemas.codebook import IDENTITY_FIELDS, RecordKind, UploadField, upload_fields
from schemas.crosswalk import IN_PLACE_OF, Source
from transforms.draft.column_values import ColumnValues, Writing, share_that_fits
from transforms.draft.columns import Column
from transforms.draft.details import Notations, details_of
from transforms.draft.heading_fields import HALF_UNDERSTOOD, Named, fields_named
from transforms.draft.heading_parts import Parts
from transforms.draft.notations import notation_of
from transforms.visit_time import VisitTime

# How far values that no reader takes lower the confidence of a heading: codes and names vary from
# centre to centre, numbers and dates do not. Project choices.
_LEFT_WITHOUT_VALUES = 0.88
_LEFT_BY_STRANGE_WORDS = 0.7
_LEFT_BY_STRANGE_NUMBERS = 0.4
_SPECIFIC_WORDS = frozenset({"code", "posture", "tamponade", "technique", "visit_time"})
_WORDS = _SPECIFIC_WORDS | {"identity", "yes_no"}
# What the block of a visit in an operation's row says for itself: whose eye, and when.
_SAID_BY_BLOCK = (*IDENTITY_FIELDS, *IN_PLACE_OF.values())
# A visit's date and its time in words, of which either may stand under a heading for the other.
_WHEN = {one: (other,) for pair in IN_PLACE_OF.items() for one, other in (pair, pair[::-1])}

# No more than this without a certain unit or notation, or where another column or field is as good.
UNSETTLED = 0.75
# No more than this from values alone: they cannot say of which eye, nor when.
VALUES_ALONE = 0.7


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
    source: Source

    @property
    def block(self) -> tuple[str | None, VisitTime | None]:
        is_visit = self.kind == "visit" and self.parts.time is not None
        return self.parts.eye, self.parts.time if is_visit else None


def candidates(
    column: Column, row: RecordKind, writing: Writing, notations: Notations, *, both_eyes: bool
) -> Iterator[Candidate]:
    """The fields that a column of a table may hold, when one row of it is a record of kind `row`.

    In an operation's row a heading that names a visit is one of that visit's fields; what was
    measured before the operation may also be one of the operation's own.
    """
    for parts in column.ways_to_read(
        writing.language, with_time=row == "operation", with_eye=both_eyes
    ):
        if parts.time is None:
            found = _of_kind(column, row, parts, writing, notations)
            yield from (c for c in found if c.field not in _told_by_layout(parts, both_eyes))
            continue
        of_visit = [
            c for c in _of_kind(column, "visit", parts, writing, notations)
            if c.field not in _SAID_BY_BLOCK
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
        for name in (named.field, *_WHEN.get(named.field, ())):
            field = upload_fields(kind)[name]
            found = _weighed(column, field, named, parts, writing, notations)
            if found:
                yield found


def _weighed(
    column: Column, field: UploadField, named: Named, parts: Parts, writing: Writing,
    notations: Notations,
) -> Candidate | None:  # fmt: skip
    details = details_of(column, field, named, parts, writing, notations)
    if details is None:
        return None
    values = column.values
    share = share_that_fits(field, details.trial(column), values, writing)
    most = _most_of_when(field, named, values, share)
    if not most:
        return None
    most = most if details.is_certain else min(most, UNSETTLED)
    reasons = [_of_heading(named, field), _of_values(values, share), details.reason]
    return Candidate(
        column, field.kind, field.name, parts, min(named.score * _kept(field, values, share), most),
        frozenset(named.words.split()), "; ".join(filter(None, reasons)), details.source(column),
    )  # fmt: skip


def _most_of_when(field: UploadField, named: Named, values: ColumnValues, share: float) -> float:
    """How surely a column can say when a visit was; not below 1 for any other field.

    "Visit" and "Follow-up" head dates and times in words alike, and the values say which; a date
    under a heading for times may be another visit's.
    """
    is_own, is_words = field.name == named.field, field.name in IN_PLACE_OF.values()
    if named.field not in _WHEN or (is_own and not is_words):
        return 1.0
    if not share:
        return UNSETTLED if is_own and values.is_empty else 0.0
    return 1.0 if is_words else UNSETTLED


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
                f"{reason} as {field.spec.title.lower()}", Source(heading=column.heading),
            )  # fmt: skip
    return best or _acuity_from_values(column, row)


def _acuity_from_values(column: Column, row: RecordKind) -> Candidate | None:
    field = upload_fields(row).get("acuity")
    found = notation_of(None, [column.values])
    if field is None or found is None or not (found.is_certain and found.is_of_fractions):
        return None
    return Candidate(
        column, row, field.name, Parts(column.heading), VALUES_ALONE, frozenset(),
        f"heading is not known; {found.reason}",
        Source(heading=column.heading, notation=found.notation),
    )  # fmt: skip
