"""Ingest of one centre's upload of one week: files in, rows and findings out, nothing written."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from pipelines.iso_week import last_day
from pipelines.uploads import SiteWeek
from schemas.crosswalk import Crosswalk
from schemas.study import Study
from transforms.file_names import cleared_file_name
from transforms.intake import SiteIntake, take_in, with_operations
from transforms.reading import UnreadableUpload, Workbook, read_workbook

SENT_TOGETHER = "sent together with a file that cannot be taken; send both again"


@dataclass(frozen=True)
class Ingested:
    """What became of one centre's week: an intake, or the reason why there is none.

    `uploads` has the rows of the warehouse's table.
    """

    site: str
    week: str
    intake: SiteIntake | None
    uploads: pd.DataFrame


class RowsUnaccounted(AssertionError):
    """Rows read are not rows merged plus rows held: a fault of the program, never of the data."""


def ingest(
    sent: SiteWeek, crosswalk: Crosswalk, study: Study, key: bytes, read_with: str
) -> Ingested:
    """Takes in what a centre sent in a week. An upload that cannot be read is set aside whole."""
    reasons: dict[str, str] = {}
    workbooks: dict[str, tuple[str, Workbook]] = {}
    for file in sent.files:
        try:
            workbooks[file.key] = (file.name, read_workbook(file.name, file.path.read_bytes()))
        except UnreadableUpload as unreadable:
            reasons[file.key] = unreadable.reason
    intake = None
    if not reasons:
        try:
            intake = with_operations(take_in(workbooks, crosswalk, study, key, last_day(sent.week)))
        except UnreadableUpload as unreadable:
            reasons = dict.fromkeys(workbooks, unreadable.reason)
    uploads = _upload_rows(sent, crosswalk, workbooks, intake, reasons, read_with)
    return Ingested(sent.site, sent.week, intake, uploads)


def _counts(intake: SiteIntake | None, upload: str) -> dict[str, int]:
    names = ("rows_read", "rows_merged", "rows_held")
    if intake is None or upload not in intake.counts.index:
        return dict.fromkeys(names, 0)
    return {str(name): int(n) for name, n in intake.counts.loc[upload].to_dict().items()}


def _upload_rows(
    sent: SiteWeek, crosswalk: Crosswalk, workbooks: dict[str, tuple[str, Workbook]],
    intake: SiteIntake | None, reasons: dict[str, str], read_with: str,
) -> pd.DataFrame:  # fmt: skip
    rows = []
    for file in sent.files:
        counts = _counts(intake, file.key)
        if counts["rows_read"] != counts["rows_merged"] + counts["rows_held"]:
            raise RowsUnaccounted(file.key)
        is_set_aside = intake is None
        rows.append(
            {
                "upload_key": file.key,
                "site": sent.site,
                "week": sent.week,
                "file_name": cleared_file_name(file.name, crosswalk.texts()),
                "sha256": file.sha256,
                "read_with": read_with,
                "sheets": len(workbooks[file.key][1].sheets) if file.key in workbooks else 0,
                **counts,
                "status": "set_aside" if is_set_aside else "merged",
                "reason": reasons.get(file.key, SENT_TOGETHER) if is_set_aside else None,
            }
        )
    return pd.DataFrame(rows)
