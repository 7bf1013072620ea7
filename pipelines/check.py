"""What a merge would find in one workbook. Writes nothing, and needs no key."""

from __future__ import annotations

import datetime as dt
import os
import stat
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from pipelines.errors import StudyError, value_free
from pipelines.file_opening import printable
from pipelines.iso_week import is_week
from pipelines.last_upload import headings_before
from pipelines.reading_process import reading_process
from pipelines.study_folder import StudyFolder, study_folder
from pipelines.uploads import is_litter
from reports.read_as import read_as
from schemas.crosswalk import Crosswalk
from schemas.settings_file import nearest
from schemas.study import Study, read_study
from schemas.template import site_crosswalk
from transforms.examine import Examined, Workbooks, examine, with_cases
from transforms.findings import worded
from transforms.layout.template import effective_crosswalk
from transforms.reading import UnreadableUpload

# Nobody sees the codes, so any key does.
_KEY = b"foveapool check"

# The upload key of the file that is checked; files sent with it have the numbers after it.
_CHECKED = "0"


@dataclass(frozen=True)
class Checked:
    """Rows of a workbook, how it was read in words, and its findings (sheet, cell, field, rule,
    action, message, mend)."""

    read_as: str
    rows_read: int
    rows_held: int
    findings: pd.DataFrame
    unread: pd.DataFrame


def study_of(file: Path) -> Path:
    """The nearest folder above `file`, or the current one, that holds a study.toml."""
    above = file.parent.resolve()  # the file itself may be a link in a circle
    for folder in (above, *above.parents, Path.cwd()):
        if (folder / "study.toml").is_file():
            return folder
    raise StudyError(
        f"{_shown(file)}: no study.toml in the folders above it; name one with --study"
    )


def check(file: Path, site: str, study_root: Path | None) -> Checked:
    """Reads one file as an upload of `site`, as of today.

    Raises SettingsError, or StudyError where it would be set aside.
    """
    folder = study_folder(study_root or study_of(file))
    study = read_study(folder.root)
    if site not in study.sites:
        raise StudyError(f"'{site}' is no centre of {folder.root / 'study.toml'}"
                         f"{nearest(site, study.sites)}")  # fmt: skip
    crosswalk = site_crosswalk(folder.root, study, site)
    if not os.path.lexists(file):
        raise StudyError(f"{_shown(file)}: there is no such file")
    with value_free(_shown(file)):
        before = _headings_before(folder, file, site)
        workbooks = _read(file, crosswalk)
        examined = _examined(file, workbooks, crosswalk, study, before)
    findings = worded(examined.findings[examined.findings["upload"] == _CHECKED])
    in_sheet = findings.assign(row=findings["cell"].str.extract(r"(\d+)")[0].astype("Int64"))
    unread = examined.unread
    book = workbooks[_CHECKED][1]
    return Checked(
        read_as(book.kind, book.encoding, book.delimiter, book.decimal),
        int(examined.rows_read().get(_CHECKED, 0)),
        int(examined.rows_held().get(_CHECKED, 0)),
        in_sheet.sort_values(["sheet", "row", "cell"], na_position="first", kind="stable"),
        unread[unread["upload"] == _CHECKED],
    )


def _headings_before(folder: StudyFolder, file: Path, site: str) -> pd.DataFrame | None:
    """The headings of the upload before this one; none while a merge has the warehouse open."""
    try:
        return headings_before(folder.warehouse, site, _week_of(file))
    except StudyError:
        return None


def _week_of(file: Path) -> str:
    """The week for which a file was sent; for one that lies elsewhere, one after all others."""
    name = file.parent.resolve().parent.name
    return name if is_week(name) else "9999-W52"


def _read(file: Path, crosswalk: Crosswalk) -> Workbooks:
    workbooks = {}
    for number, path in enumerate((file, *_sent_with(file, crosswalk)), start=int(_CHECKED)):
        try:
            workbooks[str(number)] = (printable(path.name), reading_process().read(path))
        except UnreadableUpload as unreadable:
            raise StudyError(f"{_shown(path)}: {unreadable.reason}") from None
    return workbooks


def _examined(
    file: Path, workbooks: Workbooks, crosswalk: Crosswalk, study: Study,
    before: pd.DataFrame | None,
) -> Examined:  # fmt: skip
    try:
        read_by = effective_crosswalk(workbooks, crosswalk)
        return with_cases(examine(workbooks, read_by, study, _KEY, dt.date.today(), before))
    except UnreadableUpload as unreadable:
        raise StudyError(f"{_shown(file)}: {unreadable.reason}") from None


def _sent_with(file: Path, crosswalk: Crosswalk) -> list[Path]:
    """Files beside this one for tables of the crosswalk that are not in it: a follow-up table
    cannot be checked without the operations."""
    others = [table for table in crosswalk.tables if not table.matches_file(file.name)]
    return [
        path
        for path in sorted(file.parent.resolve().iterdir())
        if stat.S_ISREG(path.lstat().st_mode)
        and not is_litter(path)
        and path.name != file.name
        and any(table.matches_file(path.name) for table in others)
    ]


def _shown(path: Path) -> str:
    return printable(str(path))
