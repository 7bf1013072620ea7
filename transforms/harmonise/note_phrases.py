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
    "phrase", "subject", "negation", "doubt", "and", "or", "filler", "number", "unit", "heading",
    "affirmation", "unknown",
]  # fmt: skip
NO_CODES: Mapping[str, str] = MappingProxyType({})

# Perfluorocarbon liquid is a tool and a tamponade: a phrase may speak for both fields. Any other
# word that two fields claim ("other", "none") says nothing without the heading above it.
SPEAK_TOGETHER = frozenset({"pfcl_use", "tamponade"})


@dataclass(frozen=True)
class Item:
    """A phrase, number or word of a note.

    `codes` gives the code by concept. A `subject` names a concept and no code of it ("laser"), or
    something that no field holds ("complications"): then it has no codes. A `heading` word says
    something under the heading of its field alone ("used", "intraop").
    """

    kind: Kind
    before: Break
    mark: str
    codes: Mapping[str, str] = field(default_factory=dict)
    number: float | None = None
    is_percent: bool = False
    is_approximate: bool = False


Meaning = tuple[Kind, Mapping[str, str]]


def note_items(tokens: Sequence[Token], concepts: tuple[str, ...], language: str) -> list[Item]:
    """The items of a note, longest phrases of `concepts` first, from left to right."""
    known, units = _lexicon(concepts, language), _units(language)
    items: list[Item] = []
    at = 0
    while at < len(tokens):
        token = tokens[at]
        behind_number = bool(items) and items[-1].number is not None and not token.before
        length, (kind, codes) = (
            (behind_number and _longest(tokens, at, units))
            or _longest(tokens, at, known)
            or (1, _unlisted(token))
        )
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


_NO_LANGUAGES: Mapping[str, str] = {}


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
    every = known | beside
    words = {word for each in every.values() for word in each.words}
    lexicon: dict[str, Meaning] = {}
    for word in words:
        own = {
            name: each
            for name, each in every.items()
            if language in each.words.get(word, _NO_LANGUAGES)
        } or every
        meaning = _meaning(word, language, own, concepts)
        if meaning is not None:
            lexicon[word] = meaning
    return lexicon


def _meaning(
    word: str, language: str, sources: Mapping[str, Vocabulary], concepts: tuple[str, ...]
) -> Meaning | None:
    said = {name: code for name, each in sources.items() if (code := each.code_of(word, language))}
    for name in ("negation", "heading_only"):
        if name in said:
            return _CONTROLS[said[name]], NO_CODES
    codes = {name: said[name] for name in concepts if name in said}
    if codes:
        return _claimed(word, language, codes)
    if (subject := said.get("technique_subject")) is not None:
        return "subject", {subject: ""} if subject in concepts else NO_CODES
    if not said:
        return None  # an abbreviation of another language
    return _CONTROLS.get(said.get("filler", ""), "filler"), NO_CODES


_CONTROLS: dict[str, Kind] = {
    "negation": "negation", "doubt": "doubt", "heading_only": "heading",
    "affirmation": "affirmation", "and": "and", "or": "or",
}  # fmt: skip


def _claimed(word: str, language: str, codes: Mapping[str, str]) -> Meaning | None:
    """The meaning of a word that names codes of one concept or more."""
    first, *others = word.split()
    if "none" in codes.values() and others and _denies(first, language):
        return None  # "no laser": the negation is read apart, with all that it denies
    if len(codes) == 1 or set(codes) <= SPEAK_TOGETHER:
        return "phrase", codes
    return "unknown", NO_CODES


def _denies(word: str, language: str) -> bool:
    return vocabulary("negation").code(word, language) == "negation"
