"""One merge of a study at a time; the operating system frees the lock when a process dies."""

from __future__ import annotations

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from pipelines.errors import StudyError


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Holds the lock. Raises StudyError where another process has it, with its number."""
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    with path.open("a+", encoding="ascii") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            file.seek(0)
            raise StudyError(
                f"{path.parent}: another merge is running (process {file.read().strip()}); "
                "wait until it is done"
            ) from None
        file.truncate(0)
        file.write(str(os.getpid()))
        file.flush()
        yield
