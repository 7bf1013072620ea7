"""Versioned conventions: every file of them as one table, whatever its entries hold."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any, get_args, get_type_hints

from markupsafe import Markup

from reports.dictionary.words import with_code_marks
from reports.numerals import decimal, plain
from schemas.conventions import CONVENTIONS, Convention, ConventionTable


@dataclass(frozen=True)
class Cell:
    """A value as it is written, one line or several."""

    lines: tuple[str, ...]
    is_number: bool = False


@dataclass(frozen=True)
class ConventionRow:
    """One entry of a file of conventions."""

    entry: Convention
    anchor: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class ConventionEntries:
    """A file of conventions: `heads` are the labels of what its entries hold beside a source."""

    anchor: str
    title: str
    note: Markup
    heads: tuple[str, ...]
    rows: tuple[ConventionRow, ...]


def convention_tables() -> list[ConventionEntries]:
    """Every file of conventions, in the order in which `schemas.conventions` lists them."""
    return [_table(table) for table in CONVENTIONS]


def entry_anchor(name: str) -> str:
    """The anchor of an entry of a file of conventions."""
    return f"convention-{name}"


def _table(table: ConventionTable) -> ConventionEntries:
    entries = list(table.entries.values())
    columns = _columns(entries)
    cells = [_cells([_value(entry, *path) for entry in entries]) for path in columns.values()]
    return ConventionEntries(
        anchor=f"conventions-{table.file}",
        title=table.title,
        note=with_code_marks(table.note),
        heads=tuple(columns),
        rows=tuple(
            ConventionRow(
                entry=entry,
                anchor=entry_anchor(entry.name),
                cells=tuple(column[position] for column in cells),
            )
            for position, entry in enumerate(entries)
        ),
    )


def _columns(entries: list[Convention]) -> dict[str, tuple[str, ...]]:
    """Label of each column and where its value stands: a field, or a code within a field of
    numbers by code."""
    columns: dict[str, tuple[str, ...]] = {}
    for name, label in _labels(type(entries[0])).items():
        first = getattr(entries[0], name)
        if _is_numbers_by_code(first):
            columns |= {
                f"{code.replace('_', ' ').capitalize()}, {label}": (name, code) for code in first
            }
        else:
            columns[label] = (name,)
    return columns


def _labels(kind: type[Convention]) -> dict[str, str]:
    """Label of each field that a kind of entry has beside those of every entry."""
    hints = get_type_hints(kind, include_extras=True)
    shared = {each.name for each in fields(Convention)}
    return {
        each.name: get_args(hints[each.name])[1] for each in fields(kind) if each.name not in shared
    }


def _value(entry: Convention, name: str, code: str | None = None) -> object:
    value = getattr(entry, name)
    return value if code is None else value[code]


def _is_numbers_by_code(value: object) -> bool:
    return isinstance(value, Mapping) and all(isinstance(each, float) for each in value.values())


def _cells(values: list[Any]) -> list[Cell]:
    """The cells of a column; numbers have as many digits as the one that has most."""
    if not all(isinstance(value, int | float) for value in values):
        return [Cell(_lines(value)) for value in values]
    digits = max(len(plain(value).partition(".")[2]) for value in values)
    return [Cell((decimal(value, digits),), is_number=True) for value in values]


def _lines(value: Any) -> tuple[str, ...]:
    if isinstance(value, Mapping):
        return tuple(f"{key}: {each}" for key, each in value.items())
    if isinstance(value, str):
        return (value,)
    if all(isinstance(each, str) for each in value):
        return tuple(value)
    return (", ".join(plain(each) for each in value),)
