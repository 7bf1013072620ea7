"""What an operation note says filled the eye, and what was to be taken out again.

Perfluorocarbon is a tool, or a tamponade for some days. It was left in where a note says so, gives
it days, or exchanges or removes it at a later day; what it was exchanged for is the tamponade then.
Beside gas or air alone it was a tool. Notes are written in the order in which things are done.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from schemas.codes import GASES, OILS
from transforms.harmonise.notes.lexicon import EVENT
from transforms.harmonise.notes.numbers import Measure
from transforms.harmonise.notes.phrases import DOUBTS, Item, clause_of, names_something
from transforms.harmonise.notes.plan import TimedNote, is_oil, is_pfcl
from transforms.harmonise.notes.standing import Standing

BARE_PFCL: Mapping[str, str] = {"pfcl_use": "intraoperative", "tamponade": "pfcl"}
_LEFT_IN_DAYS = (1.0, 60.0)  # project choice: shorter is within the operation, longer no plan
_OF_PFCL = ("exchange", "pfcl_removal")
_LEAVES_NO_PFCL = frozenset({"air", *GASES})


@dataclass(frozen=True)
class Filling:
    """Codes of perfluorocarbon and tamponade that the note states, more than one where it
    contradicts itself; whether perfluorocarbon was left in, whether oil is taken out later or may
    be, as nothing is said of it; and whether all that was said of them is understood."""

    pfcl_use: frozenset[str]
    tamponade: frozenset[str]
    is_left_in: bool
    is_oil_removed: bool
    is_removal_open: bool
    is_plain: bool


def filling_of(
    note: TimedNote, standing: Sequence[Standing], numbers: Mapping[int, Measure], *,
    is_tool_told: bool,
) -> Filling:  # fmt: skip
    """The filling. `is_tool_told` is False where a cell is about the tamponade alone."""
    said = _Said(note, standing, numbers)
    left_in = said.left_in
    if not is_tool_told and said.steps("exchange"):
        left_in = left_in or said.pfcl
    agents = frozenset(said.agents.values())
    tools = said.tools
    is_plain = not said.odd and bool(left_in or not said.steps("exchange"))
    if left_in:
        is_before = any(at < min(left_in) for at in said.agents)
        is_last = not agents and not said.steps("exchange", "pfcl_removal")
        agents |= {"pfcl"} if is_before or is_last else set()
        tools |= {"short_term"}
    elif not is_tool_told and said.pfcl:
        agents |= {"pfcl"}
    elif not tools and (said.bare or said.steps("pfcl_removal")):
        is_tool = said.is_tool
        tools |= {"intraoperative"} if is_tool else set()
        is_plain &= is_tool
    if said.is_pfcl_doubtful:
        tools, is_plain = frozenset(), False
    is_removed, is_told = _oil_removal(note, standing, agents)
    is_oil_alone = bool(agents) and agents <= set(OILS)
    is_open = is_oil_alone and not any(_takes_oil_out(item) for item in note.items)
    return Filling(tools, agents, bool(left_in), is_removed, is_open, is_plain and is_told)


class _Said:
    """What a note states of perfluorocarbon and other fillings, by place."""

    def __init__(
        self, note: TimedNote, standing: Sequence[Standing], numbers: Mapping[int, Measure]
    ) -> None:
        self.note, self.items, self.numbers = note, note.items, numbers
        self.stated = [at for at in range(len(self.items)) if standing[at] == "stated"]
        self.agents = {at: code for at in self.stated if (code := _agent(self.items[at]))}
        self.pfcl = [
            at for at in self.stated if self.items[at].kind == "phrase" and is_pfcl(self.items[at])
        ]
        steps = self.steps("exchange", "pfcl_removal")
        self.left_in = [at for at in [*self.pfcl, *steps] if _is_left_in(note, at)]
        self.odd = [at for at in self.pfcl if at not in self.left_in and _is_odd(note, at)]
        self.is_pfcl_doubtful = any(
            standing[at] == "unsure" and (is_pfcl(item) or item.codes.get(EVENT) in _OF_PFCL)
            for at, item in enumerate(self.items)
        )

    def steps(self, *events: str) -> list[int]:
        """Places of the steps of these kinds."""
        return [at for at in self.stated if self.items[at].codes.get(EVENT) in events]

    @property
    def bare(self) -> list[int]:
        """Perfluorocarbon named without what it was for."""
        return [at for at in self.pfcl if at not in self.odd and _is_bare(self.items[at])]

    @property
    def tools(self) -> frozenset[str]:
        """Uses that the words themselves say."""
        plain = (self.items[at] for at in self.pfcl if at not in [*self.odd, *self.bare])
        return frozenset(item.codes["pfcl_use"] for item in plain if "pfcl_use" in item.codes)

    @property
    def is_tool(self) -> bool:
        """True where perfluorocarbon named bare, or taken out without a time, was a tool."""
        removed = self.steps("pfcl_removal")
        is_replaced = bool(self.agents) and set(self.agents.values()) <= _LEAVES_NO_PFCL
        is_clear = all(_is_clear(self.items, self.numbers, at) for at in self.pfcl + removed)
        return is_clear and not self.steps("exchange") and (is_replaced or bool(removed))


def _agent(item: Item) -> str | None:
    """The code of a filling that is no perfluorocarbon; of a direct exchange, the oil."""
    code = item.codes.get("tamponade")
    return code if item.kind == "phrase" and code and code != "pfcl" else None


def _is_bare(item: Item) -> bool:
    return item.codes == BARE_PFCL


def _is_left_in(note: TimedNote, at: int) -> bool:
    """True where perfluorocarbon stays in the eye beyond the operation."""
    item = note.items[at]
    if item.codes.get("pfcl_use") == "short_term":
        return True
    low, high = _LEFT_IN_DAYS
    is_for_days = any(low <= (time.number or 0) <= high for time in note.durations_of(at))
    if item.kind == "event":
        return is_for_days or _is_planned(note.items, at)
    return is_for_days and (_is_bare(item) or "pfcl_use" not in item.codes)


def _is_odd(note: TimedNote, at: int) -> bool:
    """A tool that has a time, or stands with a posture: "supine under PFCL"."""
    beside = (note.items[place] for place in clause_of(note.items, at))
    return bool(note.durations_of(at)) or any(item.codes.get("posture") for item in beside)


def _is_clear(items: Sequence[Item], numbers: Mapping[int, Measure], at: int) -> bool:
    """False where something is not understood beside an item: it may be a time ("PFCL 7/7"), or
    a heading over it ("2nd session: PFCL removal")."""
    clause = clause_of(items, at)
    places = [*clause]
    if clause.start > 0:
        above = clause_of(items, clause.start - 1)
        is_over = items[at].kind == "event" and not names_something(items, above)
        places += above if is_over or ":" in items[clause.start].mark else ()
    if clause.stop < len(items):
        following = clause_of(items, clause.stop)
        places += () if names_something(items, following) else following
    return all(
        items[place].kind not in ("unknown", "qualifier", "heading", "duration", *DOUBTS)
        and (items[place].kind != "number" or place in numbers)
        for place in places
    )


def _is_planned(items: Sequence[Item], at: int) -> bool:
    """True for a step that stands with "planned" or "later"."""
    return any(items[place].kind in ("plan", "later") for place in clause_of(items, at))


def _takes_oil_out(item: Item) -> bool:
    return item.codes.get(EVENT) == "oil_removal"


def _oil_removal(
    note: TimedNote, standing: Sequence[Standing], agents: frozenset[str]
) -> tuple[bool, bool]:
    """Whether oil is taken out at a later operation, and whether that is plain.

    A removal without a time that stands before any oil is part of this operation.
    """
    items = note.items
    for at, item in enumerate(items):
        if not _takes_oil_out(item) or standing[at] != "stated":
            continue
        before = [items[place] for place in range(at) if standing[place] == "stated"]
        is_after_oil = any(is_oil(each) or _agent(each) in OILS for each in before)
        is_timed = bool(note.durations_of(at)) or _is_planned(items, at)
        if not is_timed and not is_after_oil:
            continue
        is_after = is_after_oil or any("graft_material" in each.codes for each in before)
        is_plain = is_after and agents <= set(OILS)
        return is_plain, is_plain
    # "Oil for 3 months" without a removal: it is to be taken out, but nothing says so.
    return False, not any(is_oil(item) and note.durations_of(at) for at, item in enumerate(items))
