"""What was read from the cells of one kind of record, joined from all of its columns."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import pandas as pd

from schemas.codebook import RECORD_TABLE, RecordKind, columns_from, table_fields, upload_fields
from schemas.rules import RULES
from transforms.harmonise.context import PROBLEM, RULE, columns_of_values, rule_of

_BLANKING = [name for name, rule in RULES.items() if rule.action == "blank"]


@dataclass(frozen=True)
class Readings:
    """Values of one kind of record, by warehouse column, labelled by record.

    `read_from` and `rules` have the same shape and name the upload field from which each value
    came, and the rule of `schemas.conversions` by which it was made.
    """

    values: pd.DataFrame
    read_from: pd.DataFrame
    rules: pd.DataFrame

    def column(self, name: str) -> pd.Series:
        """A column of values; all missing where no cell was read into it."""
        return column_of(self.values, name)


def column_of(values: pd.DataFrame, name: str) -> pd.Series:
    """A column of values; all missing where the frame has none of that name."""
    if name in values:
        return values[name]
    return pd.Series(None, index=values.index, dtype="object", name=name)


@dataclass(frozen=True)
class Disagreement:
    """Records in which two cells give one column different values. `field` is the upload field
    that is used, `other` says of each record what the two say, in codes and titles."""

    field: str
    records: pd.Index
    other: list[str]


@dataclass(frozen=True)
class _Column:
    """One column of values of one field: the field and rule of each, and the records whose own
    cell was refused."""

    said: pd.Series
    read_from: pd.Series
    rules: pd.Series
    refused: pd.Index


def join_readings(
    kind: RecordKind, parts: Iterable[tuple[str, pd.DataFrame]], records: pd.Index
) -> tuple[Readings, list[Disagreement]]:
    """One frame of all columns from the frames of readers, each with its upload field.

    A column's own field goes before what other fields say of it; where the two differ, that is a
    disagreement, and where the own cell was refused, the others do not stand in for it.
    """
    order = columns_from(kind)
    of_fields: dict[tuple[str, str], list[_Column]] = {}
    for name, column, part in _by_column(kind, parts):
        of_fields.setdefault((name, column), []).append(part)
    columns: dict[str, _Column] = {}
    disagreeing: list[Disagreement] = []
    for name, column in sorted(of_fields, key=lambda key: _rank(order.get(key[1], ()), key[0])):
        part = _end_to_end(of_fields[(name, column)])
        if column not in columns:
            columns[column] = part
            continue
        disagreeing += _disagreements(kind, column, columns[column], part)
        columns[column] = _filled_up(columns[column], part)
    frames = (
        pd.DataFrame({name: getattr(c, what) for name, c in columns.items()}, index=records)
        for what in ("said", "read_from", "rules")
    )
    values, read_from, by_rule = frames
    return Readings(values, read_from.astype("object"), by_rule.astype("object")), disagreeing


def _by_column(
    kind: RecordKind, parts: Iterable[tuple[str, pd.DataFrame]]
) -> Iterable[tuple[str, str, _Column]]:
    """Upload field, column, and what the field's cells say of it."""
    for name, read in parts:
        blanked = read.index[read[PROBLEM].isin(_BLANKING)]
        own = upload_fields(kind)[name].column
        for column in columns_of_values(read):
            said = read[column].dropna()
            said = said.astype("boolean") if said.dtype == bool else said
            rules = read[rule_of(column) if rule_of(column) in read else RULE].loc[said.index]
            if rules.isna().any():
                raise ValueError(f"{name}: a value of {column} was read by no rule")
            came_from = pd.Series(name, index=said.index, dtype="object")
            refused = blanked.difference(said.index) if column == own else blanked[:0]
            yield name, column, _Column(said, came_from, rules, refused)


def _rank(fields: tuple[str, ...], name: str) -> int:
    return fields.index(name) if name in fields else 0


def _end_to_end(parts: list[_Column]) -> _Column:
    """What the columns of a sheet that hold one field say, each of other records."""
    if len(parts) == 1:
        return parts[0]
    filled = [part for part in parts if len(part.said)] or parts[:1]
    refused = parts[0].refused.append([part.refused for part in parts[1:]])
    return _Column(
        pd.concat([part.said for part in filled]),
        pd.concat([part.read_from for part in filled]),
        pd.concat([part.rules for part in filled]),
        refused,
    )


def _filled_up(first: _Column, then: _Column) -> _Column:
    known = first.said.index.union(first.refused)
    more = then.said.index[~then.said.index.isin(known)]
    refused = first.refused.union(then.refused)
    if not len(more):
        return replace(first, refused=refused)
    if not len(first.said):
        return _Column(then.said[more], then.read_from[more], then.rules[more], refused)
    return _Column(
        pd.concat([first.said, then.said[more]]),
        pd.concat([first.read_from, then.read_from[more]]),
        pd.concat([first.rules, then.rules[more]]),
        refused,
    )


def _disagreements(
    kind: RecordKind, column: str, first: _Column, then: _Column
) -> list[Disagreement]:
    both = first.said.index.intersection(then.said.index)
    one, other = first.said[both].astype("object"), then.said[both].astype("object")
    from_one, from_other = first.read_from[both], then.read_from[both]
    differs = both[((one != other) & (from_one != from_other)).to_numpy()]
    spec = table_fields(RECORD_TABLE[kind]).get(column)
    if spec is None or not len(differs):
        return []
    found = []
    for name in from_one[differs].unique():
        labels = differs[(from_one[differs] == name).to_numpy()]
        titles = from_other[labels].map(lambda field: upload_fields(kind)[field].spec.title)
        said = (
            [f"{a}, {b} under {title}" for a, b, title in
             zip(one[labels], other[labels], titles, strict=True)]
            if spec.codes else [f"see {title}" for title in titles]
        )  # fmt: skip
        found.append(Disagreement(str(name), labels, said))
    return found
