"""Errors that a user can cause: one line that says what is wrong, where, and how to mend it."""

from __future__ import annotations

import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from schemas.settings_file import SettingsError


class StudyError(Exception):
    """Something about the study's folder, store or uploads keeps a command from going on."""


class DiskTrouble(StudyError):
    """The operating system refused a file; on a network disk a second try may help."""


class ProgramFault(Exception):
    """A fault of the program, told by type and place alone: its own text may hold values."""


@contextmanager
def value_free(where: str) -> Iterator[None]:
    """Lets no exception out whose text could repeat what a cell or a file's name says.

    Prefect keeps the text of exceptions in its database, and terminals keep it in their history.
    """
    try:
        yield
    except (StudyError, SettingsError, ProgramFault):
        raise
    except OSError as error:
        raise DiskTrouble(f"{where}: {error.strerror or type(error).__name__}") from None
    except Exception as error:  # noqa: BLE001  any text could hold a value
        place = traceback.extract_tb(error.__traceback__)[-1]
        raise ProgramFault(
            f"{where}: {type(error).__name__} in {Path(place.filename).name}, line {place.lineno}"
        ) from None
