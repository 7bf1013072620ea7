"""What happens after the operation that a note tells of: what is taken out or exchanged, and when.

A removal or an exchange says what it takes out, or the words around it do; each time in a note
belongs to a posture, to a liquid left in the eye, or to such a step. What finds no place is a doubt
about its clause.
"""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass, replace
from typing import Literal

from schemas.codes import OILS
from transforms.harmonise.notes.lexicon import EVENT, NO_CODES
from transforms.harmonise.notes.phrases import (
    NAMED,
    TRANSPARENT,
    Item,
    clause_of,
    names_something,
)
from transforms.harmonise.notes.tokens import Break


@dataclass(frozen=True)
class TimedNote:
    """Items in which removals and exchanges say of what; `owner` gives the place of the item that
    each duration belongs to, by the duration's place."""

    items: Sequence[Item]
    owner: dict[int, int]

    def durations_of(self, at: int) -> list[Item]:
        """The durations that belong to an item."""
        return [self.items[time] for time, owner in self.owner.items() if owner == at]

    def without_times_at(self, places: Set[int]) -> TimedNote:
        """The note in which the durations at these places belong to nothing."""
        kept = {time: owner for time, owner in self.owner.items() if time not in places}
        return TimedNote(self.items, kept)


def timed_note(items: Sequence[Item]) -> TimedNote:
    """The items with the objects of their steps found, and the owners of their durations."""
    found = list(items)
    for at, item in enumerate(items):
        if item.kind == "event":
            _find_object(found, at)
        elif item.kind == "becomes" and _is_exchange(found, at):
            found[at] = replace(item, kind="event", codes={EVENT: "exchange"})
        elif item.kind == "heading" and "posture" in item.codes and _is_beside_time(found, at):
            found[at] = replace(item, kind="phrase")
    owner: dict[int, int] = {}
    for at, item in enumerate(found):
        if item.kind != "duration":
            continue
        place = _owner(found, at)
        if place is not None:
            owner[at] = place
        elif names_something(found, clause_of(found, at)):
            found[at] = _doubt(item)
        else:
            found[at] = replace(item, kind="unknown")
    return TimedNote(found, owner)


def is_pfcl(item: Item) -> bool:
    """True for perfluorocarbon in any of its uses."""
    return "pfcl_use" in item.codes or item.codes.get("tamponade") == "pfcl"


def is_oil(item: Item) -> bool:
    """True for an oil that fills the eye, and not for what perfluorocarbon is exchanged for."""
    return item.codes.get("tamponade") in OILS and "pfcl_use" not in item.codes


def _doubt(item: Item) -> Item:
    return replace(item, kind="doubt", codes=NO_CODES)


def _is_beside_time(items: Sequence[Item], at: int) -> bool:
    """True for "FD 5 days" and "5 days FD"."""
    is_before = at > 0 and items[at].before is Break.JOINED and items[at - 1].kind == "duration"
    behind = items[at + 1 : at + 2]
    return is_before or any(
        item.kind == "duration" and item.before is not Break.SENTENCE for item in behind
    )


def _is_exchange(items: Sequence[Item], at: int) -> bool:
    """True for "PFCL 7 days changed to C3F8", and not for "PFCL changed to C3F8"."""
    before = _named_before(items, at, clause_of(items, at).start)
    if before is None:
        return False
    item = items[before]
    can_stay = item.codes.get("pfcl_use") == "short_term" or item.codes.get("tamponade") == "pfcl"
    return can_stay and any(each.kind == "duration" for each in items[before:at])


def _find_object(items: list[Item], at: int) -> None:
    """Settles what a step takes out; one whose object is not plain is a doubt."""
    event = items[at].codes[EVENT]
    if event in ("oil_removal", "pfcl_removal"):
        return
    behind = _next_behind(items, at)
    if event == "exchange":
        takes_pfcl = behind is not None and is_pfcl(items[behind])
        if not takes_pfcl and not _has_pfcl_before(items, at):
            items[at] = _doubt(items[at])
        return
    is_behind = behind is not None and (is_oil(items[behind]) or is_pfcl(items[behind]))
    place = behind if is_behind else _named_before(items, at, 0)
    if place is not None and is_pfcl(items[place]):
        items[at] = replace(items[at], codes={EVENT: "pfcl_removal"})
    elif place is not None and is_oil(items[place]):
        items[at] = replace(items[at], codes={EVENT: "oil_removal"})
        if not _is_put_in(items, at, place):
            items[place] = replace(items[place], kind="filler", codes=NO_CODES)
    else:
        items[at] = _doubt(items[at])


def _is_put_in(items: Sequence[Item], at: int, oil: int) -> bool:
    """True for an oil that a note puts in before it takes it out.

    "The oil was removed" does not; "retinal graft, oil removed at 3 months" does.
    """
    clause = clause_of(items, at)
    is_timed = any(items[place].kind == "duration" for place in clause)
    return oil not in clause or (
        is_timed and any("graft_material" in item.codes for item in items[:oil])
    )


def _next_behind(items: Sequence[Item], at: int) -> int | None:
    """The next item of the clause that carries meaning."""
    behind = range(at + 1, clause_of(items, at).stop)
    return next((place for place in behind if items[place].kind not in TRANSPARENT), None)


def _named_before(items: Sequence[Item], at: int, first: int) -> int | None:
    """The last phrase, subject or step before an item, not before `first`."""
    return next((p for p in range(at - 1, first - 1, -1) if items[p].kind in NAMED), None)


def _has_pfcl_before(items: Sequence[Item], at: int) -> bool:
    """True where what an exchange takes out is perfluorocarbon: the last filling before it, not
    counting one right before it ("PFCL-SF6 exchange")."""
    fillings = [
        place
        for place in range(at)
        if _matter(items[place]) == "pfcl" or "tamponade" in items[place].codes
    ]
    if fillings and fillings[-1] == _last_word(items, at) and not is_pfcl(items[fillings[-1]]):
        fillings.pop()
    return bool(fillings) and _matter(items[fillings[-1]]) == "pfcl"


def _last_word(items: Sequence[Item], at: int) -> int:
    """The place of the last item before another, past numbers and small words."""
    place = at - 1
    while place > 0 and items[place].kind in ("number", "unit", *TRANSPARENT):
        place -= 1
    return place


def _matter(item: Item) -> Literal["posture", "pfcl", "oil"] | None:
    """What a time may be about."""
    if item.kind not in NAMED:
        return None
    if "posture" in item.codes:
        return "posture"
    if is_pfcl(item) or item.codes.get(EVENT) in ("exchange", "pfcl_removal"):
        return "pfcl"
    return "oil" if is_oil(item) or EVENT in item.codes else None


def _owner(items: Sequence[Item], at: int) -> int | None:
    """The item that a duration belongs to, if that is plain. A day belongs to a step alone."""
    clause = clause_of(items, at)
    is_point = items[at].is_point
    before = _first_timed(items, range(at - 1, clause.start - 1, -1))
    behind = _first_timed(items, range(at + 1, clause.stop))
    if before is not None and behind is not None:
        # "PFCL 7 days supine": that is how one lies with it.
        is_supine = is_pfcl(items[before]) and items[behind].codes.get("posture") == "supine"
        is_one_matter = is_supine or _matter(items[before]) == _matter(items[behind])
        place = (behind if is_point else before) if is_one_matter else None
    elif before is not None or behind is not None:
        place = before if before is not None else behind
    else:
        place = None if names_something(items, clause) else _owner_across(items, clause)
    return None if place is None or (is_point and items[place].kind != "event") else place


def _first_timed(items: Sequence[Item], places: Sequence[int]) -> int | None:
    """The first item that can have a time, looking along `places`.

    What an exchange puts in may stand between the exchange and its time.
    """
    filling: int | None = None
    for place in places:
        item = items[place]
        if item.codes.get(EVENT) == "exchange":
            return place
        if item.kind == "after":  # "FDP 5 days after removal of PFCL"
            break
        if item.kind not in NAMED:
            continue
        if filling is not None:
            break
        if "tamponade" not in item.codes or is_pfcl(item):
            return place if _matter(item) else None
        filling = place
    return filling if filling is not None and is_oil(items[filling]) else None


def _owner_across(items: Sequence[Item], clause: range) -> int | None:
    """The owner of a time that is a clause by itself: "FDP (5 days)", "PFCL, 7 days"."""
    if clause.start == 0 or items[clause.start].before is Break.SENTENCE:
        return None
    last = clause_of(items, clause.start - 1)
    place = _first_timed(items, range(last.stop - 1, last.start - 1, -1))
    is_answer = bool(set(items[clause.start].mark) & set("(:="))
    is_last = clause.stop == len(items) or items[clause.stop].before is Break.SENTENCE
    if place is None or is_answer or is_last:
        return place
    following = clause_of(items, clause.stop)
    return None if any(_matter(items[each]) for each in following) else place
