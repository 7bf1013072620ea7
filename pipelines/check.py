"""What a merge would find in one workbook. Writes nothing, and needs no key."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from pipelines.errors import StudyError, value_free
from pipelines.study_folder import study_folder
from pipelines.uploads import is_litter
from schemas.crosswalk import Crosswalk, read_crosswalk
from schemas.settings_file import nearest
from schemas.study import Study, read_study
from transforms.intake import SiteIntake, coded, take_in, with_operations
from transforms.reading import UnreadableUpload, read_workbook

# Codes are not kept, so any key does.
_KEY = b"foveapool check"

_SHOWN = ("findings", "unread")


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

    Raises SettingsError, or StudyError where it would be set aside.
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
        intake = _intake(file, crosswalk, study)
    findings, unread = (
        table[table["upload"] == str(file)] for table in (intake.tables[n] for n in _SHOWN)
    )
    counts = intake.counts.reindex([str(file)], fill_value=0).iloc[0].to_dict()
    in_sheet = findings.assign(row=findings["cell"].str.extract(r"(\d+)")[0].astype("Int64"))
    ordered = in_sheet.sort_values(["sheet", "row", "cell"], na_position="first", kind="stable")
    return Checked(int(counts["rows_read"]), int(counts["rows_held"]), ordered, unread)


def _intake(file: Path, crosswalk: Crosswalk, study: Study) -> SiteIntake:
    workbooks = {}
    for path in (file, *_sent_with(file, crosswalk)):
        try:
            workbooks[str(path)] = (path.name, read_workbook(path.name, path.read_bytes()))
        except UnreadableUpload as unreadable:
            raise StudyError(f"{path}: {unreadable.reason}") from None
    try:
        intake = with_operations(take_in(workbooks, crosswalk, study, _KEY, dt.date.today()))
    except UnreadableUpload as unreadable:
        raise StudyError(f"{file}: {unreadable.reason}") from None
    digests = intake.digests.melt()["value"].dropna().unique()
    return coded(intake, {digest: f"#{n}" for n, digest in enumerate(digests, start=1)})


def _sent_with(file: Path, crosswalk: Crosswalk) -> list[Path]:
    """Files beside this one for tables of the crosswalk that are not in it: a follow-up table
    cannot be checked without the operations."""
    others = [table for table in crosswalk.tables if not table.matches_file(file.name)]
    return [
        path
        for path in sorted(file.resolve().parent.iterdir())
        if path.is_file()
        and not is_litter(path)
        and path.name != file.name
        and any(table.matches_file(path.name) for table in others)
    ]
