"""Puts the centres together: files by path, for uploads and truth of both weeks."""

from __future__ import annotations

import copy
import csv
import io
from collections.abc import Iterable, Sequence

from sample_inputs.generator.centres import CENTRES
from sample_inputs.generator.centres.centre import Centre
from sample_inputs.generator.defects import Planted
from sample_inputs.generator.files import cut_short, file_bytes
from sample_inputs.generator.identifiers import IDENTIFIER_COLUMNS, identifier_rows
from sample_inputs.generator.records import WEEKS, Record, Series
from sample_inputs.generator.truth import truth_columns, truth_of_week
from sample_inputs.generator.worked_out import TruthRow
from schemas.codebook import RECORD_TABLE

TABLES = tuple(RECORD_TABLE.values())
DEFECT_COLUMNS = ("week", "site", "file", "sheet", "cell", "kind", "rule", "field")


def generate() -> dict[str, bytes]:
    """Every generated file of the study by its path below the study's folder."""
    made: dict[str, bytes] = {}
    defects: list[tuple[str, ...]] = []
    identifiers: list[tuple[str, ...]] = []
    truth: dict[tuple[str, str], list[TruthRow]] = {}
    for centre in CENTRES:
        drawn = centre.draw()
        for week in WEEKS:
            series = _as_of(drawn, week)
            planted = centre.plant(week, series)
            files, by_layout = centre.lay_out(week, series)
            folder = f"uploads/{week}/{centre.site}"
            is_broken = week == centre.breaks_in
            for file in files:
                content = file_bytes(file)
                made[f"{folder}/{file.name}"] = cut_short(content) if is_broken else content
            rows = truth[WEEKS[0], centre.site] if is_broken else None
            truth[week, centre.site] = rows or _truth_rows(centre, series)
            if not is_broken:
                defects += _defect_rows(week, centre, planted + by_layout)
                identifiers += identifier_rows(week, centre, series, files)
    return made | _truth_files(truth, defects, identifiers)


def _as_of(drawn: Series, week: str) -> Series:
    """A copy of the records that the centre has entered by a week."""
    series = copy.deepcopy(drawn)

    def known(records: list[Record]) -> list[Record]:
        return [record for record in records if record.since <= week]

    return Series(known(series.operations), known(series.visits), known(series.complications))


def _truth_rows(centre: Centre, series: Series) -> list[TruthRow]:
    return [
        {"table": table, **row}
        for table, rows in truth_of_week(centre.site, series).items()
        for row in rows
    ]


def _defect_rows(week: str, centre: Centre, planted: list[Planted]) -> list[tuple[str, ...]]:
    rows = []
    for defect in planted:
        where = defect.where
        rows.append((week, centre.site, where.file, where.sheet, where.cell, defect.what,
                     defect.rule, defect.field))  # fmt: skip
    return sorted(rows)


def _truth_files(
    truth: dict[tuple[str, str], list[TruthRow]],
    defects: list[tuple[str, ...]],
    identifiers: list[tuple[str, ...]],
) -> dict[str, bytes]:
    made = {
        "truth/defects.csv": _csv(DEFECT_COLUMNS, defects),
        "truth/identifiers.csv": _csv(IDENTIFIER_COLUMNS, identifiers),
    }
    for week in WEEKS:
        for table in TABLES:
            columns = truth_columns(table)
            rows = [
                [_text(row.get(name)) for name in columns]
                for (of_week, _), rows in truth.items()
                if of_week == week
                for row in rows
                if row["table"] == table
            ]
            made[f"truth/{week}/{table}.csv"] = _csv(columns, rows)
    return made


def _text(value: object) -> str:
    """Empty for missing, `true` and `false`, floats with every digit."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    return repr(value) if isinstance(value, float) else str(value)


def _csv(columns: Sequence[str], rows: Iterable[Sequence[str]]) -> bytes:
    target = io.StringIO(newline="")
    writer = csv.writer(target, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(rows)
    return target.getvalue().encode()
