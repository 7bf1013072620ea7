"""Which field a heading names, and how surely."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache

from rapidfuzz import fuzz, process

from schemas.codebook import RECORD_KINDS, RecordKind
from schemas.headings import field_words, heading_words
from schemas.vocabulary import Vocabulary, look_up, normal_form
from transforms.draft.heading_parts import MOST_REMEMBERED, ways_to_read
from transforms.draft.notation_words import is_about_notation

# How surely a heading names a field. Project choices; tests/transforms/test_draft.py
# prints how often lines of each confidence are right.
LISTED = 0.97
LISTED_ELSEWHERE = 0.95  # in another language
LISTED_IN_A_GROUP = 0.93  # beside words that add nothing
OTHER_ORDER = 0.9
ALIKE = 0.9  # times the likeness
HALF_UNDERSTOOD = 0.6  # beside words that may change what is measured

LEAST_LIKENESS = 85.0
LEAST_LIKENESS_OF_A_WORD = 75.0
SHORTEST_ALIKE = 5
LONGEST_HEADING = 80

_DIGITS = re.compile(r"\d+")


@dataclass(frozen=True)
class Named:
    """A field that a heading may name; `words` are those of the heading that say so."""

    field: str
    score: float
    words: str
    reason: str


def fields_named(core: str, kind: RecordKind, language: str | None) -> dict[str, Named]:
    """The fields of a kind that a heading's core may name, each with its best reason."""
    found = _named(core, field_words(kind), language)
    other = _unread(core, language)
    return found if other is None or (other.score, len(other.words)) <= _rank(found) else {}


def is_unread(core: str, language: str | None) -> bool:
    """True for headings of what the codebook has no field for."""
    best = _unread(core, language)
    return best is not None and best.score > HALF_UNDERSTOOD


@cache
def _known_words() -> frozenset[str]:
    """Every word of every listed phrase."""
    vocabularies = (*(field_words(kind) for kind in RECORD_KINDS), heading_words("unread"))
    return frozenset(
        word for words in vocabularies for phrase in words.words for word in phrase.split()
    )


def _unread(core: str, language: str | None) -> Named | None:
    """What a heading says that is no field; "Patient" says so only where it stands alone."""
    found = _named(core, heading_words("unread"), language)
    says = {name: each for name, each in found.items()
            if each.words == core or not _is_neutral(each.words.split())}  # fmt: skip
    return _best(says)


@lru_cache(maxsize=MOST_REMEMBERED)
def is_heading(text: str) -> bool:
    """True for texts that name a field, or a column that is known to be none, in any language."""
    if len(text) > LONGEST_HEADING or _known_words().isdisjoint(normal_form(text).split()):
        return False
    return any(
        look_up(words, parts.core, None) or _within_neutral(parts.core, words)
        for parts in ways_to_read(text, None, with_time=True, with_eye=True)
        for words in (*(field_words(kind) for kind in RECORD_KINDS), heading_words("unread"))
    )


def _best(found: dict[str, Named]) -> Named | None:
    return max(found.values(), key=lambda named: (named.score, len(named.words)), default=None)


def _rank(found: dict[str, Named]) -> tuple[float, int]:
    best = _best(found)
    return (best.score, len(best.words)) if best else (0.0, 0)


def _named(core: str, words: Vocabulary, language: str | None) -> dict[str, Named]:
    if exact := look_up(words, core, language):
        field, is_own = exact
        score, how = (LISTED, "listed") if is_own else (LISTED_ELSEWHERE, "listed elsewhere")
        return {field: Named(field, score, core, how)}
    found: dict[str, Named] = {}
    for named in (*_by_span(core, words, language), *_by_order(core, words), *_alike(core, words)):
        if named.field not in found or named.score > found[named.field].score:
            found[named.field] = named
    return found


def _spans(tokens: list[str]) -> list[tuple[int, int]]:
    """Places of all runs of words, the longest first."""
    count = len(tokens)
    return [
        (start, start + length)
        for length in range(count - 1, 0, -1)
        for start in range(count - length + 1)
    ]


def _is_neutral(words: list[str]) -> bool:
    return all(word in heading_words("neutral").words for word in words)


def _by_span(core: str, words: Vocabulary, language: str | None) -> list[Named]:
    """The longest listed phrase within the heading; the rest adds nothing, or is not understood."""
    tokens = core.split()
    part: Named | None = None
    for start, end in _spans(tokens):
        phrase = " ".join(tokens[start:end])
        hit = look_up(words, phrase, language)
        if hit is None:
            continue
        rest = tokens[:start] + tokens[end:]
        says_again = look_up(words, " ".join(rest), language)  # "date of birth (DOB)"
        if (
            _is_neutral(rest)
            or (says_again and says_again[0] == hit[0])
            or (hit[0] == "acuity" and is_about_notation(rest))
        ):
            return [Named(hit[0], LISTED_IN_A_GROUP, phrase, "within")]
        part = part or Named(hit[0], HALF_UNDERSTOOD, phrase, "in part")
    return [part] if part else []


def _within_neutral(core: str, words: Vocabulary) -> bool:
    tokens = core.split()
    return any(
        look_up(words, " ".join(tokens[start:end]), None) is not None
        and _is_neutral(tokens[:start] + tokens[end:])
        for start, end in _spans(tokens)
    )


@cache
def _by_bag(concept: str) -> dict[frozenset[str], set[str]]:
    """Fields by the words of their phrases in whatever order, without those that add nothing."""
    source = heading_words(concept) if concept == "unread" else _field_words(concept)
    bags: dict[frozenset[str], set[str]] = {}
    for phrase, by_language in source.words.items():
        bags.setdefault(_bag(phrase), set()).update(by_language.values())
    return {bag: fields for bag, fields in bags.items() if len(bag) > 1}


def _field_words(concept: str) -> Vocabulary:
    return next(field_words(kind) for kind in RECORD_KINDS if kind == concept)


def _bag(phrase: str) -> frozenset[str]:
    neutral = heading_words("neutral").words
    return frozenset(word for word in phrase.split() if word not in neutral)


def _by_order(core: str, words: Vocabulary) -> list[Named]:
    fields = _by_bag(words.concept).get(_bag(core), set())
    return [Named(next(iter(fields)), OTHER_ORDER, core, "reordered")] if len(fields) == 1 else []


@cache
def _long_phrases(concept: str) -> tuple[str, ...]:
    source = heading_words(concept) if concept == "unread" else _field_words(concept)
    return tuple(sorted(phrase for phrase in source.words if len(phrase) >= SHORTEST_ALIKE))


@lru_cache(maxsize=MOST_REMEMBERED)
def _likest(core: str, concept: str) -> tuple[tuple[str, float], ...]:
    hits = process.extract(
        core, _long_phrases(concept), scorer=fuzz.ratio, score_cutoff=LEAST_LIKENESS, limit=3
    )
    return tuple((phrase, score) for phrase, score, _ in hits)


def _alike(core: str, words: Vocabulary) -> list[Named]:
    """Phrases that are written nearly so, words that add nothing left out."""
    neutral = heading_words("neutral").words
    core = " ".join(word for word in core.split() if word not in neutral)
    if len(core) < SHORTEST_ALIKE:
        return []
    return [
        Named(field, ALIKE * score / 100, phrase, "alike")
        for phrase, score in _likest(core, words.concept)
        if _is_misspelt(core.split(), phrase.split())
        and len(fields := set(words.words[phrase].values())) == 1
        for field in fields
    ]


def _is_misspelt(words: list[str], listed: list[str]) -> bool:
    """True where each word is nearly the listed one, begins like it and has the same numbers:
    "reoperation date" is no slip of the pen for "operation date".
    """
    return len(words) == len(listed) and all(
        word[0] == other[0]
        and _DIGITS.findall(word) == _DIGITS.findall(other)
        and fuzz.ratio(word, other) >= LEAST_LIKENESS_OF_A_WORD
        for word, other in zip(words, listed, strict=True)
    )
