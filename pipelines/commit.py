"""Writes ingested uploads into the warehouse, week by week, in one transaction."""

from __future__ import annotations

import json
from collections.abc import Iterable

import pandas as pd

from pipelines.ingest import Ingested
from pipelines.linkage import Linkage
from pipelines.plan import Settings
from pipelines.uploads import TOO_LATE, SiteWeek
from pipelines.versions import code_version
from pipelines.warehouse import HISTORY, Warehouse
from schemas import codebook
from transforms.contract import conformed
from transforms.file_names import cleared_file_name
from transforms.finding_history import advance, gone_cases
from transforms.findings import keyed, raised, worded
from transforms.intake import SiteIntake, coded


def commit_weeks(
    warehouse: Warehouse, linkage: Linkage, ingested: Iterable[Ingested], started: str,
    finished: str, late: pd.DataFrame | None = None,
) -> None:  # fmt: skip
    """Makes the uploads the warehouse's content, oldest week first, and logs late ones.

    A week that was merged before is taken back for the centres that are merged again. New codes
    are saved before the transaction ends: a code that no row uses does no harm.
    """
    by_week: dict[str, list[Ingested]] = {}
    for each in ingested:
        by_week.setdefault(each.week, []).append(each)
    with warehouse.transaction():
        for week in sorted(by_week):
            for each in by_week[week]:
                warehouse.undo_week(each.site, week)
                if each.intake is not None:
                    codes = linkage.codes_for(each.intake.digests)
                    _commit_site(warehouse, coded(each.intake, codes), week, each.uploads)
                warehouse.append("uploads", conformed(each.uploads, "uploads"))
            _log_week(warehouse, week, started, finished)
        if late is not None:
            known = set(warehouse.log("uploads")["upload_key"])
            warehouse.append("uploads", late[~late["upload_key"].isin(known)])


def _commit_site(
    warehouse: Warehouse, intake: SiteIntake, week: str, uploads: pd.DataFrame
) -> None:
    findings_before = warehouse.standing("findings", intake.site)
    missed = _missed_cases(warehouse, intake, findings_before, str(uploads["upload_key"].iat[0]))
    found = pd.concat([intake.tables["findings"], missed], ignore_index=True)
    findings = advance(findings_before, found, week, intake.present)
    tables = {**intake.tables, "findings": conformed(findings, "findings")}
    for table in HISTORY:
        warehouse.replace_site(table, intake.site, week, tables[table])


def _missed_cases(
    warehouse: Warehouse, intake: SiteIntake, findings_before: pd.DataFrame, upload: str
) -> pd.DataFrame:
    merged_before = warehouse.standing("operations", intake.site)
    gone = gone_cases(merged_before, findings_before, intake.present, intake.uncertain)
    missed = worded(raised("case_gone", gone, upload=upload).assign(case_label=gone["case_label"]))
    return keyed(missed.assign(row_key=None), intake.site).assign(site=intake.site)


def _log_week(warehouse: Warehouse, week: str, started: str, finished: str) -> None:
    uploads = warehouse.log("uploads").query("week == @week")
    findings = warehouse.as_of("findings", week)
    counts = {
        **{name: int(uploads[name].sum()) for name in ("rows_read", "rows_merged", "rows_held")},
        "uploads_set_aside": int((uploads["status"] == "set_aside").sum()),
        "findings_open": int((findings["state"] == "open").sum()),
    }
    row = {
        "week": week,
        "started": started,
        "finished": finished,
        "code_version": code_version(),
        "codebook_version": codebook.VERSION,
        "counts": json.dumps(counts),
    }
    warehouse.forget_week(week)
    warehouse.append("weeks", conformed(pd.DataFrame([row]), "weeks"))


def late_uploads(late: Iterable[SiteWeek], settings: Settings) -> pd.DataFrame:
    """Rows of `uploads` for files that came for a week that is over: set aside, nothing read."""
    rows = [
        {
            "upload_key": file.key, "site": each.site, "week": each.week,
            "file_name": cleared_file_name(file.name, settings.crosswalks[each.site].texts()),
            "sha256": file.sha256, "read_with": settings.read_with[each.site], "sheets": 0,
            "rows_read": 0, "rows_merged": 0, "rows_held": 0, "status": "set_aside",
            "reason": TOO_LATE,
        }
        for each in late
        for file in each.files
    ]  # fmt: skip
    return conformed(pd.DataFrame(rows), "uploads")
