"""A proposal written as TOML, a reason behind each line."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from types import MappingProxyType

from schemas.crosswalk import in_words
from transforms.draft.habits import Told, Value
from transforms.draft.proposal import (
    CONFIDENCE_LIMIT,
    EyeProposal,
    Line,
    Proposal,
    TableProposal,
    VisitProposal,
)

_MAYBE = "# maybe: "
_NO_OWN_KEYS: Mapping[str, str] = MappingProxyType({})
_OF_VISIT = MappingProxyType({"visit_date": "date"})


def toml_of(proposal: Proposal) -> str:
    """The proposal as the text of a crosswalk: certain lines stand, the others are comments."""
    parts = [*_head(proposal)]
    for table in proposal.tables:
        parts += ["", *_table(table)]
    if not any(table.is_certain for table in proposal.tables):
        parts += ["", "# No table is certain enough: uncomment one, and name what is missing."]
    if proposal.other_sheets:
        parts += ["", "# Sheets that are not read:"]
        parts += [f"#   {_quoted(name)}: {reason}" for name, reason in proposal.other_sheets]
    return "\n".join(parts) + "\n"


def _head(proposal: Proposal) -> list[str]:
    missing = [word for word in proposal.missing if word]
    counts = ", ".join(f"{_quoted(w)} ({n})" for w, n in proposal.missing.items())
    return [
        "# A draft of a crosswalk, made from the headings and values of the centre's files. Behind",
        "# each line stands how surely it is right, in per cent, and why. A line below "
        f"{_per_cent(CONFIDENCE_LIMIT)} is a",
        f"# comment that begins '{_MAYBE.strip()}': take that away where it is right. Read every "
        "line,",
        "# then run `foveapool check` on the files.",
        f"site     = {_quoted(proposal.site)}",
        f"title    = {_quoted(proposal.site)}  # the centre's name, for reports: please write it",
        f"language = {_told(proposal.language)}",
        f"dates    = {_told(proposal.dates)}",
        f"decimal  = {_told(proposal.decimal)}",
        f"missing  = [{', '.join(_quoted(word) for word in ['', *missing])}]"
        + (f"  # found: {counts}" if counts else "  # no word for missing found"),
    ]


def _told(told: Told[Value]) -> str:
    return f"{_quoted(told.value)}  # {'' if told.is_shown else 'not certain: '}{told.reason}"


def _table(table: TableProposal) -> list[str]:
    lines = ["[[table]]", *_place(table), "", "  [table.fields]", *_aligned(table.lines)]
    for eye in table.eyes:
        lines += ["", *_eye(eye)]
    for visit in table.visits:
        lines += ["", *_visit(visit, "table.visits")]
    if not table.is_certain:
        lines = [f"# This table is no more than likely: {_doubt(table)}.", *_commented(lines)]
    return [*lines, *_notes(table)]


def _doubt(table: TableProposal) -> str:
    if table.lacking:
        return f"no heading is certain to be {in_words(table.lacking)}"
    return "no words of its file's name tell it from the other files"


def _place(table: TableProposal) -> list[str]:
    lines = []
    if table.file_pattern:
        lines.append(f"file  = {_quoted(table.file_pattern)}")
    elif not table.is_file_known:
        lines.append('file  = "...*"')
    if table.sheet is not None:
        hidden = "  # a hidden sheet" if table.is_hidden else ""
        lines.append(f"sheet = {_quoted(table.sheet)}{hidden}")
    rows = ", ".join(map(str, table.header))
    return [
        *lines,
        f"row   = {_quoted(table.row)}  # {table.reason}",
        f"# header = [{rows}]  # found there; left out, it is looked for each week",
    ]


def _notes(table: TableProposal) -> list[str]:
    """What is not read, and what is not there."""
    notes = [f"# not read: {_quoted(heading)} ({cell})" for heading, cell in table.unread]
    if table.asked_for:
        notes.append(f"# asked for, and no heading names it: {', '.join(table.asked_for)}")
    if table.possible:
        notes.append(f"# no heading either for: {', '.join(table.possible)}")
        notes.append('# (what is the same in every row can be written as { constant = "..." })')
    return notes


def _eye(eye: EyeProposal) -> list[str]:
    lines = ["  [[table.eyes]]", f"  eye = {_quoted(eye.eye)}", *_aligned(eye.lines)]
    for visit in eye.visits:
        lines += ["", *_visit(visit, "table.eyes.visits")]
    return lines if eye.is_certain else _commented(lines)


def _visit(visit: VisitProposal, name: str) -> list[str]:
    lines = [f"  [[{name}]]  # {visit.reason}"]
    if visit.at:
        lines.append(f"  at = {_quoted(visit.at)}")
    lines += _aligned(visit.lines, _OF_VISIT)
    return lines if visit.is_certain else _commented(lines)


def _aligned(lines: Iterable[Line], own_keys: Mapping[str, str] = _NO_OWN_KEYS) -> list[str]:
    """Lines of TOML; `own_keys` gives the keys of fields that are not named as in the codebook."""
    keyed = [(own_keys.get(line.field, line.field), line) for line in lines]
    width = max((len(key) for key, _ in keyed), default=0)
    return [
        f"  {'' if line.is_certain else _MAYBE}{key.ljust(width)} = {_source(line)}"
        f"  # {_per_cent(line.confidence)}: {_remark(line.reason)}"
        for key, line in keyed
    ]


def _source(line: Line) -> str:
    details = line.source.model_dump(exclude={"heading"}, exclude_defaults=True)
    named = [f"{key} = {_quoted(value)}" for key, value in details.items()]
    if not named:
        return _quoted(line.heading)
    return f"{{ heading = {_quoted(line.heading)}, {', '.join(named)} }}"


def _commented(lines: Iterable[str]) -> list[str]:
    return [line if not line or line.lstrip().startswith("#") else f"# {line}" for line in lines]


def _per_cent(share: float) -> str:
    return f"{int(100 * share)} %"


def _remark(text: str) -> str:
    """A text as a comment may hold it: headings can have any character in them."""
    return "".join(char if char.isprintable() else " " for char in text)


def _quoted(text: str) -> str:
    """A TOML basic string; JSON's is the same but for one control character."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
