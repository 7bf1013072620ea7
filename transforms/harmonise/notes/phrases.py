"""Items of an operation note: the longest phrases that are known, numbers, times, other words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache

from schemas.vocabulary import vocabulary
from transforms.harmonise.notes.answers import answer_at
from transforms.harmonise.notes.durations import Duration, duration_at
from transforms.harmonise.notes.lexicon import NO_CODES, Kind, Meaning, lexicon
from transforms.harmonise.notes.tokens import (
    APPROXIMATE,
    DENIED,
    DOUBTED,
    MINUS,
    Break,
    Token,
    longest_phrase,
)

# Words that cast a doubt on what stands beside them, see `doubts`.
DOUBTS: tuple[Kind, ...] = (
    "doubt", "past", "after", "plan", "undone", "not_done", "later", "becomes", "instead",
)  # fmt: skip
NAMED: tuple[Kind, ...] = ("phrase", "subject", "event")
TRANSPARENT: tuple[Kind, ...] = ("filler", "context")
UNIT = "unit"
_OPENING = frozenset(":=(-")
_LONGEST_ABBREVIATION = 4  # letters: "evtl."


@dataclass(frozen=True)
class Item:
    """A phrase, number or word of a note.

    `codes` gives the code by concept; an `event` has what happens under "event", a unit its kind
    under "unit". A `subject` names a concept and no code of it ("laser"), or something that no
    field holds ("complications"): then it has no codes. A `heading` word has its codes under the
    heading of a field alone ("intraop"). A `qualifier` is a word apart that would change the code
    of a phrase of its concepts ("silicone oil (heavy)"). `number` of a duration is in days;
    `is_point` marks the day at which something is done.
    """

    kind: Kind
    before: Break
    mark: str
    codes: Mapping[str, str] = field(default_factory=dict)
    number: float | None = None
    is_percent: bool = False
    is_approximate: bool = False
    is_point: bool = False


def note_items(tokens: Sequence[Token], concepts: tuple[str, ...], language: str) -> list[Item]:
    """The items of a note, longest phrases of `concepts` first, from left to right."""
    known = lexicon(concepts, language)
    items: list[Item] = []
    at, is_signed, is_closed = 0, False, False
    while at < len(tokens):
        first = tokens[at]
        if _is_within(tokens, at, items):
            first = replace(first, before=Break.JOINED)
        elif is_closed:
            first = replace(first, before=_parted(first.before))
        length, item = _item_at(tokens, at, first, items, known, language)
        heading = _heading_of(items, item)
        if heading is not None:
            items[heading] = replace(items[heading], before=_parted(items[heading].before))
            item = replace(item, before=Break.JOINED)
        items.append(item)
        is_signed = MINUS in first.mark or (is_signed and first.before is Break.JOINED)
        is_closed = first.text == DENIED
        if is_signed and item.kind in NAMED:  # not done, or a dash after all
            items.append(Item("doubt", Break.JOINED, ""))
            is_signed, is_closed = False, True
        at += length
    return items


def _item_at(
    tokens: Sequence[Token], at: int, first: Token, items: Sequence[Item],
    known: Mapping[str, Meaning], language: str,
) -> tuple[int, Item]:  # fmt: skip
    """The item that begins at a token, which is given as `first`, and how many tokens it has."""
    about = at > 0 and tokens[at - 1].text == APPROXIMATE
    found = longest_phrase(tokens, at, known)
    duration = duration_at(tokens, at, language)
    if duration is not None and duration.length > (found[0] if found else 0):
        return duration.length, _timed(first, duration, about)
    if _is_behind_phrase(items, first.before):
        found = answer_at(tokens, at, found, language) or found
    behind_number = bool(items) and items[-1].number is not None and not first.before
    unit = longest_phrase(tokens, at, _units(language)) if behind_number else None
    length, meaning = unit or found or (1, _unlisted(tokens[at]))
    return length, _plain(first, meaning, about)


def _is_behind_phrase(items: Sequence[Item], before: Break) -> bool:
    """True where what comes next may answer a phrase: one in its clause, or in the last one."""
    if before is Break.SENTENCE:
        return False
    for item in reversed(items):
        if item.kind in NAMED:
            return True
        if item.before is not Break.JOINED:
            return False
    return False


def _heading_of(items: Sequence[Item], item: Item) -> int | None:
    """Where the words for later begin that stand over an item ("second stage: PFCL removal")."""
    start = len(items)
    while start and items[start - 1].kind in ("later", "plan"):
        start -= 1
        if items[start].before is not Break.JOINED:
            break
    if not any(each.kind == "later" for each in items[start:]):
        return None
    is_alone = start == 0 or items[start].before is not Break.JOINED
    is_over = set(item.mark) & _OPENING or (is_alone and item.kind == "event")
    return start if is_over else None


def _parted(before: Break) -> Break:
    return max(before, Break.CLAUSE)


def _timed(first: Token, duration: Duration, about: bool) -> Item:
    return Item(
        "duration", first.before, first.mark, NO_CODES, duration.days,
        is_approximate=about or not duration.is_exact, is_point=duration.is_point,
    )  # fmt: skip


def _plain(first: Token, meaning: Meaning, about: bool) -> Item:
    kind, codes = meaning
    if kind == "number":
        return Item(kind, first.before, first.mark, codes, first.number, first.is_percent, about)
    # What comes next is a step of its own.
    before = _parted(first.before) if kind == "then" else first.before
    return Item(kind, before, first.mark, codes)


def _unlisted(token: Token) -> Meaning:
    if token.number is not None:  # nothing is measured as 0: "0 blood"
        return "number" if token.number else "doubt", NO_CODES
    signs: dict[str, Kind] = {DENIED: "negation", DOUBTED: "doubt", APPROXIMATE: "filler"}
    return signs.get(token.text, "unknown"), NO_CODES


@cache
def _units(language: str) -> dict[str, Meaning]:
    units = vocabulary("note_unit")
    return {
        word: ("unit", {UNIT: code})
        for word in units.words
        if (code := units.code_of(word, language))
    }


def _is_within(tokens: Sequence[Token], at: int, items: Sequence[Item]) -> bool:
    """True where the full stop before a token ends no sentence: it stands behind a doubt that
    begins its sentence ("Planned. ART") or is short for one in its clause ("PPV, evtl. ILM-Flap").
    """
    if tokens[at].mark != "." or not items or items[-1].kind not in DOUBTS:
        return False
    clause = [items[place] for place in clause_of(items, len(items) - 1)]
    is_first = len(clause) == 1 and (len(items) == 1 or clause[0].before is Break.SENTENCE)
    is_short = len(tokens[at - 1].text) <= _LONGEST_ABBREVIATION
    is_alone = not any(item.kind in NAMED for item in clause)
    return is_first or (is_short and is_alone and items[-1].kind in ("doubt", "past"))


def parted(items: Sequence[Item], places: range, at: Break) -> Iterator[range]:
    """The runs of places between breaks of a kind, or wider ones."""
    start = places.start
    for place in places:
        if place > start and items[place].before >= at:
            yield range(start, place)
            start = place
    if start < places.stop:
        yield range(start, places.stop)


def clause_of(items: Sequence[Item], at: int) -> range:
    """The places of the items of one clause."""
    start, stop = at, at + 1
    while start > 0 and items[start].before is Break.JOINED:
        start -= 1
    while stop < len(items) and items[stop].before is Break.JOINED:
        stop += 1
    return range(start, stop)


def names_something(items: Sequence[Item], places: Sequence[int]) -> bool:
    """True where a phrase, a subject or a step of the plan stands among the places."""
    return any(items[at].kind in NAMED for at in places)
