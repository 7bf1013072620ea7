"""What changed in a centre's spreadsheet since its last upload: headings, and units of columns."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from typing import Any

import pandas as pd

from schemas.codebook import upload_fields
from schemas.field import QUANTITIES
from schemas.units import factors_of, units_for
from transforms.findings import gathered, raised
from transforms.harmonise.numerals import plain_text, read_numeral
from transforms.layout import Layout
from transforms.layout.headings import heading_form
from transforms.reading import PerCent
from transforms.reading.addresses import column_letters
from transforms.records import MappedColumn, Records

# By which a change of unit moves a median: mm and cm, µm and mm, µm and disc diameters.
FACTORS = {10.0, 1000.0, 1500.0}
# Of a smaller one between two units of the codebook, growth of a series may be the reason.
LEAST_FACTOR = 10.0
# The middle of a series moves on its own as cases come in, but seldom by a fifth.
TOLERANCE = 1.2
# Fewer numbers have no middle worth comparing.
FEWEST_NUMBERS = 5
# No logMAR of a chart lies above, and hardly an eye reads so few letters.
HIGHEST_LOGMAR, FEWEST_LETTERS = 3.0, 3.0

_KEY = ["kind", "field", "at", "eye"]
_COLUMN = ["crosswalk_table", "sheet", "position", "heading"]
_USED = ["written_in", "since", "numbers", "median"]


@dataclass(frozen=True)
class Drift:
    """The layout without columns whose unit changed, what to tell, and the profile to keep.

    `headings` has the columns of the warehouse's table of that name, except the centre.
    """

    layout: Layout
    headings: pd.DataFrame


def hold_against(before: pd.DataFrame | None, layout: Layout) -> Drift:
    """Compares an upload with the headings that the centre's last one left in the warehouse.

    Values of a column whose numbers changed their unit are left out as if no crosswalk named it,
    and its profile stays that of the last upload whose numbers were used. `before` is None, or
    empty, for a first upload.
    """
    now = _profile(layout)
    if before is None or before.empty:
        return Drift(layout, now)
    told, missing_explained = _changed_headings(before, now, layout)
    unit_findings, unusable, kept = _changed_units(before, now)
    findings = layout.findings[~layout.findings.index.isin(missing_explained)]
    held = layout.records.without_columns(unusable)
    all_told = gathered(findings, told, unit_findings)
    return Drift(replace(layout, records=held, findings=all_told), kept)


# The profile


def _profile(layout: Layout) -> pd.DataFrame:
    """One row for each heading and each field that is read from it."""
    headings = layout.headings.rename(columns={"table": "crosswalk_table", "column": "position"})
    reads = pd.DataFrame(
        list(_read_columns(layout.records)),
        columns=["upload", "sheet", "cell", *_KEY, *_USED, "typed", "columns"],
    )
    joined = headings.merge(reads, how="left", on=["upload", "sheet", "cell"])
    return joined.astype(object).where(joined.notna(), None)


def _read_columns(records: Records) -> Iterator[dict[str, Any]]:
    """What is read from each heading, with the middle of the numbers of its table's column.

    Cells below a heading that stands again further down, or in another file of the same table,
    count for one column. `median` is that of the numbers that lie within the codebook's limits, of
    at least `FEWEST_NUMBERS`; `typed` that of all.
    """
    groups: dict[tuple[object, ...], list[int]] = {}
    for place, column in enumerate(records.columns):
        if column.cell is not None:
            key = (column.table, column.kind, column.field, column.at, column.eye)
            groups.setdefault(key, []).append(place)
    values = {int(str(n)): part["value"] for n, part in records.filled().groupby("column")}
    for places in groups.values():
        columns = [records.columns[place] for place in places]
        numbers = pd.concat(
            [_numbers(values[p], records.columns[p]) for p in places if p in values]
            or [pd.Series(dtype="float64")]
        )
        used = numbers[_is_possible(numbers, columns[0])]
        for upload in dict.fromkeys(column.upload for column in columns):
            first = next(column for column in columns if column.upload == upload)
            yield {
                "upload": upload, "sheet": first.sheet, "cell": first.cell, "kind": first.kind,
                "field": first.field, "at": first.at, "eye": first.eye,
                "written_in": _written_in(first), "since": first.source.since,
                "numbers": len(used), "median": _middle(used), "typed": _middle(numbers),
                "columns": [p for p in places if records.columns[p].upload == upload],
            }  # fmt: skip


def _middle(numbers: pd.Series) -> float | None:
    """The median; None of numbers so few that it would tell one of them."""
    return float(numbers.median()) if len(numbers) >= FEWEST_NUMBERS else None


def _is_possible(numbers: pd.Series, column: MappedColumn) -> pd.Series:
    """Which numbers of a quantity lie within the codebook's hard limits; of acuities all."""
    spec = upload_fields(column.kind)[column.field].spec
    if spec.reads not in QUANTITIES or spec.hard is None:
        return pd.Series(True, index=numbers.index)
    return numbers.between(spec.hard.low, spec.hard.high)


def _written_in(column: MappedColumn) -> str | None:
    spec = upload_fields(column.kind)[column.field].spec
    if spec.reads in QUANTITIES:
        return column.source.unit or spec.unit
    return column.source.notation


def _numbers(values: pd.Series, column: MappedColumn) -> pd.Series:
    """The plain numbers of a column of quantities, in the codebook's unit, or of acuities, as
    written; none of other columns."""
    spec = upload_fields(column.kind)[column.field].spec
    if spec.reads not in (*QUANTITIES, "acuity"):
        return pd.Series(dtype="float64")
    numbers = values.map(lambda value: _number(value, column)).dropna().astype("float64")
    unit = units_for(spec.unit).get(column.source.unit or spec.unit or "")
    if unit is None or spec.reads not in QUANTITIES:
        return numbers
    return numbers * unit.factor_of(column.source.area_deg2)


def _number(value: object, column: MappedColumn) -> float | None:
    if isinstance(value, bool | PerCent):
        return None
    if isinstance(value, int | float):
        return float(value)
    return read_numeral(plain_text(value), column.decimal).value if isinstance(value, str) else None


# Headings


def _changed_headings(
    before: pd.DataFrame, now: pd.DataFrame, layout: Layout
) -> tuple[pd.DataFrame, list[int]]:
    """Findings about headings, and the labels of findings of the layout that they replace."""
    told, replaced = [], []
    for table, here in now.drop_duplicates(_COLUMN).groupby("crosswalk_table", sort=False):
        there = before[before["crosswalk_table"] == table].drop_duplicates(_COLUMN)
        if there.empty:
            continue
        change = _Change(there.sort_values("position"), here.sort_values("position"))
        renamed, labels = _renamed(change, layout.findings)
        replaced += labels
        told += [renamed, _moved(change), _added(change, renamed), _dropped(change)]
    return gathered(*told), replaced


class _Change:
    """The headings of one table last time and now, each with its row of the profile."""

    def __init__(self, there: pd.DataFrame, here: pd.DataFrame) -> None:
        self.there = there.assign(form=there["heading"].map(heading_form)).reset_index(drop=True)
        self.here = here.assign(form=here["heading"].map(heading_form)).reset_index(drop=True)
        old, new = self.there["form"].to_list(), self.here["form"].to_list()
        self.blocks = SequenceMatcher(None, old, new, autojunk=False).get_opcodes()
        self.gone = self.there[_beyond(old, new)]
        self.new = self.here[_beyond(new, old)]

    def in_the_place_of(self, label: int) -> int | None:
        """The new heading that stands where one that is gone stood, between the same others."""
        for kind, first, last, new_first, new_last in self.blocks:
            if kind == "replace" and first <= label < last:
                gone = [n for n in range(first, last) if n in self.gone.index]
                new = [n for n in range(new_first, new_last) if n in self.new.index]
                return new[gone.index(label)] if len(gone) == len(new) else None
        return None


def _beyond(forms: list[str], others: list[str]) -> list[bool]:
    """True for each heading that stands more often here than there."""
    left = Counter(others)
    beyond = []
    for form in forms:
        beyond.append(left[form] <= 0)
        left[form] -= 1
    return beyond


def _where(rows: pd.DataFrame) -> pd.DataFrame:
    return rows.reindex(columns=["upload", "sheet", "cell", "kind", "field"])


def _renamed(change: _Change, findings: pd.DataFrame) -> tuple[pd.DataFrame, list[int]]:
    """Headings that the crosswalk misses and in whose place a new one stands."""
    missing = findings[findings["rule"] == "heading_missing"]
    told, labels = [], []
    for label, heading in change.gone.loc[change.gone["field"].notna(), "heading"].items():
        new = change.in_the_place_of(int(str(label)))
        of_it = missing[missing["heading"].map(heading_form) == heading_form(heading)]
        if new is None or of_it.empty:
            continue
        labels += of_it.index.to_list()
        here = change.here.loc[[new]]
        where = _where(here)
        where[["kind", "field"]] = of_it[["kind", "field"]].to_numpy()[:1]
        other = [f"'{text}'" for text in here["heading"]]
        told.append(raised("heading_renamed", where, heading=heading, other=other))
    return gathered(*told), labels


def _moved(change: _Change) -> pd.DataFrame:
    """Columns that are read and stand in another order among those that were there before."""
    kept = {
        place
        for kind, _, _, first, last in change.blocks
        if kind == "equal"
        for place in range(first, last)
    }
    here = change.here
    is_read = here["is_read"].astype(bool)
    moved = here[is_read & ~here.index.isin(kept) & ~here.index.isin(change.new.index)]
    there = change.there.drop_duplicates("form").set_index("form")["position"]
    other = [
        f"{column_letters(int(there[form]))} before, now {column_letters(int(position))}"
        for form, position in zip(moved["form"], moved["position"], strict=True)
    ]
    return raised("heading_moved", _where(moved), heading=moved["heading"].array, other=other)


def _added(change: _Change, renamed: pd.DataFrame) -> pd.DataFrame:
    is_read = change.new["is_read"].astype(bool)
    added = change.new[~is_read & ~change.new["cell"].isin(renamed["cell"])]
    return raised("heading_added", _where(added), heading=added["heading"].array)


def _dropped(change: _Change) -> pd.DataFrame:
    """Unread columns that are gone; of read ones the layout has told."""
    dropped = change.gone[change.gone["field"].isna()]
    where = _where(dropped).assign(upload=str(change.here["upload"].iat[0]), cell=None)
    return raised("heading_dropped", where, heading=dropped["heading"].array)


# Units


def _changed_units(
    before: pd.DataFrame, now: pd.DataFrame
) -> tuple[pd.DataFrame, list[int], pd.DataFrame]:
    """Findings, the columns of the records that cannot be used, and the profile to keep."""
    known = {_key(row): row for _, row in before[before["field"].notna()].iterrows()}
    kept = now.copy()
    told: list[pd.DataFrame] = []
    unusable: list[int] = []
    for label, row in now[now["field"].notna()].iterrows():
        last = known.get(_key(row))
        if last is None or pd.isna(last["median"]) or _text(row["since"]) != _text(last["since"]):
            continue
        change = None if row["typed"] is None else _unit_change(row, last)
        if change is not None:
            where = _where(now.loc[[label]])
            told.append(raised("unit_changed", where, heading=row["heading"], other=change))
            unusable += row["columns"]
        if change is not None or row["median"] is None:
            kept.loc[label, _USED] = last[_USED]
    return gathered(*told), unusable, kept


def _key(row: pd.Series) -> tuple[str, ...]:
    return tuple(_text(part) for part in row[["crosswalk_table", *_KEY]])


def _text(part: Any) -> str:
    return "" if pd.isna(part) else str(part)


def _unit(row: pd.Series) -> str | None:
    return upload_fields(row["kind"])[row["field"]].spec.unit


def _unit_change(now: pd.Series, last: pd.Series) -> str | None:
    """In words how the numbers of a column changed their unit, or None."""
    typed, before = now["typed"], last["median"]
    notation = now["written_in"]
    if notation != last["written_in"]:  # the crosswalk was changed on purpose
        return None
    if notation == "logmar":  # a scale on which no factor is a change of unit
        is_letters = before <= HIGHEST_LOGMAR < typed
        return "look like letters and no longer like logMAR" if is_letters else None
    if notation == "letters" and typed < FEWEST_LETTERS <= before:
        return "look like logMAR and no longer like letters"
    factors = FACTORS | {f for f in factors_of(_unit(now)) if f >= LEAST_FACTOR}
    larger = [(_apart(typed, f * before), f"are about {f:g} times larger") for f in factors]
    smaller = [(_apart(f * typed, before), f"are about {f:g} times smaller") for f in factors]
    nearest, words = min([*larger, *smaller])
    return words if nearest <= math.log(TOLERANCE) else None


def _apart(one: float, other: float) -> float:
    """How far two numbers are from each other, as the logarithm of their ratio."""
    return abs(math.log(one / other)) if one * other > 0 else math.inf
