"""One centre's upload of one week, the whole way from workbooks to the warehouse's rows."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace

import pandas as pd

from schemas.codebook import RECORD_KINDS, RECORD_TABLE, RecordKind
from schemas.crosswalk import Crosswalk
from schemas.study import Study
from transforms.closure import derive_closure
from transforms.contract import conformed
from transforms.deidentify import with_codes
from transforms.examine import Examined, Workbooks, examine, with_cases
from transforms.findings import keyed, worded
from transforms.harmonise.build import Harmonised
from transforms.provenance import cells_behind


@dataclass(frozen=True)
class SiteIntake:
    """What one upload gives the warehouse.

    `tables` holds operations, visits, complications, cells, findings, unread and headings; keys
    are digests until `coded` puts the linkage's random codes in their place. `counts` gives for
    each upload key the records read, merged and held; `present` the patients and operations that
    are in the upload, held ones included, by digest or code; `uncertain` the patients of whom an
    operation's eye is not known.
    """

    site: str
    tables: dict[str, pd.DataFrame]
    counts: pd.DataFrame
    digests: pd.DataFrame
    present: frozenset[str]
    uncertain: frozenset[str]


def take_in(
    workbooks: Workbooks, crosswalk: Crosswalk, study: Study, key: bytes, latest: dt.date,
    before: pd.DataFrame | None = None,
) -> SiteIntake:  # fmt: skip
    """The rows and findings of the files that a centre sent in one week, see `examine`.

    Raises UnreadableUpload where a table cannot be found, or no row is a case.
    """
    examined = with_cases(examine(workbooks, crosswalk, study, key, latest, before))
    return _intake_of(examined, study)


def _intake_of(examined: Examined, study: Study) -> SiteIntake:
    """The rows and findings of an upload that was examined."""
    rows, deciding = _rows(
        examined.persons, examined.harmonised, examined.windows, examined.site, study
    )
    records = examined.drift.layout.records
    cells = cells_behind(records, rows, examined.harmonised.readings, deciding)
    return _site_intake(examined, cells, rows)


def _rows(
    persons: pd.DataFrame, harmonised: Harmonised, windows: pd.Series, site: str, study: Study
) -> tuple[dict[RecordKind, pd.DataFrame], dict[str, pd.Series]]:
    """Rows by kind, held records left out, labelled by record, with `key_suffix` and closure; and
    the visits that decided each column of closure."""
    kept = persons[~persons["is_held"]].drop(columns="is_held")
    rows: dict[RecordKind, pd.DataFrame] = {}
    for kind in RECORD_KINDS:
        of_kind = kept[kept["kind"] == kind]
        values = harmonised.values[kind].reindex(of_kind.index)
        own = [name for name in of_kind if name not in values]
        rows[kind] = pd.concat([of_kind[own], values], axis=1).assign(site=site)
    rows["visit"] = _keyed_visits(rows["visit"].assign(visit=windows))
    rows["complication"] = _keyed_complications(rows["complication"])
    rows["operation"], deciding = derive_closure(
        rows["operation"].assign(key_suffix=""), rows["visit"], study.closure.primary, study.visits
    )
    return rows, deciding


def _keyed_visits(visits: pd.DataFrame) -> pd.DataFrame:
    """A visit's key is its operation's, and its day, or its window where it has no date."""
    day, window = visits["day"].astype("string"), visits["visit"].astype("string")
    closure = visits.get("closure", pd.Series(dtype="str")).reindex(visits.index)
    suffix = (".d" + day).fillna("." + window).astype("str")
    return visits.assign(key_suffix=suffix, closure=closure)


def _keyed_complications(events: pd.DataFrame) -> pd.DataFrame:
    """A complication's key is its operation's, its term and its day, so that rows may move."""
    if events.empty:
        return events.assign(key_suffix=pd.Series(dtype="str"))
    term = events.get("term", pd.Series(dtype="string")).reindex(events.index).astype("string")
    suffix = "." + term + (".d" + events["day"].astype("string")).fillna("")
    again = suffix.groupby([events["operation_key"], suffix]).cumcount()
    repeated = (".n" + (again + 1).astype("string")).where(again > 0, "")
    return events.assign(key_suffix=(suffix + repeated).astype("str"))


def _site_intake(
    examined: Examined, cells: pd.DataFrame, rows: dict[RecordKind, pd.DataFrame]
) -> SiteIntake:
    site, persons, findings = examined.site, examined.persons, examined.findings
    index = examined.drift.layout.records.index
    keys = pd.concat([frame[["operation_key", "key_suffix"]] for frame in rows.values()])
    cells = cells.merge(keys, left_on="record", right_index=True).assign(
        upload=lambda c: index["upload"].reindex(c["record"]).to_numpy()
    )
    labelled = findings.assign(
        case_label=persons["case_label"].reindex(findings["record"]).to_numpy(),
        operation_key=persons["operation_key"].reindex(findings["record"]).to_numpy(),
        key_suffix=keys["key_suffix"].reindex(findings["record"]).to_numpy(),
    )
    is_operation = persons["kind"] == "operation"
    eyeless = is_operation & persons["eye"].isna()
    return SiteIntake(
        site,
        {
            **{RECORD_TABLE[kind]: frame for kind, frame in rows.items()},
            "cells": cells,
            "findings": worded(labelled),
            "unread": examined.unread.assign(site=site),
            "headings": examined.drift.headings.assign(site=site),
        },
        _counts(examined, rows),
        examined.digests,
        frozenset(persons["operation_key"].dropna()) | frozenset(persons["patient_key"].dropna()),
        frozenset(persons.loc[eyeless, "patient_key"].dropna()),
    )


def _counts(examined: Examined, rows: dict[RecordKind, pd.DataFrame]) -> pd.DataFrame:
    """Rows by upload: read as laid out, held as decided, merged as they go to the warehouse.

    The three are counted apart, so that a row lost on the way shows.
    """
    upload = examined.drift.layout.records.index["upload"]
    merged = pd.concat([frame.index.to_series() for frame in rows.values()]).map(upload)
    counts = {
        "rows_read": examined.rows_read(),
        "rows_held": examined.rows_held(),
        "rows_merged": merged.value_counts(),
    }
    return pd.DataFrame(counts).fillna(0).astype(int)


def coded(intake: SiteIntake, codes: dict[str, str]) -> SiteIntake:
    """The intake with random codes for digests, its tables in the codebook's columns and types."""
    tables = {name: with_codes(frame, codes) for name, frame in intake.tables.items()}
    for kind, table in RECORD_TABLE.items():
        rows = tables[table]
        tables[table] = conformed(
            rows.drop(columns="operation_key").rename(columns={"row_key": "operation_key"})
            if kind == "operation"
            else rows.rename(columns={"row_key": f"{kind}_key"}),
            table,
        )
    cells = tables["cells"].rename(columns={"row_key": "key", "column": "field"})
    tables["cells"] = conformed(cells, "cells")
    tables["findings"] = keyed(tables["findings"], intake.site).assign(site=intake.site)
    for name in ("unread", "headings"):
        tables[name] = conformed(tables[name], name)
    return replace(
        intake,
        tables=tables,
        present=frozenset(codes[digest] for digest in intake.present),
        uncertain=frozenset(codes[digest] for digest in intake.uncertain),
    )
