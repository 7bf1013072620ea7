"""What a merge has to do: which centres' uploads of which weeks are not in the warehouse yet."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from pipelines.errors import StudyError
from pipelines.study_folder import StudyFolder
from pipelines.uploads import SiteWeek, find_uploads
from pipelines.versions import code_version
from pipelines.warehouse import Warehouse
from schemas import codebook
from schemas.crosswalk import Crosswalk, read_crosswalk
from schemas.study import Study, read_study


@dataclass(frozen=True)
class Settings:
    """Everything that a coordinator declares; `read_with` fingerprints what shapes an ingest."""

    study: Study
    crosswalks: Mapping[str, Crosswalk]
    read_with: Mapping[str, str]


@dataclass(frozen=True)
class Plan:
    """Uploads to ingest, oldest week first, and files that came too late for their week."""

    pending: tuple[SiteWeek, ...]
    late: tuple[SiteWeek, ...]


def read_all_settings(folder: StudyFolder) -> Settings:
    """Study settings and every crosswalk. Raises SettingsError."""
    study = read_study(folder.root)
    crosswalks = {site: read_crosswalk(folder.root, study, site) for site in study.sites}
    read_with = {site: _fingerprint(folder.root, site) for site in study.sites}
    return Settings(study, crosswalks, read_with)


def _fingerprint(root: Path, site: str) -> str:
    parts = [
        code_version().encode(),
        codebook.VERSION.encode(),
        (root / "study.toml").read_bytes(),
        (root / "crosswalks" / f"{site}.toml").read_bytes(),
    ]
    return hashlib.sha256(b"\0".join(parts)).hexdigest()


def make_plan(folder: StudyFolder, settings: Settings, until: str | None) -> Plan:
    """Weeks not yet merged, up to `until`; of the latest merged week what is new or read anew.

    A file that arrives for an earlier week than the latest merged one is late: that week's tables
    are out. Raises StudyError where there is nothing to merge at all, or not in week `until`.
    """
    sent = find_uploads(folder.uploads, settings.study.sites)
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
        if each.week > latest or (each.week == latest and not _is_current(each, known, settings)):
            pending.append(each)
        elif each.week < latest and not each.checksums <= set(known["sha256"]):
            late.append(each)
    return Plan(tuple(pending), tuple(late))


def _merged(folder: StudyFolder) -> tuple[list[str], pd.DataFrame]:
    if not folder.warehouse.exists():
        return [], pd.DataFrame(columns=["site", "week", "sha256", "read_with"])
    with Warehouse(folder.warehouse, read_only=True) as warehouse:
        return warehouse.weeks(), warehouse.log("uploads")


def _is_current(sent: SiteWeek, known: pd.DataFrame, settings: Settings) -> bool:
    return set(known["sha256"]) == sent.checksums and set(known["read_with"]) == {
        settings.read_with[sent.site]
    }
