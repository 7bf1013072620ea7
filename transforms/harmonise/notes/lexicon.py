"""What every word of an operation note means to its reader, in one language."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import Literal

from schemas.conversions import NOTE_WORDS
from schemas.vocabulary import Vocabulary, vocabulary

Kind = Literal[
    "phrase", "subject", "event", "negation", "not_done", "doubt", "past", "after", "plan",
    "undone", "later", "now", "becomes", "instead", "and", "or", "then", "filler", "context",
    "number", "unit", "duration", "heading", "affirmation", "qualifier", "unknown",
]  # fmt: skip
Meaning = tuple[Kind, Mapping[str, str]]

NO_CODES: Mapping[str, str] = MappingProxyType({})
# Keys of what is no concept: what happens at a step of the plan, and how far a negation reaches.
EVENT = "event"
FORWARD: Mapping[str, str] = MappingProxyType({"denies": "what follows"})

# Perfluorocarbon liquid is a tool and a tamponade: a phrase may speak for both fields. Any other
# word that two fields claim ("other", "none") says nothing without the heading above it.
_SPEAK_TOGETHER = frozenset({"pfcl_use", "tamponade"})
# Time without a number casts a doubt: "SF6 the next day".
_UNITS_OF_TIME = ("day", "week", "month", "hour")
# These are words behind or before others alone: see `durations`, `answers`.
_BEHIND_OTHERS = ("number_word", "note_unit", "inexact", "note_answer", "missing")
_BESIDE = tuple(name for name in NOTE_WORDS if name not in _BEHIND_OTHERS)
# What the codes of the vocabularies of small words are for a reader of notes.
_CONTROLS: dict[str, Kind] = {
    "negation": "negation", "without": "negation", "not_done": "not_done", "doubt": "doubt",
    "past": "past", "after": "after", "plan": "plan", "undone": "undone", "later": "later",
    "now": "now", "becomes": "becomes", "instead": "instead", "heading_only": "heading",
    "affirmation": "affirmation", "and": "and", "or": "or", "then": "then", "filler": "filler",
}  # fmt: skip


@cache
def lexicon(concepts: tuple[str, ...], language: str) -> dict[str, Meaning]:
    """Every word that may stand in a note about `concepts`: what it means in `language`."""
    having: dict[str, dict[str, Vocabulary]] = {}
    for name in dict.fromkeys((*concepts, *_BESIDE)):
        for word in vocabulary(name).words:
            having.setdefault(word, {})[name] = vocabulary(name)
    words: dict[str, Meaning] = {}
    inflected: dict[str, Meaning] = {}
    for word, known in sorted(having.items()):
        own = {name: each for name, each in known.items() if language in each.words[word]}
        meaning = _meaning(word, language, own or known, concepts)
        if meaning is None:
            continue
        words[word] = meaning
        if own and language == "de":
            inflected |= dict.fromkeys(_inflections(word), meaning)
    return _qualifiers(words) | inflected | words


_ENDINGS = ("er", "es", "em", "en", "e")


def _inflections(word: str) -> list[str]:
    """The cases of a German phrase that begins with an adjective: "invertiertem ILM-Flap"."""
    first, *others = word.split()
    ending = next((end for end in _ENDINGS if first.endswith(end)), None)
    if not others or ending is None:
        return []
    stem = first.removesuffix(ending)
    return [" ".join([stem + end, *others]) for end in _ENDINGS]


def _meaning(
    word: str, language: str, sources: Mapping[str, Vocabulary], concepts: tuple[str, ...]
) -> Meaning | None:
    said = {name: code for name, each in sources.items() if (code := each.code_of(word, language))}
    claims = {name: said[name] for name in concepts if name in said}
    for name in ("negation", "heading_only"):
        if name in said:
            codes = claims if name == "heading_only" else NO_CODES
            return _CONTROLS[said[name]], FORWARD if said[name] == "without" else codes
    if "later_step" in said:
        return "event", {EVENT: said["later_step"]}
    if claims:
        return _claimed(word, language, claims)
    return _without_code(said, concepts)


def _claimed(word: str, language: str, codes: Mapping[str, str]) -> Meaning | None:
    """The meaning of a word that names codes of one concept or more."""
    first, *others = word.split()
    if "none" in codes.values() and others and _denies(first, language):
        return None  # "no laser": the negation is read apart, with all that it denies
    if len(codes) == 1 or set(codes) <= _SPEAK_TOGETHER:
        return "phrase", codes
    return "unknown", NO_CODES


def _denies(word: str, language: str) -> bool:
    return vocabulary("negation").code(word, language) in ("negation", "without")


def _without_code(said: Mapping[str, str], concepts: tuple[str, ...]) -> Meaning | None:
    subject = said.get("technique_subject")
    if subject is not None:
        return "subject", {subject: ""} if subject in concepts else NO_CODES
    if "filler" in said:
        return _CONTROLS[said["filler"]], NO_CODES
    if said.keys() == {"duration"}:
        return ("doubt", NO_CODES) if said["duration"] in _UNITS_OF_TIME else None
    return ("context", NO_CODES) if said else None  # else an abbreviation of another language


def _qualifiers(words: Mapping[str, Meaning]) -> dict[str, Meaning]:
    """Words that no vocabulary lists alone, and that turn one code of a concept into another: the
    first of "heavy silicone oil"."""
    found: dict[str, dict[str, str]] = defaultdict(dict)
    for phrase, (kind, codes) in words.items():
        parts = phrase.split()
        for concept, code in codes.items() if kind == "phrase" else ():
            for start, stop in _runs_within(len(parts)):
                _, within = words.get(" ".join(parts[start:stop]), ("unknown", NO_CODES))
                if within.get(concept, code) in (code, ""):
                    continue
                for word in {*parts[:start], *parts[stop:]} - words.keys():
                    found[word][concept] = ""
    return {word: ("qualifier", codes) for word, codes in found.items()}


def _runs_within(length: int) -> list[tuple[int, int]]:
    """Starts and stops of the runs that are shorter than the whole."""
    runs = [(start, stop) for start in range(length) for stop in range(start + 1, length + 1)]
    return [run for run in runs if run != (0, length)]
