"""Persons become random codes, dates become days and years, birth dates become ages.

Nothing after this module sees a record number, a name or a date.
"""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Mapping

import pandas as pd

SEPARATOR = "\x1f"

# Columns in which `with_codes` puts a random code for a digest.
CODED_COLUMNS = ("patient_key", "operation_key", "surgeon_key", "case_label")


def digest(key: bytes, *parts: str) -> str:
    """Keyed hash under which a code is looked up: HMAC-SHA256 (RFC 2104, FIPS 180-4), hex."""
    message = SEPARATOR.join(parts).encode()
    return hmac.new(key, message, hashlib.sha256).hexdigest()


def identity_digests(cases: pd.DataFrame, site: str, key: bytes) -> pd.DataFrame:
    """Digests of the persons and events of every record of one centre's upload.

    Takes patient_id, eye, number and surgeon of `resolve_cases`; returns columns patient,
    operation and surgeon, labelled as `cases`, empty where the identity is not known. An operation
    is its eye's first, second, ...: mending its date changes no code.
    """
    patients = cases["patient_id"]
    operations = (
        patients + SEPARATOR + cases["eye"] + SEPARATOR + cases["number"].astype("string")
    ).astype("str")
    identities = {"patient": patients, "operation": operations, "surgeon": cases["surgeon"]}
    return pd.DataFrame(
        {
            kind: texts.map(
                {text: digest(key, kind, site, text) for text in texts.dropna().unique()}
            ).astype("str")
            for kind, texts in identities.items()
        },
        index=cases.index,
    )


def deidentify(cases: pd.DataFrame, digests: pd.DataFrame, age_top: int) -> pd.DataFrame:
    """What may be known of every record, labelled as `cases`.

    Columns patient_key, operation_key, surgeon_key (digests, for which `with_codes` puts the
    random codes), case_label (the operation's, else the patient's), eye, eye_operation_number,
    surgeon_case_number, from_first (days since the eye's first operation), operation_year, day (of
    the visit or complication), age_years (completed, cut at `age_top`) and is_held.
    """
    event = cases["visit_date"].fillna(cases["complication_date"])
    ages = _completed_years(cases["birth_date"], cases["operation_date"])
    return pd.DataFrame(
        {
            **{f"{kind}_key": digests[kind] for kind in digests.columns},
            "case_label": digests["operation"].fillna(digests["patient"]),
            "eye": cases["eye"],
            "eye_operation_number": cases["number"],
            "surgeon_case_number": _case_numbers(cases),
            "from_first": _days_from_first(cases),
            "operation_year": cases["operation_date"].dt.year.astype("Int64"),
            "day": (event - cases["operation_date"]).dt.days.astype("Int64"),
            "age_years": ages.clip(upper=age_top),
            "is_held": cases["is_held"],
        },
        index=cases.index,
    )


def with_codes(frame: pd.DataFrame, codes: Mapping[str, str]) -> pd.DataFrame:
    """`frame` with the random code of every digest; row keys hang on the operation's code."""
    named = [name for name in CODED_COLUMNS if name in frame]
    coded = frame.assign(**{name: frame[name].map(codes).astype("str") for name in named})
    if "key_suffix" not in coded:
        return coded
    is_row = coded["key_suffix"].notna()
    key = (coded["operation_key"] + coded["key_suffix"].astype("str")).where(is_row)
    return coded.drop(columns="key_suffix").assign(row_key=key)


def _completed_years(start: pd.Series, end: pd.Series) -> pd.Series:
    """Whole years from one date to another."""
    had_birthday = (end.dt.month * 100 + end.dt.day) >= (start.dt.month * 100 + start.dt.day)
    years: pd.Series = end.dt.year - start.dt.year - (~had_birthday).astype(int)
    return years.astype("Int64")


def _days_from_first(cases: pd.DataFrame) -> pd.Series:
    """Days of each operation since the first one of its eye that is not held."""
    dates = cases["operation_date"].where((cases["operation"] == cases.index) & ~cases["is_held"])
    first = dates.groupby([cases["patient_id"], cases["eye"]]).transform("min")
    return (dates - first).dt.days.astype("Int64")


def _case_numbers(cases: pd.DataFrame) -> pd.Series:
    """Place of each operation in its surgeon's series, by date, then by order in the upload."""
    is_counted = (cases["operation"] == cases.index) & ~cases["is_held"] & cases["surgeon"].notna()
    counted = cases[is_counted].sort_values("operation_date", kind="stable")
    numbers = counted.groupby("surgeon").cumcount() + 1
    return numbers.reindex(cases.index).astype("Int64")
