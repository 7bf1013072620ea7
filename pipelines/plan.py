"""What a merge has to do: which centres' uploads of which weeks are not in the warehouse yet."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from pipelines.errors import StudyError
from pipelines.iso_week import is_week
from pipelines.study_folder import StudyFolder
from pipelines.uploads import PASSING, TOO_LATE, SiteWeek, find_uploads
from pipelines.versions import source_digest
from pipelines.warehouse import Warehouse
from schemas.codebook import table_fields
from schemas.crosswalk import Crosswalk, crosswalk_path
from schemas.study import Study, read_study
from schemas.template import site_crosswalk


@dataclass(frozen=True)
class Settings:
    """Everything that a coordinator declares; `read_with` fingerprints what shapes an ingest."""

    study: Study
    crosswalks: Mapping[str, Crosswalk]
    read_with: Mapping[str, str]


@dataclass(frozen=True)
class Plan:
    """Uploads to ingest, oldest week first, and files that came too late for their week.

    `has_news` is true where the warehouse does not know all of them yet.
    """

    pending: tuple[SiteWeek, ...]
    late: tuple[SiteWeek, ...]
    has_news: bool


def read_all_settings(folder: StudyFolder) -> Settings:
    """Study settings and every crosswalk; a centre without one can send filled templates.

    Raises SettingsError.
    """
    study = read_study(folder.root)
    crosswalks = {site: site_crosswalk(folder.root, study, site) for site in study.sites}
    read_with = {site: _fingerprint(folder.root, site) for site in study.sites}
    return Settings(study, crosswalks, read_with)


def _fingerprint(root: Path, site: str) -> str:
    crosswalk = crosswalk_path(root, site)
    parts = [
        source_digest("schemas", "transforms").encode(),
        (root / "study.toml").read_bytes(),
        crosswalk.read_bytes() if crosswalk.exists() else b"",
    ]
    return hashlib.sha256(b"\0".join(parts)).hexdigest()


def make_plan(folder: StudyFolder, settings: Settings, until: str | None) -> Plan:
    """Weeks not yet merged, up to `until`; of the latest merged week what is new or read anew.

    A file that arrives for an earlier week than the latest merged one is late: that week's tables
    are out. Raises StudyError where there is nothing to merge at all, or not in week `until`.
    """
    sent = find_uploads(folder.uploads, settings.study.sites)
    if until is not None and not is_week(until):
        raise StudyError(f"--week: '{until}' is no ISO week; write it as 2026-W47")
    if not sent:
        raise StudyError(
            f"{folder.uploads}: no uploads; put a centre's file into uploads/2026-W47/SITE/"
        )
    weeks = sorted({each.week for each in sent})
    if until is not None and until not in weeks:
        raise StudyError(f"{folder.uploads}: nothing was sent in {until}; there is {weeks[-1]}")
    merged, uploads = _merged(folder)
    latest = merged[-1] if merged else ""
    pending, late = [], []
    for each in sent:
        if until is not None and each.week > until:
            continue
        known = uploads[(uploads["site"] == each.site) & (uploads["week"] == each.week)]
        if each.week < latest:
            late.append(_late_files(each, known))
        elif each.week > latest or not _is_current(each, known, settings):
            pending.append(each)
    late_keys = {file.key for each in late for file in each.files}
    has_news = bool(pending) or not late_keys <= set(uploads["upload_key"])
    return Plan(tuple(pending), tuple(each for each in late if each.files), has_news)


def _late_files(sent: SiteWeek, known: pd.DataFrame) -> SiteWeek:
    """The files that were not there when their week was merged."""
    in_time = set(known.loc[known["reason"] != TOO_LATE, "sha256"])
    files = tuple(file for file in sent.files if file.sha256 not in in_time)
    return SiteWeek(sent.site, sent.week, files)


def _merged(folder: StudyFolder) -> tuple[list[str], pd.DataFrame]:
    """Merged weeks and logged uploads; a store that a merge never finished has none."""
    if folder.warehouse.exists():
        with Warehouse(folder.warehouse, read_only=True) as warehouse:
            if warehouse.is_built():
                return warehouse.weeks(), warehouse.log("uploads")
    return [], pd.DataFrame(columns=list(table_fields("uploads")))


def _is_current(sent: SiteWeek, known: pd.DataFrame, settings: Settings) -> bool:
    return (
        set(known["sha256"]) == sent.checksums
        and set(known["read_with"]) == {settings.read_with[sent.site]}
        and not known["reason"].isin(PASSING).any()
    )
