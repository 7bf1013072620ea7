"""Phrases of an operation note: the longest runs of words that a vocabulary knows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from types import MappingProxyType
from typing import Literal

from schemas.vocabulary import Vocabulary, vocabulary
from transforms.harmonise.note_tokens import APPROXIMATE, DENIED, DOUBTED, Break, Token

Kind = Literal[
    "phrase", "subject", "negation", "doubt", "and", "or", "filler", "number", "unit", "unknown"
]  # fmt: skip
NO_CODES: Mapping[str, str] = MappingProxyType({})

# Perfluorocarbon liquid is a tool and a tamponade: a phrase may speak for both fields. Any other
# word that two fields claim ("other", "none") says nothing without the heading above it.
SPEAK_TOGETHER = frozenset({"pfcl_use", "tamponade"})


@dataclass(frozen=True)
class Item:
    """A phrase, number or word of a note. `codes` gives the code by concept; for the subject of a
    denial ("laser") the concept alone, with an empty code."""

    kind: Kind
    before: Break
    mark: str
    codes: Mapping[str, str] = field(default_factory=dict)
    number: float | None = None
    is_percent: bool = False
    is_approximate: bool = False


Meaning = tuple[Kind, Mapping[str, str]]


def note_items(
    tokens: Sequence[Token], concepts: tuple[str, ...], language: str
) -> list[Item]:
    """The items of a note, longest phrases of `concepts` first, from left to right."""
    known, units = _lexicon(concepts, language), _units(language)
    items: list[Item] = []
    at = 0
    while at < len(tokens):
        token = tokens[at]
        behind_number = bool(items) and items[-1].number is not None and not token.before
        length, (kind, codes) = (behind_number and _longest(tokens, at, units)) or _longest(
            tokens, at, known
        ) or (1, _unlisted(token))
        about = at > 0 and tokens[at - 1].text == APPROXIMATE
        is_number = kind == "number"
        items.append(
            Item(kind, token.before, token.mark, codes, token.number if is_number else None,
                 is_number and token.is_percent, is_number and about)
        )  # fmt: skip
        at += length
    return items


def _unlisted(token: Token) -> Meaning:
    if token.number is not None:
        return "number", NO_CODES
    signs: dict[str, Kind] = {DENIED: "negation", DOUBTED: "doubt", APPROXIMATE: "filler"}
    return signs.get(token.text, "unknown"), NO_CODES


def _longest(
    tokens: Sequence[Token], at: int, known: Mapping[str, Meaning]
) -> tuple[int, Meaning] | None:
    end = at + 1
    while end < len(tokens) and tokens[end].before is Break.JOINED:
        end += 1
    for stop in range(end, at, -1):
        meaning = known.get(" ".join(token.text for token in tokens[at:stop]))
        if meaning is not None:
            return stop - at, meaning
    return None


@cache
def _units(language: str) -> dict[str, Meaning]:
    units = vocabulary("note_unit")
    return {word: ("unit", NO_CODES) for word in units.words if units.code(word, language)}


@cache
def _lexicon(concepts: tuple[str, ...], language: str) -> dict[str, Meaning]:
    """Every word that may stand in a note: what it means in `language`."""
    known = {concept: vocabulary(concept) for concept in concepts}
    beside = {
        name: vocabulary(name)
        for name in ("negation", "heading_only", "technique_subject", "filler", "operation_note",
                     "donor_region")
    }  # fmt: skip
    words = {word for each in (*known.values(), *beside.values()) for word in each.words}
    lexicon: dict[str, Meaning] = {}
    for word in words:
        own = {
            name: each for name, each in (known | beside).items() if each.is_of(word, language)
        } or known | beside
        # A word that needs its heading needs it in whatever language it is written.
        own["heading_only"] = beside["heading_only"]
        meaning = _meaning(word, language, own, concepts)
        if meaning is not None:
            lexicon[word] = meaning
    return lexicon


def _meaning(
    word: str, language: str, sources: Mapping[str, Vocabulary], concepts: tuple[str, ...]
) -> Meaning | None:
    said = {name: code for name, each in sources.items() if (code := each.code(word, language))}
    if "negation" in said:
        return ("doubt" if said["negation"] == "doubt" else "negation"), NO_CODES
    if "heading_only" in said:
        return "unknown", NO_CODES
    codes = {name: said[name] for name in concepts if name in said}
    first, *others = word.split()
    if "none" in codes.values() and others and _denies(first, language):
        return None  # "no laser": the negation is read apart, with all that it denies
    if len(codes) == 1 or (codes and set(codes) <= SPEAK_TOGETHER):
        return "phrase", codes
    if codes:
        return "unknown", NO_CODES
    if "technique_subject" in said and said["technique_subject"] in concepts:
        return "subject", {said["technique_subject"]: ""}
    joining: dict[str, Kind] = {"and": "and", "or": "or"}
    return (joining.get(said["filler"], "filler") if "filler" in said else "filler"), NO_CODES


def _denies(word: str, language: str) -> bool:
    return vocabulary("negation").code(word, language) == "negation"
