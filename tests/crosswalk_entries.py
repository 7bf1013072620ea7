"""Entries of a crosswalk as a set, so that a draft can be compared with what is right."""

from __future__ import annotations

from dataclasses import dataclass

from schemas.crosswalk import Crosswalk, Sources
from transforms.draft.proposal import Proposal, VisitProposal
from transforms.layout.headings import heading_form

Entry = tuple[str, str, str, str, str, str, str]


@dataclass(frozen=True)
class Compared:
    """A draft beside the right crosswalk: what stands rightly, what wrongly, what is proposed
    rightly whether it stands or is a comment, and all there is."""

    standing: set[Entry]
    wrong: set[Entry]
    proposed: set[Entry]
    expected: set[Entry]

    def share(self, entries: set[Entry]) -> float:
        """The share that some entries are of all there are."""
        return len(entries) / len(self.expected)


def compared(drafted: Proposal, expected: Crosswalk) -> Compared:
    """Compares the lines of a draft with the right crosswalk.

    A constant of the crosswalk is an entry that no draft can find. Where the crosswalk leaves a
    notation out, any is right.
    """
    wanted = entries(expected)
    left_open = {entry[:-1] for entry in wanted if not entry[-1]}
    lines = {
        (*entry[:-1], "") if entry[:-1] in left_open else entry: stands
        for entry, stands in proposed(drafted).items()
    }
    standing = {entry for entry, stands in lines.items() if stands}
    return Compared(standing & wanted, standing - wanted, lines.keys() & wanted, wanted)


def proposed(proposal: Proposal) -> dict[Entry, bool]:
    """Every line of a draft, and whether it stands."""
    found: dict[Entry, bool] = {}
    for table in proposal.tables:
        for eye, visit, line, stands in table.placed():
            side, source = eye.eye if eye else "", {line.field: line.source}
            (entry,) = _entries(table.row, side, _when(visit) if visit else "", source)
            found[entry] = stands
    return found


def _when(visit: VisitProposal) -> str:
    dates = [line.heading for line in visit.lines if line.field == "visit_date"]
    return str(visit.at or next(iter(dates), None))


def entries(crosswalk: Crosswalk) -> set[Entry]:
    """What one row is, eye, visit, field, heading, unit and notation of every entry."""
    found: set[Entry] = set()
    for table in crosswalk.tables:
        found |= _entries(table.row, "", "", table.fields)
        for eye, visits in (("", table.visits), *((e.eye, e.visits) for e in table.eyes)):
            for visit in visits:
                when = visit.at or (visit.date.heading if visit.date else None)
                found |= _entries(table.row, eye, str(when), visit.sources)
        for eye in table.eyes:
            found |= _entries(table.row, eye.eye, "", eye.fields)
    return found


def _entries(row: str, eye: str, visit: str, sources: Sources) -> set[Entry]:
    return {
        (
            row, eye, visit, name, heading_form(source.heading or f"= {source.constant}"),
            source.unit or "", source.notation or "",
        )
        for name, source in sources.items()
    }  # fmt: skip
