"""Sheets, crosswalks and a study for tests, written out as the tables that a test is about."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping

import numpy as np
import pandas as pd

from schemas.crosswalk import Crosswalk
from schemas.study import Study
from transforms.intake import SiteIntake, take_in
from transforms.layout import Layout, lay_out
from transforms.reading import Sheet, Workbook
from transforms.records import Records

LATEST = dt.date(2026, 11, 22)
KEY = b"a key that only tests use"
UPLOAD = "heron-2026-W47-0a1b2c3d"

OPERATIONS = {"patient_id": "No", "eye": "Eye", "operation_date": "Op"}
VISITS = {"patient_id": "No", "eye": "Eye", "visit_date": "Seen"}
COMPLICATIONS = {"patient_id": "No", "eye": "Eye", "complication": "Event"}

STUDY = Study.model_validate(
    {
        "study": {"name": "Heronry refractory hole series", "sites": ["heron", "ibis"]},
        "visits": {"m1": [14, 30, 59], "m3": [60, 90, 135], "m6": [136, 180, 270]},
        "closure": {"primary": "m3"},
    }
)


def sheet(
    *rows: Iterable[object], name: str = "Log", hidden_rows: Iterable[int] = (),
    merged: Iterable[tuple[int, int, int, int]] = (),
    errors: Mapping[tuple[int, int], str] | None = None, uncached: Iterable[tuple[int, int]] = (),
) -> Sheet:  # fmt: skip
    """A sheet whose cells are the given rows, from A1 on."""
    cells = [list(row) for row in rows]
    width = max(map(len, cells), default=0)
    values = np.full((len(cells), width), None, dtype=object)
    for place, row in enumerate(cells):
        values[place, : len(row)] = row
    return Sheet(
        name=name,
        values=pd.DataFrame(
            values, pd.RangeIndex(1, len(cells) + 1), pd.RangeIndex(1, width + 1), dtype=object
        ),
        state="visible",
        hidden_rows=frozenset(hidden_rows),
        hidden_columns=frozenset(),
        merged=tuple(merged),
        errors=errors or {},
        uncached=frozenset(uncached),
    )


def table(row: str, fields: Mapping[str, object], **details: object) -> dict[str, object]:
    """One table of a crosswalk: what a row is, and the heading of each field."""
    return {"row": row, "fields": dict(fields), **details}


def crosswalk(*tables: Mapping[str, object], **habits: object) -> Crosswalk:
    """The crosswalk of the centre heron: English, day first, decimal point, unless told."""
    heron = {"site": "heron", "title": "Heron Pool Eye Clinic", "dates": "day-first"}
    return Crosswalk.model_validate(
        {**heron, "decimal": "point", **habits, "table": [dict(table) for table in tables]}
    )


def sent(*sheets: Sheet, name: str = "cases.xlsx") -> dict[str, tuple[str, Workbook]]:
    """One file of these sheets, as the ingest hands it to the transforms."""
    return {UPLOAD: (name, Workbook(tuple(sheets), "xlsx"))}


def laid_out(
    sheets: Sheet | Iterable[Sheet], *tables: Mapping[str, object], **habits: object
) -> Layout:
    """The layout of one file."""
    of_file = (sheets,) if isinstance(sheets, Sheet) else tuple(sheets)
    return lay_out(sent(*of_file), crosswalk(*tables, **habits))


def taken_in(
    sheets: Sheet | Iterable[Sheet], *tables: Mapping[str, object], study: Study = STUDY,
    **habits: object,
) -> SiteIntake:  # fmt: skip
    """One file, the whole way through `take_in`; keys are still digests."""
    of_file = (sheets,) if isinstance(sheets, Sheet) else tuple(sheets)
    return take_in(sent(*of_file), crosswalk(*tables, **habits), study, KEY, LATEST)


def codes_of(intake: SiteIntake) -> dict[str, str]:
    """A code for every digest, as the linkage would hand them out: P1, O1, S1, ..."""
    return {
        digest: f"{kind[0].upper()}{place}"
        for kind in intake.digests
        for place, digest in enumerate(intake.digests[kind].dropna().unique(), 1)
    }


def cell_values(records: Records, kind: str | None = None) -> dict[tuple[int, str], object]:
    """What each filled cell says, by record and field."""
    cells = records.filled()
    if kind is not None:
        cells = cells[cells["kind"] == kind]
    return {
        (r, f): v for r, f, v in zip(cells["record"], cells["field"], cells["value"], strict=True)
    }


def told(findings: pd.DataFrame) -> list[tuple[str, str | None]]:
    """Rule and cell of every finding, sorted."""
    pairs = zip(findings["rule"], findings["cell"], strict=True)
    return sorted(((rule, cell) for rule, cell in pairs), key=str)
