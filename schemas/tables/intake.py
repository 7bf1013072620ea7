"""What an upload may hold beside the harmonised values: identifiers and dates.

None of these columns reaches the warehouse as it stands; `transforms.deidentify` turns them into
random codes, days, years and ages.
"""

from __future__ import annotations

from pandera.typing import Series

from schemas import codes
from schemas.field import Required, Table, field


class CaseIdentity(Table):
    """Names the operated eye of a patient on every row of an upload."""

    patient_id: Series[str] = field(
        "Record number", "The centre's own number of the patient; becomes a random code.",
        identifier="direct", required=Required("hold"), upload="patient_id", reads="identity",
    )  # fmt: skip
    eye: Series[str] = field(
        "Eye", "Side of the eye.", codes=codes.EYE, identifier="indirect",
        required=Required("hold"), upload="eye", reads="code",
    )  # fmt: skip


class OperationIntake(CaseIdentity):
    """Upload-only fields of an operation."""

    operation_date: Series[str] = field(
        "Date of operation", "Becomes the year, and day zero of every other date.",
        identifier="direct", required=Required("hold"), upload="operation_date", reads="date",
    )  # fmt: skip
    birth_date: Series[str] = field(
        "Date of birth", "Becomes the age at operation, and is dropped.",
        identifier="direct", upload="birth_date", reads="date",
    )  # fmt: skip
    surgeon: Series[str] = field(
        "Surgeon's name", "Becomes a random code.", identifier="direct", upload="surgeon",
        reads="identity",
    )  # fmt: skip


class VisitIntake(CaseIdentity):
    """Upload-only fields of a visit."""

    visit_date: Series[str] = field(
        "Date of visit", "Becomes days from the operation.", identifier="direct",
        upload="visit_date", reads="date",
    )  # fmt: skip
    visit_time: Series[str] = field(
        "Time of visit",
        "Time after the operation in words, as '3 months' or 'preop'; decides the window of a "
        "visit without a date.", upload="visit_time", reads="visit_time", is_seldom=True,
    )  # fmt: skip


class ComplicationIntake(CaseIdentity):
    """Upload-only fields of a complication."""

    complication_date: Series[str] = field(
        "Date of the complication", "Becomes days from the operation.", identifier="direct",
        upload="complication_date", reads="date",
    )  # fmt: skip
