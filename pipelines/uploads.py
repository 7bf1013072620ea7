"""What centres have sent: files below uploads/WEEK/SITE, never changed by the tool."""

from __future__ import annotations

import hashlib
import os
import stat
from dataclasses import dataclass
from pathlib import Path

from pipelines.errors import StudyError, value_free
from pipelines.file_opening import CHANGED, GONE, NotOpened, opened, printable
from pipelines.iso_week import is_week
from schemas.settings_file import nearest

# What was wrong with a file that came for a week that is over.
TOO_LATE = "arrived after a later week was merged; move it into the folder of the current week"

# What is wrong with a file now may not be at the next merge, though its checksum be the same.
PASSING = frozenset({CHANGED, GONE})

_WEEK_IS_LINK = (
    "the week's folder is a symbolic link, and links are not followed; put the folder itself in "
    "its place"
)
_SITE_IS_LINK = (
    "the centre's folder is a symbolic link, and links are not followed; put the folder itself in "
    "its place"
)
_IS_NO_FOLDER = "there is a pipe, a socket or a device in place of a folder; remove it"

# Files that desktop and office programs leave behind.
_LITTER_BEGINS = (".", "~$")
_LITTER = frozenset({"thumbs.db", "desktop.ini"})


@dataclass(frozen=True)
class UploadFile:
    """One file, its checksum, and the key under which the warehouse knows it.

    Where `refusal` says why it is not opened, the checksum is that of the refusal and the name.
    """

    path: Path
    sha256: str
    key: str
    refusal: str | None = None

    @property
    def name(self) -> str:
        return printable(self.path.name)


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
    return [
        sent
        for week_folder in _folders_in(folder)
        for site in _sites_in(week_folder, sites)
        if (sent := site_week(week_folder / site, site, week_folder.name)).files
    ]


def site_week(folder: Path, site: str, week: str) -> SiteWeek:
    """The files of one centre's folder, by name; a second copy of a file is none.

    What is no plain file is among them with the reason why it is not opened. Raises DiskTrouble
    where a file cannot be read.
    """
    with value_free(f"upload of {site}, {week}"):
        for place, is_link in ((folder.parent, _WEEK_IS_LINK), (folder, _SITE_IS_LINK)):
            if refusal := _refusal_of_folder(place, is_link):
                return SiteWeek(site, week, (_refused(place, site, week, refusal),))
        found = [_upload_file(path, site, week) for path in reversed(_entries(folder))]
        files = {file.sha256: file for file in found if file is not None}
    return SiteWeek(site, week, tuple(sorted(files.values(), key=lambda file: file.path.name)))


def is_litter(path: Path) -> bool:
    """True for files that programs leave behind, and no one sent."""
    return path.name.startswith(_LITTER_BEGINS) or path.name.casefold() in _LITTER


def _sites_in(week_folder: Path, sites: tuple[str, ...]) -> list[str]:
    """The centres that have something in a week's folder; all, where it is not looked into."""
    if not is_week(week_folder.name):
        raise StudyError(f"{_shown(week_folder)}: no ISO week; name the folder like 2026-W47")
    if _refusal_of_folder(week_folder, _WEEK_IS_LINK):
        return list(sites)
    by_site = {path.name: path for path in _folders_in(week_folder)}
    if strange := sorted(set(by_site) - set(sites)):
        raise StudyError(
            f"{_shown(by_site[strange[0]])}: no centre of study.toml has this code"
            f"{nearest(printable(strange[0]), sites)}; rename the folder or add the centre"
        )
    return [site for site in sites if site in by_site]


def _upload_file(path: Path, site: str, week: str) -> UploadFile | None:
    """The file at `path`; none where it went away since the folder was listed."""
    try:
        with opened(path) as file:
            sha256 = hashlib.file_digest(file, "sha256").hexdigest()
    except NotOpened as refused:
        return None if refused.reason == GONE else _refused(path, site, week, refused.reason)
    return UploadFile(path, sha256, _key(site, week, sha256))


def _refused(path: Path, site: str, week: str, reason: str) -> UploadFile:
    sha256 = hashlib.sha256(reason.encode() + b"\0" + os.fsencode(path.name)).hexdigest()
    return UploadFile(path, sha256, _key(site, week, sha256), reason)


def _key(site: str, week: str, sha256: str) -> str:
    return f"{site}-{week}-{sha256[:8]}"


def _refusal_of_folder(folder: Path, is_link: str) -> str | None:
    """Why nothing below `folder` is looked at, if so."""
    mode = folder.lstat().st_mode
    if stat.S_ISLNK(mode):
        return is_link
    return None if stat.S_ISDIR(mode) else _IS_NO_FOLDER


def _entries(folder: Path) -> list[Path]:
    return sorted(path for path in folder.iterdir() if not is_litter(path))


def _folders_in(folder: Path) -> list[Path]:
    """What has the place of weeks' or centres' folders; a file there was put a level too high."""
    if not folder.is_dir():
        return []
    entries = _entries(folder)
    if files := [path for path in entries if stat.S_ISREG(path.lstat().st_mode)]:
        raise StudyError(
            f"{_shown(files[0].parent)}: holds a file that belongs to a centre; "
            "move it into uploads/WEEK/SITE/"
        )
    return entries


def _shown(path: Path) -> str:
    return printable(str(path))
