"""Entries of a crosswalk as a set, so that a draft can be compared with what is right."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass

from schemas.crosswalk import Crosswalk, Sources
from transforms.layout.headings import heading_form

Entry = tuple[str, str, str, str, str, str, str]


@dataclass(frozen=True)
class Compared:
    """A draft beside the right crosswalk: what stands rightly, what wrongly, and all there is."""

    right: set[Entry]
    wrong: set[Entry]
    expected: set[Entry]

    @property
    def share(self) -> float:
        return len(self.right) / len(self.expected)


def compared(drafted: str, expected: Crosswalk) -> Compared:
    """Compares the standing lines of a draft, as TOML, with the right crosswalk.

    A constant of the crosswalk is an entry that no draft can find.
    """
    proposed = entries(Crosswalk.model_validate(tomllib.loads(drafted)))
    wanted = entries(expected)
    return Compared(proposed & wanted, proposed - wanted, wanted)


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
