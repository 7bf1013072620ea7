"""What centres have sent: files below uploads/WEEK/SITE, never changed by the tool."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from pipelines.errors import StudyError, value_free
from pipelines.iso_week import is_week
from schemas.settings_file import nearest

# What was wrong with a file that came for a week that is over.
TOO_LATE = "arrived after a later week was merged; move it into the folder of the current week"

# Files that desktop and office programs leave behind.
_LITTER_BEGINS = (".", "~$")
_LITTER = frozenset({"thumbs.db", "desktop.ini"})


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

    Raises StudyError for a folder that is no week or no centre of the study, and for a file that
    lies in none.
    """
    found = []
    for week_folder in _folders_in(folder):
        if not is_week(week_folder.name):
            raise StudyError(f"{week_folder}: no ISO week; name the folder like 2026-W47")
        by_site = {path.name: path for path in _folders_in(week_folder)}
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
    """The files of one centre's folder, by name; a second copy of a file is none.

    Raises StudyError for a folder within the folder, DiskTrouble where a file cannot be read.
    """
    with value_free(f"upload of {site}, {week}"):
        paths = _entries(folder)
        if inner := [path for path in paths if path.is_dir()]:
            raise StudyError(f"{inner[0]}: folders here are not read; move the files one level up")
        files = {file.sha256: file for file in (_upload_file(p, site, week) for p in paths[::-1])}
    return SiteWeek(site, week, tuple(sorted(files.values(), key=lambda file: file.name)))


def is_litter(path: Path) -> bool:
    """True for files that programs leave behind, and no one sent."""
    return path.name.startswith(_LITTER_BEGINS) or path.name.casefold() in _LITTER


def _upload_file(path: Path, site: str, week: str) -> UploadFile:
    with path.open("rb") as file:
        sha256 = hashlib.file_digest(file, "sha256").hexdigest()
    return UploadFile(path, sha256, f"{site}-{week}-{sha256[:8]}")


def _entries(folder: Path) -> list[Path]:
    return sorted(path for path in folder.iterdir() if not is_litter(path))


def _folders_in(folder: Path) -> list[Path]:
    """Folders of weeks or centres; a file among them was put a level too high."""
    if not folder.is_dir():
        return []
    entries = _entries(folder)
    if files := [path for path in entries if not path.is_dir()]:
        raise StudyError(
            f"{files[0].parent}: holds a file that belongs to a centre; "
            "move it into uploads/WEEK/SITE/"
        )
    return entries
