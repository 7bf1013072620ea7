"""Ingest of one centre's upload of one week: files in, rows and findings out, nothing written."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from pipelines.iso_week import last_day
from pipelines.reading_process import reading_process
from pipelines.uploads import SiteWeek, UploadFile
from schemas.codebook import table_fields
from schemas.crosswalk import Crosswalk
from schemas.study import Study
from transforms.file_names import cleared_file_name
from transforms.intake import SiteIntake, take_in
from transforms.layout.template import effective_crosswalk
from transforms.reading import UnreadableUpload, Workbook

SENT_TOGETHER = "sent together with a file that cannot be taken; send both again"


@dataclass(frozen=True)
class Ingested:
    """What became of one centre's week: an intake, or the reason why there is none.

    `uploads` has the rows of the warehouse's table, `headings` those against which the centre's
    next upload is held.
    """

    site: str
    week: str
    intake: SiteIntake | None
    uploads: pd.DataFrame
    headings: pd.DataFrame | None


class RowsUnaccounted(AssertionError):
    """Rows read are not rows merged plus rows held: a fault of the program, never of the data."""


def ingest(
    sent: SiteWeek, crosswalk: Crosswalk, study: Study, key: bytes, read_with: str,
    before: pd.DataFrame | None = None,
) -> Ingested:  # fmt: skip
    """Takes in what a centre sent in a week. An upload that cannot be read is set aside whole.

    `before` is the table `headings` that the centre's last upload left.
    """
    reasons: dict[str, str] = {}
    workbooks: dict[str, tuple[str, Workbook]] = {}
    for file in sent.files:
        try:
            workbooks[file.key] = (file.name, read_upload(file))
        except UnreadableUpload as unreadable:
            reasons[file.key] = unreadable.reason
    intake = None
    if workbooks and not reasons:  # no workbook: the files went away since the merge was planned
        try:
            read_by = effective_crosswalk(workbooks, crosswalk)
            latest = last_day(sent.week)
            intake = take_in(workbooks, read_by, study, key, latest, before)
        except UnreadableUpload as unreadable:
            reasons = dict.fromkeys(workbooks, unreadable.reason)
    uploads = _upload_rows(sent, crosswalk, workbooks, intake, reasons, read_with)
    headings = before if intake is None else intake.tables["headings"]
    return Ingested(sent.site, sent.week, intake, uploads, headings)


def read_upload(file: UploadFile) -> Workbook:
    """The workbook in a file that is still the one with the checksum. Raises UnreadableUpload."""
    if file.refusal is not None:
        raise UnreadableUpload(file.refusal)
    return reading_process().read(file.path, file.sha256)


def _counts(intake: SiteIntake | None, upload: str) -> dict[str, int]:
    names = ("rows_read", "rows_merged", "rows_held")
    if intake is None or upload not in intake.counts.index:
        return dict.fromkeys(names, 0)
    return {str(name): int(n) for name, n in intake.counts.loc[upload].to_dict().items()}


def _as_read(read: tuple[str, Workbook] | None) -> dict[str, object]:
    """What was found of a file's kind and writing; nothing of one that cannot be read."""
    if read is None:
        return {"sheets": 0}
    workbook = read[1]
    return {
        "sheets": len(workbook.sheets),
        "file_kind": workbook.kind,
        "encoding": workbook.encoding,
        "delimiter": workbook.delimiter,
        "decimal_mark": workbook.decimal,
    }


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
                **_as_read(workbooks.get(file.key)),
                **counts,
                "status": "set_aside" if is_set_aside else "merged",
                "reason": reasons.get(file.key, SENT_TOGETHER) if is_set_aside else None,
            }
        )
    return pd.DataFrame(rows, columns=list(table_fields("uploads")))
