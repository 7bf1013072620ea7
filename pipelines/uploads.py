"""What centres have sent: files below uploads/WEEK/SITE, never changed by the tool."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from pipelines.errors import StudyError
from pipelines.iso_week import is_week
from schemas.settings_file import nearest

IGNORED = (".", "~$")


@dataclass(frozen=True)
class UploadFile:
    """One file, its checksum, and the key under which the warehouse knows it."""

    path: Path
    sha256: str
    key: str

    @property
    def name(self) -> str:
        return self.path.name


@dataclass(frozen=True)
class SiteWeek:
    """The files that one centre sent in one week, by name."""

    site: str
    week: str
    files: tuple[UploadFile, ...]

    @property
    def checksums(self) -> frozenset[str]:
        return frozenset(file.sha256 for file in self.files)


def find_uploads(folder: Path, sites: tuple[str, ...]) -> list[SiteWeek]:
    """Everything that was sent, oldest week first, centres in the study's order.

    Raises StudyError for a folder that is no week, or no centre of the study.
    """
    found = []
    for week_folder in _folders(folder):
        if not is_week(week_folder.name):
            raise StudyError(f"{week_folder}: no ISO week; name the folder like 2026-W47")
        by_site = {path.name: path for path in _folders(week_folder)}
        if strange := sorted(set(by_site) - set(sites)):
            raise StudyError(
                f"{by_site[strange[0]]}: no centre of study.toml has this code"
                f"{nearest(strange[0], sites)}; rename the folder or add the centre"
            )
        found += [
            sent
            for site in sites
            if site in by_site and (sent := site_week(by_site[site], site, week_folder.name)).files
        ]
    return found


def site_week(folder: Path, site: str, week: str) -> SiteWeek:
    """The files of one centre's folder, by name.

    Hidden files and the lock files of office suites are none, nor is a second copy of a file.
    """
    paths = sorted(
        path for path in folder.iterdir() if path.is_file() and not path.name.startswith(IGNORED)
    )
    files = {file.sha256: file for file in (_upload_file(p, site, week) for p in reversed(paths))}
    return SiteWeek(site, week, tuple(sorted(files.values(), key=lambda file: file.name)))


def _upload_file(path: Path, site: str, week: str) -> UploadFile:
    with path.open("rb") as file:
        sha256 = hashlib.file_digest(file, "sha256").hexdigest()
    return UploadFile(path, sha256, f"{site}-{week}-{sha256[:8]}")


def _folders(folder: Path) -> list[Path]:
    if not folder.is_dir():
        return []
    return sorted(p for p in folder.iterdir() if p.is_dir() and not p.name.startswith("."))
