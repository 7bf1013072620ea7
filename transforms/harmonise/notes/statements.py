"""What an operation note states and denies of each field, and whether all of it is understood."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

from schemas.codebook import table_fields
from transforms.harmonise.notes.filling import BARE_PFCL
from transforms.harmonise.notes.numbers import Measure
from transforms.harmonise.notes.phrases import Item, clause_of, names_something
from transforms.harmonise.notes.standing import Standing

# A code that says more than another of the same field: both together are the first.
_FINER: dict[str, dict[str, frozenset[str]]] = {
    "harvest_method": {
        "bleb_and_scissors": frozenset({"scissors"}),
        "diathermy_outlined": frozenset({"scissors"}),
    },
    "pfcl_use": {
        "short_term": frozenset({"intraoperative", "direct_oil_exchange"}),
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
    "pfcl_use": frozenset({"intraoperative"}),
    "viscoelastic": frozenset({"used_unspecified"}),
    "graft_material": frozenset({""}),
    "adjunct": frozenset({""}),
    "donor_laser": frozenset({""}),
    "tamponade": frozenset({""}),
    "posture": frozenset({""}),
}
# Denying one of these denies the field where the note has no other word that may belong to it.
_DENIES_ALL_ALONE: dict[str, frozenset[str]] = {
    "viscoelastic": frozenset({"cohesive", "dispersive"}),
    "adjunct": frozenset({"autologous_blood", "autologous_serum", "platelet_concentrate"}),
}
# Fields of which words without a heading may say when.
_TIMED = ("pfcl_use", "donor_laser")
# Of these the words alone do not say the code, see `filling`.
_BY_FILLING = ("pfcl_use", "tamponade")


@dataclass
class Statements:
    """Codes by concept. `mentioned` concepts are named without a code ("laser"); of `qualified`
    ones a word stands apart that may turn the code into another; of `doubted` ones something is
    said that cannot be told; codes `in_question` may be meant by a word that needs a heading
    ("intraop"). `has_rest` is set where part of the note is not understood."""

    stated: dict[str, set[str]] = field(default_factory=lambda: defaultdict(set))
    denied: dict[str, set[str]] = field(default_factory=lambda: defaultdict(set))
    mentioned: set[str] = field(default_factory=set)
    qualified: set[str] = field(default_factory=set)
    doubted: set[str] = field(default_factory=set)
    in_question: set[tuple[str, str]] = field(default_factory=set)
    has_rest: bool = False

    def codes(self, concept: str) -> set[str]:
        """The codes that the note gives a concept: one where it is plain."""
        stated, denied = set(self.stated[concept]), self.denied[concept]
        for code, coarser in _FINER.get(concept, {}).items():
            if code in stated:
                stated -= coarser
        denies_all = denied & _DENIES_ALL.get(concept, frozenset())
        others = {code for about, code in self.in_question if about == concept} - stated
        if concept in self.qualified or others:
            return set()
        if stated:
            is_none = all(code.startswith("none") for code in stated)
            contradicts = not is_none and (denies_all or denied & stated)
            return stated | {"none"} if contradicts else stated
        if concept in self.doubted:
            return set()
        if not self.has_rest:
            denies_all |= denied & _DENIES_ALL_ALONE.get(concept, frozenset())
        return {"none"} if denies_all and _has_none(concept) else set()

    def is_touched(self, concept: str) -> bool:
        """True where the note says something of a concept."""
        return concept in self.mentioned or bool(self.denied[concept])


def _has_none(concept: str) -> bool:
    return "none" in (table_fields("operations")[concept].codes or ())


def statements(
    items: Sequence[Item], standing: Sequence[Standing], numbers: dict[int, Measure]
) -> Statements:
    """Takes down every item; perfluorocarbon and tamponade are stated by `filling`."""
    heard = Statements()
    for at, item in enumerate(items):
        if standing[at] == "unsure":
            heard.doubted |= item.codes.keys()
            heard.has_rest = True
        elif item.kind in ("phrase", "subject"):
            _take_down(heard, item, standing[at])
        elif item.kind == "number":
            heard.has_rest |= at not in numbers
        elif item.kind == "heading":
            _hear_heading_word(heard, items, at)
        elif item.kind == "negation":
            heard.has_rest |= not _denies_something(items, standing, at)
        elif item.kind == "qualifier":
            heard.qualified |= _qualified(items, at)
            heard.has_rest = True
        else:
            heard.has_rest |= item.kind == "unknown"
    return heard


def _take_down(heard: Statements, item: Item, standing: Standing) -> None:
    if standing == "denied":
        for concept, code in item.codes.items():
            if not (item.codes == BARE_PFCL and concept == "tamponade"):
                heard.denied[concept].add(code)
    elif standing == "stated" and item.kind == "subject":
        heard.mentioned |= item.codes.keys()
    elif standing == "stated":
        for concept in item.codes.keys() - set(_BY_FILLING):
            heard.stated[concept].add(item.codes[concept])


def _qualified(items: Sequence[Item], at: int) -> set[str]:
    """The concepts that a qualifier bears on: those of its clause, or of the clauses beside it
    where its own names nothing ("silicone oil (heavy)")."""
    clause = clause_of(items, at)
    places = [*clause]
    if not names_something(items, clause):
        places += clause_of(items, clause.start - 1) if clause.start > 0 else ()
        places += clause_of(items, clause.stop) if clause.stop < len(items) else ()
    return {concept for p in places for concept in items[p].codes if concept in items[at].codes}


def _hear_heading_word(heard: Statements, items: Sequence[Item], at: int) -> None:
    """A word that needs its heading: of what is "postop" said? After a negation ("not used") and
    beside a posture, which is always for afterwards, it adds nothing."""
    named = [items[p] for p in clause_of(items, at) if items[p].kind in ("phrase", "subject")]
    is_posture = bool(named) and all("posture" in item.codes for item in named)
    if (at > 0 and items[at - 1].kind == "negation") or is_posture:
        return
    heard.has_rest = True
    heard.in_question |= {(c, code) for c, code in items[at].codes.items() if c in _TIMED}


def _denies_something(items: Sequence[Item], standing: Sequence[Standing], at: int) -> bool:
    """False for a negation that finds nothing in the note to deny."""
    behind = (items[place].kind for place in clause_of(items, at) if place > at)
    return "context" in behind or any(each != "stated" for each in standing)
