"""Crosswalks: how one centre's spreadsheet says what the codebook asks, read from TOML.

A crosswalk is the list of what may be read: a column that it does not name is never loaded.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator
from fnmatch import fnmatch
from pathlib import Path
from typing import Annotated, Literal, get_args

from pydantic import (
    BeforeValidator,
    Field,
    ValidationInfo,
    field_validator,
    model_validator,
)

from schemas.codebook import IDENTITY_FIELDS, RecordKind, upload_fields
from schemas.codes import ACUITY_CORRECTION, CLOSURE, NOTATION
from schemas.conventions import CLOSURE_GRADINGS
from schemas.decimal_mark import DecimalMark
from schemas.field import FieldSpec
from schemas.settings_file import Settings, SettingsError, line_of, nearest, read_settings
from schemas.study import SiteCode, Study
from schemas.units import UNIT_MUST_BE_NAMED, unit_in_heading, units_for
from schemas.visit_names import BASELINE

DateOrder = Literal["day-first", "month-first", "year-first"]
RowKind = Literal["operation", "patient", "visit", "complication"]
Language = Literal["en", "es", "fr", "de", "pt"]
LANGUAGES: tuple[Language, ...] = get_args(Language)

# Fields without which no row of a table of that kind is a record.
NEEDED_FIELDS: dict[RecordKind, tuple[str, ...]] = {
    "operation": (*IDENTITY_FIELDS, "operation_date"),
    "visit": (*IDENTITY_FIELDS, "visit_date"),
    "complication": (*IDENTITY_FIELDS, "complication"),
}

# Fields one of which is enough: where a table has both, the first is the needed one.
IN_PLACE_OF = {"visit_date": "visit_time"}


def needed_fields(kind: RecordKind, named: Collection[str]) -> tuple[str, ...]:
    """Fields without which no row of a kind is a record, in a table that has the fields `named`."""
    return tuple(
        other if (other := IN_PLACE_OF.get(name, name)) in named and name not in named else name
        for name in NEEDED_FIELDS[kind]
    )


def in_words(needed: Iterable[str]) -> str:
    """Names of needed fields, each with the one that would do in its place."""
    return " and ".join(
        f"{name} or {IN_PLACE_OF[name]}" if name in IN_PLACE_OF else name for name in needed
    )


LossSign = Literal["negative", "positive"]

# Names that a detail of a source may have.
_NAMES: dict[str, Collection[str]] = {
    "notation": NOTATION,
    "correction": ACUITY_CORRECTION,
    "loss": get_args(LossSign),
    "scheme": CLOSURE_GRADINGS,
}


class Source(Settings):
    """Where a field's value stands: a heading with details, or one value for the whole centre.

    The descriptions are what the dictionary page says of each detail; `details_of` tells which of
    them a field may have.
    """

    heading: str | None = Field(default=None, description="The heading of the column.")
    constant: str | None = Field(
        default=None, description="In place of a heading, one value for every row of the table."
    )
    unit: str | None = Field(default=None, description="Unit in which the column is written.")
    notation: str | None = Field(
        default=None,
        description="Notation in which the column is written; left out, it is told from the "
        "column's cells where these allow one alone.",
    )
    letters_a_line: Annotated[int, Field(ge=1, le=10)] | None = Field(
        default=None,
        description="Letters on each line of the chart, 1 to 10: letters of a partial line count "
        "where it is 5.",
    )
    correction: str | None = Field(
        default=None, description="With which correction the acuities of the column were taken."
    )
    loss: LossSign | None = Field(default=None, description="Which sign means loss in the column.")
    area_deg2: Annotated[float, Field(gt=0, le=2000)] | None = Field(
        default=None,
        description="Area of the ring's hexagon in square degrees, beside a unit of amplitude "
        "alone.",
    )
    scheme: str | None = Field(
        default=None, description="Published grading whose numbers or letters the column holds."
    )
    since: Annotated[str, Field(pattern=r"^\d{4}-W\d{2}$")] | None = Field(
        default=None,
        description="Week, as 2026-W47, from which on the column is written in its unit or "
        "notation: it is then not held against uploads from before.",
    )
    codes: dict[str, str] = Field(
        default_factory=dict,
        description="The centre's own codes, each with the code it stands for; what is not listed "
        "is read as words.",
    )

    @field_validator("notation", "correction", "scheme")
    @classmethod
    def _known_name(cls, name: str | None, about: ValidationInfo) -> str | None:
        known = _NAMES[str(about.field_name)]
        if name is not None and name not in known:
            raise ValueError(
                f"unknown {about.field_name} '{name}'{nearest(name, tuple(known))}; "
                f"one of {', '.join(known)}"
            )
        return name

    def own_code(self, text: str) -> str | None:
        """The code for which the centre writes `text`, compared without case."""
        wanted = text.strip().casefold()
        return next(
            (c for word, c in self.codes.items() if word.strip().casefold() == wanted), None
        )

    @model_validator(mode="after")
    def _one_place(self) -> Source:
        if (self.heading is None) == (self.constant is None):
            raise ValueError("name either a heading or a constant")
        return self


def _as_source(value: object) -> object:
    return {"heading": value} if isinstance(value, str) else value


Sources = dict[str, Annotated[Source, BeforeValidator(_as_source)]]


def _gather_fields(block: object, own: tuple[str, ...]) -> object:
    """Blocks name their fields beside their own keys; put the former under `fields`."""
    if not isinstance(block, dict) or "fields" in block:
        return block
    inner = {key: value for key, value in block.items() if key not in own}
    return {**{key: block[key] for key in own if key in block}, "fields": inner}


class VisitBlock(Settings):
    """One visit laid out in columns of an operation's row."""

    at: str | None = None
    date: Annotated[Source, BeforeValidator(_as_source)] | None = None
    fields: Sources

    @model_validator(mode="before")
    @classmethod
    def _inline(cls, block: object) -> object:
        return _gather_fields(block, ("at", "date"))

    @model_validator(mode="after")
    def _valid(self) -> VisitBlock:
        if self.at is None and self.date is None:
            raise ValueError("a visit needs at = a window's name, or date = a heading")
        _check_fields("visit", self.fields, beside=("visit_date", *IDENTITY_FIELDS))
        return self

    @property
    def sources(self) -> Sources:
        return {"visit_date": self.date, **self.fields} if self.date else self.fields


class EyeBlock(Settings):
    """One eye's operation in a row that holds both eyes of a patient."""

    eye: Literal["right", "left"]
    visits: tuple[VisitBlock, ...] = ()
    fields: Sources

    @model_validator(mode="before")
    @classmethod
    def _inline(cls, block: object) -> object:
        return _gather_fields(block, ("eye", "visits"))

    @model_validator(mode="after")
    def _valid(self) -> EyeBlock:
        _check_fields("operation", self.fields, beside=IDENTITY_FIELDS)
        return self


class SheetTable(Settings):
    """One table of the centre's workbook.

    `file` is a pattern for the file's name, for centres that send several files; `sheet` the
    sheet, left out for the first one; `header` the 1-based rows of the headings, left out to have
    them found.
    """

    file: str = "*"
    sheet: str | None = None
    row: RowKind
    header: tuple[int, ...] | None = None
    fields: Sources
    visits: tuple[VisitBlock, ...] = ()
    eyes: tuple[EyeBlock, ...] = ()

    @model_validator(mode="after")
    def _valid(self) -> SheetTable:
        if self.row == "patient":
            if not self.eyes:
                raise ValueError("a table of patients needs [[table.eyes]] blocks")
            _check_fields("operation", self.fields, beside=("eye",))
            _needs(self.fields, ("patient_id",))
            for block in self.eyes:
                _needs({**self.fields, **block.fields}, ("operation_date",))
            return self
        if self.eyes:
            raise ValueError('[[table.eyes]] belongs to row = "patient"')
        if self.visits and self.row != "operation":
            raise ValueError('[[table.visits]] belongs to row = "operation" or "patient"')
        _check_fields(self.row, self.fields)
        _needs(self.fields, self.needed_fields)
        return self

    @property
    def needed_fields(self) -> tuple[str, ...]:
        """Fields without which no row of the table is a record."""
        return ("patient_id",) if self.row == "patient" else needed_fields(self.row, self.fields)

    @property
    def sheet_in_words(self) -> str:
        """The sheet for people. The name of a sheet that the crosswalk does not name may be a
        patient's."""
        return f"sheet '{self.sheet}'" if self.sheet else "the first sheet"

    def matches_file(self, name: str) -> bool:
        return fnmatch(name.casefold(), self.file.casefold())


class Crosswalk(Settings):
    """One centre's crosswalk. `language` settles words that mean different things in two."""

    site: SiteCode
    title: str
    language: Language = "en"
    dates: DateOrder
    decimal: DecimalMark
    missing: tuple[str, ...] = ("",)
    tables: tuple[SheetTable, ...] = Field(alias="table", min_length=1)

    def texts(self) -> Iterator[str]:
        """Every text of the crosswalk that is known to be no patient's: title, sheets, headings."""
        yield from (self.site, self.title)
        for table in self.tables:
            yield from (table.file, table.sheet or "")
            for sources in (table.fields, *(block.fields for block in table.eyes)):
                yield from (source.heading or "" for source in sources.values())

    def table_names(self) -> list[str]:
        """A name for each table, the same whatever tables stand before it."""
        seen: Counter[str] = Counter()
        names = []
        for table in self.tables:
            name = f"{table.file} {table.sheet or ''} {table.row}"
            seen[name] += 1
            names.append(name if seen[name] == 1 else f"{name} {seen[name]}")
        return names


def _check_fields(kind: RecordKind, sources: Sources, beside: tuple[str, ...] = ()) -> None:
    known = {name: f for name, f in upload_fields(kind).items() if name not in beside}
    for name, source in sources.items():
        if name not in known:
            raise ValueError(
                f"'{name}' is no field of one {kind}{nearest(name, tuple(known))}; "
                "see the data dictionary"
            )
        _check_details(name, known[name].spec, source)


_DETAILS: dict[str, tuple[Callable[[FieldSpec], bool], str]] = {
    "notation": (lambda spec: spec.reads == "acuity", "an acuity"),
    "letters_a_line": (lambda spec: spec.reads == "acuity", "an acuity"),
    "correction": (lambda spec: spec.name == "acuity_logmar", "the field acuity"),
    "loss": (lambda spec: spec.name == "perimetry_md_db", "a mean deviation"),
    "scheme": (
        lambda spec: spec.codes is not None and spec.codes.name == CLOSURE.name,
        "a closure",
    ),
}


def details_of(spec: FieldSpec) -> dict[str, tuple[str, ...]]:
    """Details that a source of this field may have beside its place, each with the names of which
    it is one; none where it is a number, a week or the centre's own text."""
    units = units_for(spec.unit)
    own_codes = tuple(spec.codes or (("yes", "no") if spec.reads == "yes_no" else ()))
    found = {
        "unit": tuple(units),
        **{name: tuple(_NAMES.get(name, ())) for name, (has, _) in _DETAILS.items() if has(spec)},
        "codes": own_codes,
    }
    found = {name: names for name, names in found.items() if names or name in _DETAILS}
    if any(unit.is_per_area for unit in units.values()):
        found["area_deg2"] = ()
    if units or "notation" in found:
        found["since"] = ()
    return found


def _check_details(name: str, spec: FieldSpec, source: Source) -> None:
    for detail, (has, what) in _DETAILS.items():
        if getattr(source, detail) is not None and not has(spec):
            raise ValueError(f"'{name}': only {what} has {detail}; take it out")
    unit = units_for(spec.unit).get(source.unit or "")
    if (source.area_deg2 is not None) != (unit is not None and unit.is_per_area):
        raise ValueError(
            f"'{name}': area_deg2, the area of the ring's hexagon, goes with a unit of amplitude "
            "alone (uV or nV); name both or neither"
        )
    possible = ", ".join(units_for(spec.unit)) or "none"
    if source.unit is None and spec.unit in UNIT_MUST_BE_NAMED:
        raise ValueError(f"'{name}': name its unit; one of: {possible}")
    said = unit_in_heading(source.heading or "", spec.unit)
    if source.unit is None and said not in (None, spec.unit):
        raise ValueError(
            f"'{name}': the heading '{source.heading}' says '{said}'; name it as unit, or name the "
            "one in which the column is written"
        )
    if source.unit is not None and source.unit not in units_for(spec.unit):
        raise ValueError(f"'{name}': unit '{source.unit}' is not possible; one of: {possible}")
    if spec.codes and (strange := sorted(set(source.codes.values()) - set(spec.codes))):
        raise ValueError(
            f"'{name}': unknown code '{strange[0]}'{nearest(strange[0], tuple(spec.codes))}; "
            f"one of {', '.join(spec.codes)}"
        )


def _needs(sources: Sources, names: tuple[str, ...]) -> None:
    if absent := [name for name in names if name not in sources]:
        raise ValueError(f"[table.fields] must name {in_words(absent)}")


def crosswalk_path(study_folder: Path, site: str) -> Path:
    """Where a centre's crosswalk lies; a centre that sends the template needs none."""
    return study_folder / "crosswalks" / f"{site}.toml"


def read_crosswalk(study_folder: Path, study: Study, site: str) -> Crosswalk:
    """The crosswalk of one centre of a study. Raises SettingsError."""
    path = crosswalk_path(study_folder, site)
    crosswalk = read_settings(path, Crosswalk)
    if crosswalk.site != site:
        raise SettingsError(
            f"{path}: site = '{crosswalk.site}' must be '{site}', as the file's name"
        )
    _check_windows(path, crosswalk, (BASELINE, *study.visits))
    return crosswalk


def _check_windows(path: Path, crosswalk: Crosswalk, known: tuple[str, ...]) -> None:
    for number, table in enumerate(crosswalk.tables):
        places = [(("visits", i), block) for i, block in enumerate(table.visits)]
        for eye_number, eye in enumerate(table.eyes):
            places += [
                (("eyes", eye_number, "visits", i), block)  # type: ignore[misc]
                for i, block in enumerate(eye.visits)
            ]
        for place, block in places:
            if block.at not in (None, *known):
                line = line_of(path.read_text(encoding="utf-8"), ("table", number, *place, "at"))
                raise SettingsError(
                    f"{path}, line {line}: at = '{block.at}' is no window of study.toml"
                    f"{nearest(str(block.at), known)}; one of {', '.join(known)}"
                )
