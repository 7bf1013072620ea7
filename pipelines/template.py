"""Writes the blank upload workbook of a study."""

from __future__ import annotations

from pathlib import Path

from pipelines.errors import StudyError, value_free
from pipelines.file_opening import printable
from pipelines.languages import known_language
from reports.template import template_workbook
from schemas.codes import NOTATION
from schemas.settings_file import nearest
from schemas.study import read_study


def write_template(study_root: Path, language: str, notation: str, to: Path | None) -> Path:
    """Writes foveapool_LANGUAGE.xlsx into `to`, a folder, or the file `to`; returns its path.

    Raises SettingsError, or StudyError for an unknown language or notation, or where the file is
    there already: a filled workbook must not be lost.
    """
    study = read_study(study_root)
    known = known_language(language)
    if notation not in NOTATION:
        raise StudyError(
            f"--acuity: unknown notation '{notation}'{nearest(notation, tuple(NOTATION))}; "
            f"one of {', '.join(NOTATION)}"
        )
    path = _target(to or Path(), f"foveapool_{known}.xlsx")
    content = template_workbook(study.study.name, known, notation)
    shown = printable(str(path))
    with value_free(shown):
        try:
            with path.open("xb") as file:
                file.write(content)
        except FileExistsError:
            raise StudyError(
                f"{shown}: there is such a file already; move it, or name another place with --to"
            ) from None
    return path


def _target(to: Path, name: str) -> Path:
    path = to / name if to.is_dir() else to
    if path.suffix.casefold() != ".xlsx":
        raise StudyError(
            f"{printable(str(to))}: no folder and no name of an .xlsx file; name one with --to"
        )
    if not path.parent.is_dir():
        raise StudyError(f"{printable(str(path.parent))}: there is no such folder; make it first")
    return path
