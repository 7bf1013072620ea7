"""What a column's values say: how many of them a field could be read from, in which unit."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from schemas.codebook import UploadField, table_fields
from schemas.conventions import OffChartSet
from schemas.crosswalk import DateOrder, Language, Source
from schemas.decimal_mark import DecimalMark
from schemas.units import UNIT_MUST_BE_NAMED, unit_named, unit_sign, units_for
from schemas.vocabulary import vocabulary
from transforms.harmonise.context import Context, columns_of_values
from transforms.harmonise.read_cells import READERS
from transforms.reading import cell_text
from transforms.validate.dates import read_dates
from transforms.visit_time import time_of_visit

MOST_DISTINCT = 300
MOSTLY = 0.8
SELDOM = 0.2
_RECORD_NUMBER = re.compile(r"(?=.*\d)[^\s,].{0,23}")
_ADULT_DAYS = 18 * 365.25
_SHORT_CODE = 4
# The response of a ring and the time to its peak are headed alike: only the unit tells them apart.
_KNOWN_BY_UNIT = frozenset({"nV/deg2", "ms"})
_UNIT_BEHIND = re.compile(r"[~<>]?\s*\d[\d.,]*\s*([^\d\s].*)")
_NUMBER = re.compile(r"[+-]?\d+([.,]\d+)?")


@dataclass(frozen=True)
class Writing:
    """How the centre writes, as far as the drafter has found it, and the last possible day."""

    language: Language
    dates: DateOrder
    decimal: DecimalMark
    off_chart: OffChartSet
    latest: dt.date


@dataclass(frozen=True)
class ColumnValues:
    """The filled cells of a column in rows of records, those that say "missing" left out.

    `repeats` is the share of them that stood in an earlier row already; `plain_numbers` are those
    that are numbers, or texts of nothing else.
    """

    distinct: pd.Series
    count: int
    repeats: float
    plain_numbers: tuple[float, ...]

    @property
    def is_empty(self) -> bool:
        return self.count == 0


def column_values(cells: Sequence[object], missing: frozenset[str]) -> ColumnValues:
    """The values of a column's cells; texts of `missing` (in lower case) are no values."""
    filled = [
        value for value in cells
        if value is not None and cell_text(value).strip().casefold() not in missing
    ]  # fmt: skip
    by_text = {(type(value).__name__, cell_text(value)): value for value in filled}
    distinct = pd.Series(list(by_text.values())[:MOST_DISTINCT], dtype="object")
    repeats = 1 - len(by_text) / len(filled) if filled else 0.0
    numbers = (_plain_number(value) for value in distinct)
    plain = tuple(number for number in numbers if number is not None)
    return ColumnValues(distinct, len(filled), repeats, plain)


def share_that_fits(
    field: UploadField, source: Source, values: ColumnValues, writing: Writing
) -> float:
    """Share of a column's distinct values that the field's own reader takes and limits allow."""
    if values.is_empty:
        return 0.0
    if field.column is None:
        return _share_before_harmonising(field, values, writing)
    context = Context(field, source, writing.language, writing.decimal, writing.off_chart)
    read = READERS[str(field.spec.reads)](values.distinct, context)
    if field.spec.reads == "technique":
        return float((read[columns_of_values(read)].notna().any(axis=1)).mean())
    taken = read[context.column]
    if field.spec.hard and field.spec.reads != "code":
        numbers = pd.to_numeric(taken, errors="coerce").astype("float64")
        return float(numbers.between(field.spec.hard.low, field.spec.hard.high).mean())
    return float(taken.notna().mean())


def _share_before_harmonising(field: UploadField, values: ColumnValues, writing: Writing) -> float:
    if field.spec.reads == "identity":
        return _share_of_names(field.name, values)
    if field.spec.reads == "date":
        return _share_of_dates(field.name, values, writing)
    if field.spec.reads == "visit_time":
        return _share_of_times(values, writing)
    return _share_of_words(field, values, writing)


def _share_of_words(field: UploadField, values: ColumnValues, writing: Writing) -> float:
    """For codes that are read before harmonisation: the side of the eye."""
    words = vocabulary(field.spec.codes.name if field.spec.codes else field.name)
    codes = [words.code(cell_text(value), writing.language) for value in values.distinct]
    return sum(code is not None for code in codes) / len(codes)


def _share_of_names(name: str, values: ColumnValues) -> float:
    texts = values.distinct.map(cell_text).str.strip()
    if name == "patient_id":
        is_decimal = values.distinct.map(
            lambda value: isinstance(value, float) and not value.is_integer()
        )
        return float((texts.str.fullmatch(_RECORD_NUMBER.pattern) & ~is_decimal).mean())
    has_digit = texts.str.contains(r"\d", regex=True)
    is_code = texts.str.len() <= _SHORT_CODE
    return float((~has_digit | is_code).mean()) if values.repeats > 0 else SELDOM


def _share_of_times(values: ColumnValues, writing: Writing) -> float:
    """For times of visits in words; "V2" and "last" do not say when."""
    times = [time_of_visit(cell_text(value), writing.language) for value in values.distinct]
    told = [time for time in times if time and (time.is_baseline or time.days is not None)]
    return len(told) / len(times)


def _share_of_dates(name: str, values: ColumnValues, writing: Writing) -> float:
    days = read_dates(values.distinct, writing.dates, writing.latest)
    age = (pd.Timestamp(writing.latest) - days).dt.days
    if name == "birth_date":
        return float((age >= _ADULT_DAYS).mean())
    first = table_fields("operations")["operation_year"].hard
    return float(((age >= 0) & (days.dt.year >= (first.low if first else 0))).mean())


@dataclass(frozen=True)
class UnitFound:
    """The unit to name in the crosswalk if any, and whether it is certain, with the reason."""

    unit: str | None
    is_certain: bool
    reason: str


def unit_of(
    field: UploadField, phrase: str | None, said_where: str, values: ColumnValues
) -> UnitFound | None:
    """The unit of a column: as it is said (`phrase`), as its cells say, or as its
    values' range does. None where a unit is said that the field cannot have.
    """
    units = units_for(field.spec.unit)
    if phrase:
        name = unit_named(phrase, field.spec.unit)
        reason = f"{said_where} says {unit_sign(name)}"
        return UnitFound(_said(field, name), True, reason) if name else None
    if field.spec.unit in _KNOWN_BY_UNIT:
        return UnitFound(None, False, "no unit says whether it is a response or its time")
    if len(units) < 2:
        return UnitFound(None, True, "")
    if in_cells := _unit_in_cells(field, values):
        return UnitFound(_said(field, in_cells), True, f"its cells say {in_cells}")
    return _unit_by_range(field, values)


def _said(field: UploadField, unit: str) -> str | None:
    """A unit is written where it must be named, or is not the codebook's own."""
    is_needed = field.spec.unit in UNIT_MUST_BE_NAMED or unit != field.spec.unit
    return unit if is_needed else None


def _unit_in_cells(field: UploadField, values: ColumnValues) -> str | None:
    """The unit that most cells name behind their number."""
    texts = [value.strip() for value in values.distinct if isinstance(value, str)]
    behind = [match[1] for text in texts if (match := _UNIT_BEHIND.fullmatch(text))]
    named = Counter(filter(None, (unit_named(unit, field.spec.unit) for unit in behind)))
    return next((u for u, n in named.items() if n >= MOSTLY * len(values.distinct)), None)


def _unit_by_range(field: UploadField, values: ColumnValues) -> UnitFound:
    """The one unit in which most plain numbers lie within the codebook's limits, if it is only one.

    Zero lies within limits in every unit, and says nothing.
    """
    limits = field.spec.hard
    numbers = [number for number in values.plain_numbers if number]
    if limits is None or not numbers:
        return UnitFound(None, False, "no value shows the unit")
    shares = {
        name: sum(limits.low <= number * unit.factor <= limits.high for number in numbers)
        / len(numbers)
        for name, unit in units_for(field.spec.unit).items()
    }
    possible = [name for name, share in shares.items() if share > SELDOM]
    best = max(shares, key=lambda name: shares[name])
    spread = f"{_rounded(min(numbers))} to {_rounded(max(numbers))}"
    if possible == [best] and shares[best] >= MOSTLY:
        return UnitFound(_said(field, best), True, f"{spread} can only be {unit_sign(best)}")
    named = " or ".join(map(unit_sign, possible)) or "no unit well"
    return UnitFound(_said(field, best), False, f"{spread} can be {named}")


def _rounded(number: float) -> str:
    """Two digits are enough to see a unit by, and too few to know a patient by."""
    return f"{float(f'{number:.2g}'):g}"


def _plain_number(value: object) -> float | None:
    """A number, with either decimal mark: thousands marks are refused by every reader."""
    if isinstance(value, bool):
        return None
    if isinstance(value, int | float):
        return float(value) if math.isfinite(value) else None
    if isinstance(value, str) and _NUMBER.fullmatch(value.strip()):
        return float(value.strip().replace(",", "."))
    return None
