"""Judges one centre's upload of one week: all that is wrong with it, nothing yet taken in."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import pandas as pd

from schemas.crosswalk import Crosswalk
from schemas.study import Study
from transforms.closure_checks import closure_findings
from transforms.deidentify import deidentify, identity_digests
from transforms.drift import Drift, hold_against
from transforms.findings import gathered, held_records
from transforms.harmonise.build import Harmonised, harmonise
from transforms.layout import lay_out
from transforms.reading import UnreadableUpload, Workbook
from transforms.validate.cases import resolve_cases
from transforms.validate.identity import read_identities
from transforms.validate.visit_times import with_visit_times
from transforms.visit_windows import assign_windows

Workbooks = dict[str, tuple[str, Workbook]]


@dataclass(frozen=True)
class Examined:
    """An upload as read, with what may be known of its persons, its harmonised values and findings.

    `persons` is the frame of `deidentify` with each record's kind, and with every record held that
    a finding holds; `windows` the visit of each record; `findings` name record or upload.
    """

    site: str
    drift: Drift
    persons: pd.DataFrame
    digests: pd.DataFrame
    harmonised: Harmonised
    windows: pd.Series
    findings: pd.DataFrame

    @property
    def unread(self) -> pd.DataFrame:
        """Sheets and columns that no crosswalk names."""
        return self.drift.layout.unread

    def rows_read(self) -> pd.Series:
        """Number of records of each upload."""
        return self.drift.layout.records.index["upload"].value_counts()

    def rows_held(self) -> pd.Series:
        """Number of records of each upload that are kept out of the pool."""
        upload = self.drift.layout.records.index["upload"]
        return upload[self.persons["is_held"]].value_counts()


def examine(
    workbooks: Workbooks, crosswalk: Crosswalk, study: Study, key: bytes, latest: dt.date,
    before: pd.DataFrame | None = None,
) -> Examined:  # fmt: skip
    """Reads, validates, de-identifies and harmonises the files that a centre sent in one week.

    `workbooks` gives upload key to (file name, workbook); `key` is the study's pseudonym key and
    `latest` the last day of the week. `before` is the table `headings` that the centre's last
    upload left, None for a first one. Raises UnreadableUpload where a table cannot be found.
    """
    drift = hold_against(before, lay_out(workbooks, crosswalk))
    records, untimed = with_visit_times(drift.layout.records, crosswalk, study.visits)
    identities, unidentified = read_identities(records, crosswalk, latest)
    told = gathered(drift.layout.findings, untimed, unidentified)
    cases, unresolved = resolve_cases(records, identities, told, latest)
    digests = identity_digests(cases, crosswalk.site, key)
    persons = deidentify(cases, digests, study.disclosure.age_top)
    harmonised = harmonise(
        records, persons, crosswalk, study.acuity.off_chart, study.disclosure.age_top
    )
    windows, undecided = assign_windows(records, persons, study.visits)
    findings = gathered(told, unresolved, undecided, harmonised.findings)
    persons["is_held"] |= persons.index.isin(held_records(findings))
    persons["kind"] = records.index["kind"]
    of_visits = harmonised.values["visit"]
    gradings = closure_findings(records, persons, of_visits, windows, study.visits)
    findings = gathered(findings, gradings)
    findings["upload"] = findings["upload"].fillna(findings["record"].map(records.index["upload"]))
    return Examined(crosswalk.site, drift, persons, digests, harmonised, windows, findings)


def with_cases(examined: Examined) -> Examined:
    """The upload, if it knows a single case. Raises UnreadableUpload where it does not: that is a
    mistake, not a centre that lost all its patients."""
    if examined.persons["patient_key"].notna().any():
        return examined
    raise UnreadableUpload("no row is an operation; send the whole spreadsheet as it stands")
