"""What one row of a table is, and which field each of its columns holds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from schemas.codebook import RECORD_KINDS, RecordKind, upload_fields
from schemas.crosswalk import NEEDED_FIELDS, needed_fields
from schemas.units import units_for
from schemas.visit_names import Windows
from schemas.vocabulary import normal_form
from transforms.draft.assignment import assign
from transforms.draft.candidates import Candidate, candidates, from_values
from transforms.draft.column_values import Writing, column_values
from transforms.draft.columns import Column
from transforms.draft.details import notations_of
from transforms.draft.found_tables import FoundTable
from transforms.draft.heading_fields import is_unread
from transforms.draft.heading_parts import ways_to_read
from transforms.draft.proposal import CONFIDENCE_LIMIT, EyeProposal, Line, TableProposal
from transforms.draft.visit_blocks import Block, visit_blocks
from transforms.reading import address
from transforms.visit_time import VisitTime

EYES = ("right", "left")
# A row holds both eyes where at least so many headings stand there once for each.
FEWEST_PAIRS = 2
# A table is proposed where at least so many of its lines are certain.
FEWEST_CERTAIN = 2

# More repeated operations than this are no second entry by mistake.
MOST_REPEATED = 0.3

# Numbers that people type for a value that they do not know. Common practice, no source.
STAND_INS = (99.0, 999.0, 9999.0, -1.0, -9.0, -99.0, -999.0)

Chosen = Mapping[int, Candidate]


@dataclass(frozen=True)
class ReadTable:
    """A table whose columns have found their fields, by column number."""

    table: FoundTable
    columns: list[Column]
    kind: RecordKind
    both_eyes: bool
    chosen: Chosen


def read_table(table: FoundTable, writing: Writing, missing: frozenset[str]) -> ReadTable | None:
    """The kind of record that fits a table best; None where hardly a column fits any.

    `missing` holds texts, in lower case, that are no values.
    """
    columns = [
        Column(
            number,
            heading,
            table.said_below.get(number, ""),
            column_values(table.cells(number), missing),
        )
        for number, heading in table.heading.texts.items()
    ]
    both_eyes = _holds_both_eyes(columns, writing.language)
    ways = [
        ReadTable(table, columns, kind, both_eyes and kind == "operation", _chosen(
            table, columns, kind, writing, both_eyes=both_eyes and kind == "operation"))
        for kind in RECORD_KINDS
    ]  # fmt: skip
    best = max(ways, key=_rank)
    if len(_certain(best.chosen)) < FEWEST_CERTAIN:
        return None
    suggested = _suggestions(best, writing)
    return ReadTable(table, columns, best.kind, best.both_eyes, {**best.chosen, **suggested})


def _chosen(
    table: FoundTable, columns: list[Column], kind: RecordKind, writing: Writing, *, both_eyes: bool
) -> Chosen:
    notations = notations_of(columns, writing)
    found = [
        candidate
        for column in columns
        for candidate in candidates(column, kind, writing, notations, both_eyes=both_eyes)
    ]
    return assign([c for c in found if not both_eyes or _has_its_eye(c)], table)


def _has_its_eye(candidate: Candidate) -> bool:
    """In a row of both eyes a visit must be of one of them."""
    return candidate.kind == "operation" or candidate.parts.eye is not None


def _certain(chosen: Chosen) -> list[Candidate]:
    return [c for c in chosen.values() if c.confidence >= CONFIDENCE_LIMIT]


def _rank(way: ReadTable) -> tuple[bool, float]:
    is_possible = not _lacking(way) and not _repeats_operations(way)
    return is_possible, sum(candidate.confidence for candidate in way.chosen.values())


def _repeats_operations(way: ReadTable) -> bool:
    """True where the same operation stands in many rows: these are its visits."""
    named = {c.field: c.column.number for c in way.chosen.values() if c.kind == "operation"}
    needed = [named[name] for name in NEEDED_FIELDS["operation"] if name in named]
    if way.kind != "operation" or way.both_eyes or len(needed) < len(NEEDED_FIELDS["operation"]):
        return False
    rows = way.table.sheet.values.loc[way.table.rows, needed].dropna().astype(str)
    return bool(rows.duplicated().mean() > MOST_REPEATED)


def _lacking(way: ReadTable) -> list[str]:
    """Needed fields for which no line is certain; in a row of both eyes, for either of them."""
    certain = {c.field for c in _certain(way.chosen) if c.kind == way.kind}
    return [
        name for name in needed_fields(way.kind, certain)
        if name not in certain and not (way.both_eyes and name == "eye")
    ]  # fmt: skip


def _holds_both_eyes(columns: Iterable[Column], language: str) -> bool:
    """True where headings stand in the row once for the right and once for the left eye."""
    sides: dict[tuple[str, VisitTime | None], set[str]] = {}
    for column in columns:
        for parts in ways_to_read(column.heading, language, with_time=True, with_eye=True):
            if parts.eye:
                sides.setdefault((parts.core, parts.time), set()).add(parts.eye)
    return sum(len(eyes) == len(EYES) for eyes in sides.values()) >= FEWEST_PAIRS


def _suggestions(way: ReadTable, writing: Writing) -> dict[int, Candidate]:
    """Fields that no heading names, for columns whose heading says nothing, by values alone."""
    found: dict[int, Candidate] = {}
    taken = {candidate.field for candidate in way.chosen.values()}
    for column in way.columns:
        if column.number in way.chosen or is_unread(normal_form(column.heading), writing.language):
            continue
        candidate = from_values(column, way.kind, writing)
        if candidate and candidate.field not in taken:
            taken.add(candidate.field)
            found[column.number] = candidate
    return found


def stand_ins(tables: Iterable[ReadTable]) -> dict[str, int]:
    """Numbers that stand for "not known", and in how many columns: where a measure cannot have
    them, and nowhere as a measure that can.
    """
    impossible: Counter[float] = Counter()
    possible: set[float] = set()
    for read in tables:
        for candidate in _certain(read.chosen):
            spec = upload_fields(candidate.kind)[candidate.field].spec
            if spec.hard is None or not spec.holds_numbers:
                continue
            units = units_for(spec.unit)
            factor = units[candidate.source.unit or str(spec.unit)].factor if units else 1.0
            for number in set(STAND_INS) & set(candidate.column.values.plain_numbers):
                if spec.hard.low <= number * factor <= spec.hard.high:
                    possible.add(number)
                else:
                    impossible[number] += 1
    return {f"{n:g}": count for n, count in impossible.items() if n not in possible}


def table_proposal(
    read: ReadTable, windows: Windows, file_pattern: str | None, *, is_file_known: bool
) -> TableProposal:
    """The proposal for one table, fields in the codebook's order."""
    table, heading = read.table, read.table.heading
    blocks = _lines_by_block(read.chosen)
    own = blocks.pop((None, None), [])
    asked_for, possible = _without_heading(read)
    return TableProposal(
        file=table.file, file_pattern=file_pattern, is_file_known=is_file_known,
        sheet=None if table.is_text_file else table.sheet.name,
        is_hidden=table.sheet.state != "visible",
        row="patient" if read.both_eyes else read.kind,
        reason=f"{len(_certain(read.chosen))} of {len(read.columns)} headings are its fields",
        header=tuple(range(heading.first_row, heading.last_row + 1)),
        lines=own, visits=visit_blocks(blocks, None, windows),
        eyes=_eyes(own, blocks, windows) if read.both_eyes else [],
        unread=[
            (column.heading, address(heading.last_row, column.number))
            for column in read.columns if column.number not in read.chosen
        ],
        lacking=_lacking(read), asked_for=asked_for, possible=possible,
    )  # fmt: skip


def _eyes(
    shared: list[Line], blocks: Mapping[Block, list[Line]], windows: Windows
) -> list[EyeProposal]:
    return [
        EyeProposal(
            eye, _has_date([*shared, *blocks[(eye, None)]]), blocks[(eye, None)],
            visit_blocks(blocks, eye, windows),
        )
        for eye in EYES if (eye, None) in blocks
    ]  # fmt: skip


def _has_date(lines: Iterable[Line]) -> bool:
    return any(line.field == "operation_date" and line.is_certain for line in lines)


def _lines_by_block(chosen: Chosen) -> dict[Block, list[Line]]:
    blocks: dict[Block, list[tuple[int, Line]]] = {}
    for each in chosen.values():
        place = list(upload_fields(each.kind)).index(each.field)
        line = Line(each.field, each.source, each.confidence, each.reason)
        blocks.setdefault(each.block, []).append((place, line))
    return {
        block: [line for _, line in sorted(placed, key=lambda pair: pair[0])]
        for block, placed in blocks.items()
    }


def _without_heading(read: ReadTable) -> tuple[list[str], list[str]]:
    """Fields that no heading names: those that the codebook asks for, and the others."""
    named = {candidate.field for candidate in read.chosen.values()}
    others = {
        name: field.spec for name, field in upload_fields(read.kind).items()
        if name not in named and name not in NEEDED_FIELDS[read.kind]
    }  # fmt: skip
    asked_for = [name for name, spec in others.items() if spec.required]
    return asked_for, [name for name in others if name not in asked_for]
