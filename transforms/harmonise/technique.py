"""Free text of technique and tamponade cells to coded fields.

A text is cut into tokens (`note_tokens`), these into the longest phrases that the vocabularies know
(`note_phrases`), and each phrase is stated, denied or unsure (`note_standing`). Only what is stated
plainly, or denied plainly, becomes a code; everything else is told by `problem`:

    word_unknown     nothing was understood
    word_ambiguous   two codes of one field; that field stays empty, the others are kept
    words_left_over  part was understood, and its codes are given
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import pandas as pd

from schemas.codebook import table_fields
from schemas.codes import GASES
from schemas.vocabulary import vocabulary
from transforms.harmonise.note_phrases import Item, note_items
from transforms.harmonise.note_standing import Standing, standings
from transforms.harmonise.note_tokens import Break, note_tokens

TECHNIQUE_FIELDS = (
    "graft_material", "harvest_method", "pfcl_use", "viscoelastic", "adjunct", "donor_laser",
    "tamponade",
)  # fmt: skip
_HAS_NONE = frozenset(
    name for name in TECHNIQUE_FIELDS if "none" in (table_fields("operations")[name].codes or ())
)
PERCENT = "tamponade_pct"
PROBLEM = "problem"

# A code that says more than another of the same field: both together are the first.
_FINER: dict[str, dict[str, frozenset[str]]] = {
    "harvest_method": {
        "bleb_and_scissors": frozenset({"scissors"}),
        "diathermy_outlined": frozenset({"scissors"}),
    },
    "pfcl_use": {
        "short_term": frozenset({"intraoperative"}),
        "direct_oil_exchange": frozenset({"intraoperative"}),
    },
    "viscoelastic": {
        "cohesive": frozenset({"used_unspecified"}),
        "dispersive": frozenset({"used_unspecified"}),
    },
}

# Denying one of these denies the field; the empty code is the subject itself ("no laser"). "No SF6"
# does not say that nothing filled the eye, nor "no preoperative laser" that there was none.
_DENIES_ALL: dict[str, frozenset[str]] = {
    "graft_material": frozenset({""}),
    "pfcl_use": frozenset({"intraoperative"}),
    "viscoelastic": frozenset({"used_unspecified"}),
    "adjunct": frozenset({""}),
    "donor_laser": frozenset({""}),
    "tamponade": frozenset({""}),
}
# Denying one of these denies the field where the note has no other word that may belong to it.
_DENIES_ALL_ALONE: dict[str, frozenset[str]] = {
    "viscoelastic": frozenset({"cohesive", "dispersive"}),
    "adjunct": frozenset({"autologous_blood", "autologous_serum", "platelet_concentrate"}),
}

_BARE_PFCL = {"pfcl_use": "intraoperative", "tamponade": "pfcl"}
_LEAVES_NO_PFCL = frozenset({"air", *GASES})
_OILS = ("silicone_oil", "heavy_oil")
_VISCOSITY = (500.0, 10000.0)  # centistokes; oils for the eye run from 1000 to 5700


def read_technique(texts: pd.Series, language: str) -> pd.DataFrame:
    """Codes of distinct technique texts, labelled as `texts`.

    Columns: the coded fields of a technique, tamponade_pct (per cent of volume), and `problem`
    (None, word_unknown, word_ambiguous or words_left_over). An empty text has none of them.
    """
    return _read(texts, language, TECHNIQUE_FIELDS, "graft_material")


def read_tamponade(texts: pd.Series, language: str) -> pd.DataFrame:
    """Codes of distinct tamponade texts, labelled as `texts`: tamponade, tamponade_pct (per cent
    of volume) and `problem`, as in `read_technique`."""
    return _read(texts, language, ("tamponade",), "tamponade")


def _read(texts: pd.Series, language: str, concepts: tuple[str, ...], heading: str) -> pd.DataFrame:
    rows = [_read_one(text, language, concepts, heading) for text in texts]
    read = pd.DataFrame(rows, index=texts.index, columns=[*concepts, PERCENT, PROBLEM])
    return read.astype(dict.fromkeys(concepts, "str") | {PERCENT: "float64", PROBLEM: "object"})


def _read_one(
    text: object, language: str, concepts: tuple[str, ...], heading: str
) -> dict[str, object]:
    if not isinstance(text, str) or not text.strip():
        return {PROBLEM: None}
    under_heading = vocabulary(heading).code(text, language)
    if under_heading is not None:  # words such as "other", which need the heading to mean it
        return {heading: under_heading, PROBLEM: None}
    items = note_items(note_tokens(text), concepts, language)
    note = _Note(items, standings(items))
    note.hear()
    return note.read(concepts)


@dataclass
class _Note:
    """One text being read: what it states and denies of each concept."""

    items: Sequence[Item]
    standing: Sequence[Standing]
    stated: dict[str, set[str]] = field(default_factory=lambda: defaultdict(set))
    denied: dict[str, set[str]] = field(default_factory=lambda: defaultdict(set))
    mentioned: set[str] = field(default_factory=set)
    has_rest: bool = False

    def hear(self) -> None:
        """Takes down every item."""
        has_bare_pfcl = False
        for at, item in enumerate(self.items):
            if item.kind in ("phrase", "subject"):
                is_bare = dict(item.codes) == _BARE_PFCL
                has_bare_pfcl |= is_bare and self.standing[at] == "stated"
                self._hear_named(item, self.standing[at], is_bare)
            elif item.kind == "number":
                self.has_rest |= not self._is_measure(at)
            elif item.kind == "heading":
                self.has_rest |= at == 0 or self.items[at - 1].kind != "negation"
            else:
                self.has_rest |= item.kind in ("unknown", "doubt")
        if has_bare_pfcl:
            self._settle_bare_pfcl()
        kinds = {item.kind for item in self.items}
        self.has_rest |= "negation" in kinds and set(self.standing) == {"stated"}

    def _hear_named(self, item: Item, standing: Standing, is_bare_pfcl: bool) -> None:
        if standing == "unsure":
            self.has_rest = True
        elif standing == "denied":
            for concept, code in item.codes.items():
                if not (is_bare_pfcl and concept == "tamponade"):
                    self.denied[concept].add(code)
        elif item.kind == "subject":
            self.mentioned |= item.codes.keys()
        elif not is_bare_pfcl:
            for concept, code in item.codes.items():
                self.stated[concept].add(code)

    def _settle_bare_pfcl(self) -> None:
        """Perfluorocarbon was a tool where gas or air filled the eye; else there is no telling."""
        if self.stated["pfcl_use"] - {"none"}:
            return
        if self.stated["tamponade"] and self.stated["tamponade"] <= _LEAVES_NO_PFCL:
            self.stated["pfcl_use"].add("intraoperative")
        else:
            self.has_rest = True

    def read(self, concepts: tuple[str, ...]) -> dict[str, object]:
        """The row of codes and problem."""
        row: dict[str, object] = {}
        is_ambiguous = False
        for concept in concepts:
            codes = self._codes(concept)
            is_ambiguous |= len(codes) > 1
            if len(codes) == 1:
                row[concept] = next(iter(codes))
            elif concept in self.mentioned or self.denied[concept]:
                self.has_rest |= not codes
        if str(row.get("graft_material")).startswith("none_") and row.pop("harvest_method", None):
            self.has_rest = True  # no graft was cut: the word was about something else
        if row.get("tamponade") in GASES:
            row[PERCENT] = self._concentration()
        row[PROBLEM] = (
            "word_ambiguous" if is_ambiguous
            else "word_unknown" if not row
            else "words_left_over" if self.has_rest
            else None
        )  # fmt: skip
        return row

    def _codes(self, concept: str) -> set[str]:
        """The codes that the note gives a concept: one where it is plain."""
        stated, denied = set(self.stated[concept]), self.denied[concept]
        for code, coarser in _FINER.get(concept, {}).items():
            if code in stated:
                stated -= coarser
        denies_all = denied & _DENIES_ALL.get(concept, frozenset())
        if stated:
            is_none = all(code.startswith("none") for code in stated)
            contradicts = not is_none and (denies_all or denied & stated)
            return stated | {"none"} if contradicts else stated
        if not self.has_rest:
            denies_all |= denied & _DENIES_ALL_ALONE.get(concept, frozenset())
        return {"none"} if denies_all and concept in _HAS_NONE else set()

    def _is_measure(self, at: int) -> bool:
        """True for a number that is understood: a gas's concentration, an oil's viscosity, or a
        size with its unit."""
        return (
            _has_unit(self.items, at)
            or _concentration_at(self.items, at) is not None
            or _is_viscosity(self.items, at)
        )

    def _concentration(self) -> float | None:
        found = {_concentration_at(self.items, at) for at in range(len(self.items))} - {None}
        self.has_rest |= len(found) > 1
        return found.pop() if len(found) == 1 else None


def _has_unit(items: Sequence[Item], at: int) -> bool:
    """True where a unit follows the number, or the run of numbers that it stands in."""
    for item in items[at + 1 :]:
        if item.before is not Break.JOINED or item.kind not in ("number", "unit"):
            return False
        if item.kind == "unit":
            return True
    return False


def _concentration_at(items: Sequence[Item], at: int) -> float | None:
    """Per cent of the gas beside the number, if the number plainly is that.

    Without a per cent sign it must stand right behind the gas; below one it is a fraction.
    """
    item = items[at]
    before, after = _beside(items, at, -1), _beside(items, at, 1)
    if item.number is None or item.is_approximate or "number" in (_kind(before), _kind(after)):
        return None
    if item.is_percent:
        return item.number if _is_gas(before) or _is_gas(after) else None
    is_behind = at > 0 and _is_gas(items[at - 1]) and item.before is Break.JOINED
    if not is_behind or _has_unit(items, at) or item.number == 1:
        return None
    return item.number if item.number > 1 else round(100 * item.number, 6)


def _beside(items: Sequence[Item], at: int, step: int) -> Item | None:
    """The next item that is no filler, within the clause; for a number that is a clause by itself
    ("SF6, 20%"), within the sentence."""
    breaks = [item.before for item in items] + [Break.SENTENCE]
    is_alone = breaks[at] > Break.JOINED and breaks[at + 1] > Break.JOINED
    widest = Break.CLAUSE if is_alone else Break.JOINED
    here = at
    while 0 <= here + step < len(items):
        if breaks[here + 1 if step > 0 else here] > widest:
            return None
        here += step
        if items[here].kind != "filler":
            return items[here]
    return None


def _kind(item: Item | None) -> str | None:
    return item.kind if item else None


def _is_gas(item: Item | None) -> bool:
    return item is not None and item.codes.get("tamponade") in GASES


def _is_viscosity(items: Sequence[Item], at: int) -> bool:
    item = items[at]
    assert item.number is not None
    neighbours = items[max(at - 1, 0) : at + 2]
    codes: list[Mapping[str, str]] = [each.codes for each in neighbours]
    low, high = _VISCOSITY
    return (
        not item.is_percent
        and low <= item.number <= high
        and any(code.get("tamponade") in _OILS for code in codes)
    )
