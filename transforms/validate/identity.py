"""Who and when: reads record number, eye, surgeon and dates of every record."""

from __future__ import annotations

import datetime as dt

import pandas as pd

from schemas.codebook import RECORD_KINDS, UploadField, table_fields, upload_fields
from schemas.crosswalk import Crosswalk
from schemas.vocabulary import vocabulary
from transforms.findings import gathered, none_raised, raised
from transforms.reading import ERROR_VALUES, cell_text
from transforms.records import UNSTORED_FORMULA, Records
from transforms.validate.dates import DateOf, read_dates
from transforms.validate.record_numbers import match_respelled

_YEARS = table_fields("operations")["operation_year"].hard
assert _YEARS is not None
EARLIEST_OPERATION = pd.Timestamp(int(_YEARS.low), 1, 1)

_MISSING_RULE = {
    "patient_id": "record_number_missing",
    "eye": "eye_missing",
    "operation_date": "operation_date_missing",
    "complication": "complication_unreadable",
}
# The rule for a date that cannot be read. Dates of visits are told by `validate.cases`, where it
# is known whether the row can do without.
_UNREADABLE_RULE = {
    "operation_date": "operation_date_unreadable",
    "birth_date": "date_unreadable",
    "complication_date": "date_unreadable",
}


def read_identities(
    records: Records, crosswalk: Crosswalk, latest: dt.date
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Identity of every record, and findings where it cannot be told.

    Returns a frame labelled by record with columns patient_id, eye, surgeon (texts, without case)
    and operation_date, visit_date, birth_date, complication_date (dates), empty where missing or
    unreadable. `latest` is the last day of the upload's week: no date can be later.
    """
    identities = pd.DataFrame(index=records.index.index)
    findings = []
    for name, reads in _identity_fields().items():
        cells = records.field(name)
        if reads == "date":
            of: DateOf = "birth" if name == "birth_date" else "event"
            values = read_dates(cells["value"], crosswalk.dates, latest, of=of)
            findings.append(_unreadable_dates(name, cells, values))
        elif name == "eye":
            values = _read_eyes(records, cells, crosswalk)
            findings.append(raised("eye_unreadable", _where(cells[values.isna()])))
        else:
            values = cells["value"].map(_identity_text)
            rule = _MISSING_RULE.get(name, "error_value")
            findings.append(raised(rule, _where(cells[values.isna()])))
        values = values.reindex(identities.index)
        identities[name] = values if reads == "date" else values.astype("str")
    findings += [_missing(records, name, rule) for name, rule in _MISSING_RULE.items()]
    findings.append(_impossible_operations(records, identities, latest))
    identities, respelled = match_respelled(records, identities)
    return identities, gathered(*findings, respelled)


def _identity_fields() -> dict[str, str]:
    """Upload-only fields of all kinds that say who or when, and how each is read."""
    found: dict[str, UploadField] = {}
    for kind in RECORD_KINDS:
        found |= {name: f for name, f in upload_fields(kind).items() if f.column is None}
    reads = {name: str(f.spec.reads) for name, f in found.items()}
    return {name: how for name, how in reads.items() if how != "visit_time"}


def _read_eyes(records: Records, cells: pd.DataFrame, crosswalk: Crosswalk) -> pd.Series:
    words = vocabulary("eye")
    codes = [
        records.columns[column].source.own_code(cell_text(value))
        or words.code(cell_text(value), crosswalk.language)
        for value, column in zip(cells["value"], cells["column"], strict=True)
    ]
    return pd.Series(codes, index=cells.index, dtype="str")


def _identity_text(value: object) -> str | None:
    """A record number or name as it is compared: without case, single spaces, no error value."""
    text = " ".join(cell_text(value).split()).casefold()
    return None if text.upper() in (*ERROR_VALUES, UNSTORED_FORMULA) else text


def _where(cells: pd.DataFrame) -> pd.DataFrame:
    return cells.reset_index()[["record", "kind", "field", "sheet", "cell"]]


def _unreadable_dates(name: str, cells: pd.DataFrame, values: pd.Series) -> pd.DataFrame:
    if name not in _UNREADABLE_RULE:
        return none_raised()
    return raised(_UNREADABLE_RULE[name], _where(cells[values.isna()]))


def _missing(records: Records, name: str, rule: str) -> pd.DataFrame:
    cells = records.cells
    return raised(rule, cells[(cells["field"] == name) & cells["value"].isna()])


def _impossible_operations(
    records: Records, identities: pd.DataFrame, latest: dt.date
) -> pd.DataFrame:
    """Operations in the future or before these techniques existed lose their date."""
    dates = identities["operation_date"]
    impossible = dates.index[(dates > pd.Timestamp(latest)) | (dates < EARLIEST_OPERATION)]
    identities.loc[impossible, "operation_date"] = pd.NaT
    cells = records.field("operation_date")
    return raised("operation_date_impossible", _where(cells[cells.index.isin(impossible)]))
