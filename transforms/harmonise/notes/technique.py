"""Free text of technique, tamponade and posture cells to coded fields.

A text is cut into tokens (`tokens`), these into the longest phrases that the vocabularies know
(`phrases`). Steps of a later plan and times find what they belong to (`plan`); each
phrase is stated, denied, replaced or unsure (`standing`, `doubts`); numbers measure what
stands beside them (`numbers`). Only what is stated plainly, or denied plainly, becomes a code;
everything else is told by `problem`:

    word_unknown     nothing was understood
    word_ambiguous   what cannot be true together; those fields stay empty, the others are kept
    words_left_over  part was understood, and its codes are given

`told` names the codes that compete, or those that were understood, in the order of the fields.

Stages are counted from the plan: one, one more for perfluorocarbon left in, one more for a later
removal of oil. They are counted only where a text names both the technique and what filled the eye
and nothing of it is left over: "ART" alone says nothing of the plan. A count that the text states
("two-stage") is taken as it stands, unless what is counted contradicts it; where nothing is said of
the removal of oil, it may be counted or not.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import pandas as pd

from schemas.codebook import table_fields
from schemas.codes import GASES, GRAFT_MATERIAL, NO_TISSUE, OILS
from schemas.conversions import NOTE_CONCEPTS, POSTURE_TEXT, TAMPONADE_TEXT, TECHNIQUE_TEXT
from schemas.vocabulary import vocabulary
from transforms.harmonise.context import PROBLEM, TOLD
from transforms.harmonise.notes.filling import Filling, filling_of
from transforms.harmonise.notes.numbers import PERCENT, VISCOSITY, Measure, measures
from transforms.harmonise.notes.phrases import clause_of, note_items
from transforms.harmonise.notes.plan import TimedNote, timed_note
from transforms.harmonise.notes.standing import Standing, standings
from transforms.harmonise.notes.statements import Statements, statements
from transforms.harmonise.notes.tokens import note_tokens

STAGES = "stages"
POSTURE_DAYS = "posture_days"
TECHNIQUE_FIELDS = tuple(name for name in NOTE_CONCEPTS[TECHNIQUE_TEXT] if name != STAGES)
NUMBERS = (PERCENT, VISCOSITY, STAGES, POSTURE_DAYS)

_FIELDS = table_fields("operations")
_TYPES = dict.fromkeys(TECHNIQUE_FIELDS, "str") | {
    PERCENT: "float64", VISCOSITY: "float64", STAGES: "Int64", POSTURE_DAYS: "Int64",
    TOLD: "object", PROBLEM: "object",
}  # fmt: skip

_LONGEST_TEXT = 2000  # characters; what is longer is a report, not a cell about the technique

# Harvests that cannot be true of a material: nothing was cut, or the tissue is the eye's own.
_OWN_TISSUE = frozenset({"autologous_retina"} | {c for c in GRAFT_MATERIAL if c.startswith("ilm_")})
_COUNTS = {"one_stage": 1, "two_stages": 2, "three_stages": 3}


@dataclass(frozen=True)
class _Reader:
    """What the cells of one field are read into: `concepts` are the vocabularies that are heard,
    `heading` the one whose words need no more than the heading to mean something."""

    heading: str
    concepts: tuple[str, ...]
    columns: tuple[str, ...]


_TECHNIQUE = _Reader("graft_material", NOTE_CONCEPTS[TECHNIQUE_TEXT], (*TECHNIQUE_FIELDS, *NUMBERS))
_TAMPONADE = _Reader("tamponade", NOTE_CONCEPTS[TAMPONADE_TEXT], ("tamponade", PERCENT, VISCOSITY))
_POSTURE = _Reader("posture", NOTE_CONCEPTS[POSTURE_TEXT], ("posture", POSTURE_DAYS))


def read_technique(texts: pd.Series, language: str) -> pd.DataFrame:
    """Codes of distinct technique texts, labelled as `texts`.

    Columns: the coded fields of a technique, tamponade_pct (per cent of volume),
    tamponade_viscosity_cst (cSt), stages, posture_days, `told` and `problem` (None, word_unknown,
    word_ambiguous or words_left_over). An empty text has none of them.
    """
    return _read(texts, language, _TECHNIQUE)


def read_tamponade(texts: pd.Series, language: str) -> pd.DataFrame:
    """Codes of distinct tamponade texts, labelled as `texts`: tamponade, tamponade_pct (per cent of
    volume), tamponade_viscosity_cst (cSt), `told` and `problem`, as in `read_technique`."""
    return _read(texts, language, _TAMPONADE)


def read_posture(texts: pd.Series, language: str) -> pd.DataFrame:
    """Codes of distinct posture texts, labelled as `texts`: posture, posture_days, `told` and
    `problem`, as in `read_technique`."""
    return _read(texts, language, _POSTURE)


def _read(texts: pd.Series, language: str, reader: _Reader) -> pd.DataFrame:
    rows = [_read_one(text, language, reader) for text in texts]
    columns = (*reader.columns, TOLD, PROBLEM)
    return pd.DataFrame(
        {
            name: pd.Series([row.get(name) for row in rows], texts.index, _TYPES[name])
            for name in columns
        }
    )


def _read_one(text: object, language: str, reader: _Reader) -> dict[str, object]:
    if not isinstance(text, str) or not text.strip():
        return {}
    if len(text) > _LONGEST_TEXT:
        return {PROBLEM: "word_unknown"}
    tokens = note_tokens(text)
    under_heading = vocabulary(reader.heading).code(text, language)
    if under_heading is not None and not any(token.is_sign for token in tokens):
        return {reader.heading: under_heading}  # words such as "other", which need the heading
    note = timed_note(note_items(tokens, reader.concepts, language))
    standing = standings(note.items)
    note = note.without_times_at({at for at, each in enumerate(standing) if each == "unsure"})
    numbers = measures(note.items)
    said = statements(note.items, standing, numbers)
    return _Row(note, standing, numbers, said, reader).read()


@dataclass
class _Row:
    """The row of one text in the making. `competing` holds by field the codes, or the field's
    title, that cannot be true together."""

    note: TimedNote
    standing: Sequence[Standing]
    numbers: Mapping[int, Measure]
    said: Statements
    reader: _Reader
    row: dict[str, object] = field(default_factory=dict)
    competing: dict[str, str] = field(default_factory=dict)

    def read(self) -> dict[str, object]:
        """Codes and numbers, the problem, and what is told of it."""
        is_tool_told = "pfcl_use" in self.reader.concepts
        filling = filling_of(self.note, self.standing, self.numbers, is_tool_told=is_tool_told)
        self.said.stated["pfcl_use"] |= filling.pfcl_use
        self.said.stated["tamponade"] |= filling.tamponade
        self.said.has_rest |= not filling.is_plain
        for concept in self.reader.concepts:
            if concept in TECHNIQUE_FIELDS:
                self._settle(concept)
        self._drop_contradictions()
        is_whole = not self.said.has_rest and not self.competing
        if filling.is_left_in and filling.tamponade == {"pfcl"} and not is_whole:
            self.row.pop("tamponade", None)  # what it was exchanged for may be in the rest
        self._measure()
        self._count_days()
        self._count_stages(filling)
        row = {name: value for name, value in self.row.items() if name in self.reader.columns}
        # What the column does not hold is left over, but for perfluorocarbon beside a posture.
        self.said.has_rest |= bool(self.row.keys() - row.keys() - {"pfcl_use"})
        return row | self._problem(row)

    def _settle(self, concept: str) -> None:
        codes = self.said.codes(concept)
        if len(codes) == 1:
            self.row[concept] = next(iter(codes))
        elif codes:
            order = [*(_FIELDS[concept].codes or ()), "none"]
            told = [_told(concept, code) for code in sorted(codes, key=order.index)]
            self.competing[concept] = ", ".join(told)
        elif self.said.is_touched(concept):
            self.said.has_rest = True

    def _drop_contradictions(self) -> None:
        """Fields that cannot be true together are emptied."""
        material, harvest = self.row.get("graft_material"), self.row.get("harvest_method")
        is_foreign = harvest == "tissue_bank" and material in _OWN_TISSUE
        if harvest is not None and (material in NO_TISSUE or is_foreign):
            for name in ("graft_material", "harvest_method"):
                self.competing[name] = _told(name, str(self.row.pop(name)))
        laser = self.row.get("donor_laser")
        if laser not in (None, "none") and material not in (None, "autologous_retina"):
            del self.row["donor_laser"]  # no retina was taken: it was lasered for something else
            self.said.has_rest = True

    def _measure(self) -> None:
        """Concentration of the gas, or viscosity of the oil, that is the tamponade."""
        agent = self.row.get("tamponade")
        found: dict[str, set[float]] = {PERCENT: set(), VISCOSITY: set()}
        for at, measure in self.numbers.items():
            if measure.column not in found or self.standing[at] == "unsure":
                continue
            of = measure.of
            if of is None or (
                self.standing[of] == "stated" and self.note.items[of].codes["tamponade"] == agent
            ):
                found[measure.column].add(measure.value)
        if agent in GASES and len(found[PERCENT]) == 1:
            self.row[PERCENT] = found[PERCENT].pop()
        if len(found[PERCENT]) > 1:
            self.said.has_rest = True
        if len(found[VISCOSITY]) > 1:
            self.competing[VISCOSITY] = _FIELDS[VISCOSITY].title
        elif found[VISCOSITY] and agent in (None, *OILS):
            self.row[VISCOSITY] = found[VISCOSITY].pop()
            self.said.has_rest |= agent is None
        else:
            self.said.has_rest |= bool(found[VISCOSITY])

    def _count_days(self) -> None:
        """Days of the posture, where a whole number of them is stated once."""
        if "posture" not in self.row and self.said.stated["posture"]:
            return  # of which one?
        counts = ("stated", "denied") if self.row.get("posture") == "none" else ("stated",)
        owned = {
            time: owner
            for time, owner in self.note.owner.items()
            if "posture" in self.note.items[owner].codes and self.standing[owner] in counts
        }
        is_sum = len(owned) > len(set(owned.values()))  # "1 week + 1 week"
        days = {self.note.items[time].number for time in owned}
        if is_sum or not all(self._is_whole(time) for time in owned):
            self.said.has_rest = True
        elif len(days) > 1:
            self.competing[POSTURE_DAYS] = _FIELDS[POSTURE_DAYS].title
        elif "posture" in self.row and days and (0 in days) != (self.row["posture"] == "none"):
            self.competing["posture"] = _told("posture", str(self.row.pop("posture")))
            self.competing[POSTURE_DAYS] = _FIELDS[POSTURE_DAYS].title
        elif days:
            self.row[POSTURE_DAYS] = days.pop()

    def _is_whole(self, at: int) -> bool:
        """True for a plain number of days among known words; "alternate 5 days" is none."""
        items = self.note.items
        kinds = {items[place].kind for place in clause_of(items, at)}
        is_plain = not items[at].is_approximate and not kinds & {"unknown", "qualifier"}
        return is_plain and (items[at].number or 0) % 1 == 0

    def _count_stages(self, filling: Filling) -> None:
        """Stages that the text states, or that follow from its plan."""
        stated = {_COUNTS[code] for code in self.said.stated[STAGES]}
        self.said.has_rest |= bool(self.said.denied[STAGES])
        counted = 1 + filling.is_left_in + filling.is_oil_removed
        names_plan = "graft_material" in self.row and ("tamponade" in self.row or counted > 1)
        is_whole = names_plan and not self.said.has_rest and not self.competing
        if not stated:
            if is_whole:
                self.row[STAGES] = counted
            return
        count = stated.pop()
        most = counted + filling.is_removal_open
        if stated or counted > count or (is_whole and most < count):
            self.competing[STAGES] = _FIELDS[STAGES].title
        else:
            self.row[STAGES] = count

    def _problem(self, row: Mapping[str, object]) -> dict[str, object]:
        understood = [_told(name, str(row[name])) for name in TECHNIQUE_FIELDS if name in row]
        titles = [_FIELDS[name].title for name in NUMBERS if name in row]
        if self.competing:
            names = [name for name in (*TECHNIQUE_FIELDS, *NUMBERS) if name in self.competing]
            told = ", ".join(self.competing[name] for name in names)
            return {TOLD: told, PROBLEM: "word_ambiguous"}
        if not row:
            return {PROBLEM: "word_unknown"}
        if self.said.has_rest:
            return {TOLD: ", ".join(understood or titles), PROBLEM: "words_left_over"}
        return {}


# Codes of more than one field.
_SHARED = frozenset({"none", "other"})


def _told(name: str, code: str) -> str:
    """A code as a finding tells it: one that several fields have says of which."""
    return f"{code} ({_FIELDS[name].title})" if code in _SHARED else code
