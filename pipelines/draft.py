"""A crosswalk proposed for a new centre from its workbooks. Reads files, writes nothing unasked."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from pipelines.errors import StudyError, value_free
from pipelines.file_opening import printable
from pipelines.languages import known_language
from pipelines.reading_process import reading_process
from pipelines.study_folder import study_folder
from schemas.study import SITE_CODE, read_study
from transforms.draft import USUAL_WINDOWS, Proposal, draft, toml_of
from transforms.reading import UnreadableUpload, Workbook


@dataclass(frozen=True)
class Drafted:
    """A proposal, and the same as the text of a crosswalk."""

    proposal: Proposal
    toml: str

    @property
    def certain(self) -> int:
        """How many lines stand."""
        return sum(self._standing())

    @property
    def uncertain(self) -> int:
        """How many lines are comments."""
        return len(self._standing()) - self.certain

    def _standing(self) -> list[bool]:
        return [each.stands for table in self.proposal.tables for each in table.placed()]


def draft_crosswalk(
    files: Sequence[Path], site: str, study_root: Path | None, language: str | None
) -> Drafted:
    """Drafts a centre's crosswalk from its files, as of today, for the windows of a study.

    Raises SettingsError, or StudyError where a file cannot be read.
    """
    if not SITE_CODE.fullmatch(site):
        raise StudyError(
            f"'{printable(site)}': a centre's code is lower-case letters, digits and _, "
            "from a letter on"
        )
    known = known_language(language) if language else None
    windows = read_study(study_folder(study_root).root).visits if study_root else USUAL_WINDOWS
    workbooks: dict[str, Workbook] = {}
    for file in files:
        name = printable(file.name)
        if name in workbooks:
            raise StudyError(f"{printable(str(file))}: two files have this name; rename one")
        workbooks[name] = _read(file)
    with value_free("draft"):
        proposal = draft(workbooks, site, windows, known, dt.date.today())
        return Drafted(proposal, toml_of(proposal))


def _read(file: Path) -> Workbook:
    shown = printable(str(file))
    if not os.path.lexists(file):
        raise StudyError(f"{shown}: there is no such file")
    try:
        with value_free(shown):
            return reading_process().read(file)
    except UnreadableUpload as unreadable:
        raise StudyError(f"{shown}: {unreadable.reason}") from None


def write_draft(drafted: Drafted, path: Path) -> None:
    """Writes the draft to a new file. Raises StudyError where one is there: it may hold work."""
    shown = printable(str(path))
    with value_free(shown):
        try:
            with path.open("x", encoding="utf-8") as file:
                file.write(drafted.toml)
        except FileExistsError:
            raise StudyError(f"{shown}: is there already; move it, or name another file") from None
