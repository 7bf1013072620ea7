"""What a merge would find in one workbook. Writes nothing, and needs no key."""

from __future__ import annotations

import datetime as dt
import hashlib
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from pipelines.errors import StudyError, value_free
from pipelines.study_folder import study_folder
from schemas.crosswalk import read_crosswalk
from schemas.settings_file import nearest
from schemas.study import read_study
from transforms.intake import coded, take_in
from transforms.reading import UnreadableUpload, read_workbook

# Codes are not kept, so any key does.
_KEY = b"foveapool check"


@dataclass(frozen=True)
class Checked:
    """Rows of a workbook, and its findings (sheet, cell, field, rule, action, message, mend)."""

    rows_read: int
    rows_held: int
    findings: pd.DataFrame
    unread: pd.DataFrame


def study_of(file: Path) -> Path:
    """The nearest folder above `file`, or the current one, that holds a study.toml."""
    for folder in (*file.resolve().parents, Path.cwd()):
        if (folder / "study.toml").is_file():
            return folder
    raise StudyError(f"{file}: no study.toml in the folders above it; name one with --study")


def check(file: Path, site: str, study_root: Path | None) -> Checked:
    """Reads one file as an upload of `site`, as of today.

    Raises UnreadableUpload where it would be set aside, and SettingsError or StudyError.
    """
    folder = study_folder(study_root or study_of(file))
    study = read_study(folder.root)
    if site not in study.sites:
        raise StudyError(f"'{site}' is no centre of {folder.root / 'study.toml'}"
                         f"{nearest(site, study.sites)}")  # fmt: skip
    crosswalk = read_crosswalk(folder.root, study, site)
    if not file.is_file():
        raise StudyError(f"{file}: there is no such file")
    with value_free(str(file)):
        content = file.read_bytes()
        key = hashlib.sha256(content).hexdigest()[:8]
        try:
            workbook = read_workbook(file.name, content)
            intake = take_in({key: (file.name, workbook)}, crosswalk, study, _KEY, dt.date.today())
        except UnreadableUpload as unreadable:
            raise StudyError(f"{file}: {unreadable.reason}") from None
        digests = intake.digests.melt()["value"].dropna().unique()
        intake = coded(intake, {digest: f"#{n}" for n, digest in enumerate(digests, start=1)})
    counts = intake.counts.sum()
    findings = intake.tables["findings"]
    return Checked(
        int(counts["rows_read"]), int(counts["rows_held"]), findings, intake.tables["unread"]
    )
