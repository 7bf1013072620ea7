"""Reads uploads in a process of its own, so that no file can take the memory, the time or the life
of the command.

Archives, XML and old binary formats are read by libraries that ask for memory as a file tells them
to, and that can be led round in circles. The child has a limit on its memory and on its time; when
it dies, one file is set aside, and a new child reads the next.

The child takes a second to start, as pandas does: a command calls `start` before its own imports.
"""

from __future__ import annotations

import atexit
import os
import pickle
import signal
import subprocess
import sys
import threading
from dataclasses import dataclass, field
from multiprocessing import Pipe
from multiprocessing.connection import Connection
from pathlib import Path
from typing import TYPE_CHECKING

from schemas.upload_size import COPY_TABLES_ALONE

if TYPE_CHECKING:
    from transforms.reading import Workbook

# Bounds of one file. The largest table that is read, 2,000,000 cells, takes 0.3 GB beyond the
# imports, and 8 to 9 s on a machine of two cores busy with other work (measured here).
MOST_MEMORY_BYTES = 2 * 1024**3
MOST_SECONDS = 60.0
START_SECONDS = 120

PICKLE_PROTOCOL = 5
NO_MEMORY_STATUS = 77

NEEDS_MEMORY = f"the file needs more memory than a table of patients does; {COPY_TABLES_ALONE}"
NEEDS_TIME = f"the file takes longer to read than a table of patients does; {COPY_TABLES_ALONE}"
ENDS_THE_READER = (
    "the file is damaged so that it cannot be read; open it in the spreadsheet program, save it "
    "under a new name and send it again"
)
# Out of memory, calamine aborts, and an operating system that runs short kills.
_MEMORY_DEATHS = frozenset({NO_MEMORY_STATUS, -signal.SIGABRT, -signal.SIGKILL})


@dataclass(frozen=True)
class Request:
    """A file to read, the checksum that it must have if any, and the seconds there are for it."""

    path: Path
    sha256: str | None
    seconds: float


@dataclass
class _Child:
    process: subprocess.Popen[bytes]
    connection: Connection[Request, bytes]
    _is_ready: bool = False

    def is_alive(self) -> bool:
        return self.process.poll() is None

    def becomes_ready(self) -> bool:
        """Waits until the child has its imports done, which counts for no file."""
        try:
            if not self._is_ready and self.connection.poll(START_SECONDS):
                self._is_ready = bool(self.connection.recv_bytes())
        except (EOFError, ConnectionError):
            return False
        return self._is_ready

    def end(self) -> None:
        """Ends the process, which has nothing to put in order."""
        self.connection.close()
        self.process.kill()
        self.process.wait()


@dataclass
class ReadingProcess:
    """A child process that reads one file at a time, for all threads of this one."""

    seconds: float = MOST_SECONDS
    memory_bytes: int = MOST_MEMORY_BYTES
    _child: _Child | None = None
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def start(self) -> None:
        """Starts the child where there is none, and does not wait for it."""
        with self._lock:
            self._started()

    def end(self) -> None:
        """Ends the child where there is one."""
        with self._lock:
            self._end()

    def read(self, path: Path, sha256: str | None = None) -> Workbook:
        """The workbook in a file, which must have the checksum where one is given.

        Raises UnreadableUpload for what is no plain file, cannot be read within the bounds or has
        another checksum, OSError where the disk fails, StudyError where no process can be started.
        """
        request = Request(Path(os.path.abspath(path)), sha256, self.seconds)  # noqa: PTH100  links stay
        with self._lock:
            answer = self._answer(request)
        if isinstance(answer, Exception):
            raise answer
        return answer

    def _answer(self, request: Request) -> Workbook | Exception:
        from transforms.reading import UnreadableUpload

        child = self._ready()
        is_answered = False
        try:
            child.connection.send(request)
            if not child.connection.poll(request.seconds):
                return UnreadableUpload(NEEDS_TIME)
            answer: Workbook | Exception = pickle.loads(child.connection.recv_bytes())
            is_answered = True
            return answer
        except (EOFError, ConnectionError):
            return UnreadableUpload(_reason_for(child.process.wait()))
        finally:
            # Also where the user stops the command: an answer that still comes is to no question.
            if not is_answered:
                self._end()

    def _ready(self) -> _Child:
        """A child that waits for a request. Raises StudyError where none can be started."""
        if self._child is not None and not self._child.is_alive():
            self._end()  # it died of something else than a file
        child = self._started()
        if child.becomes_ready():
            return child
        self._end()
        from pipelines.errors import StudyError

        raise StudyError(
            "the process that reads uploads did not start; free memory and run the command again"
        )

    def _started(self) -> _Child:
        if self._child is None:
            self._child = _start(self.memory_bytes)
            atexit.register(self.end)
        return self._child

    def _end(self) -> None:
        if self._child is not None:
            self._child.end()
        self._child = None
        atexit.unregister(self.end)


def _start(memory_bytes: int) -> _Child:
    ours, theirs = Pipe()
    process = subprocess.Popen(
        [sys.executable, "-m", "pipelines.reading_child", str(theirs.fileno()), str(memory_bytes)],
        # Where the packages are, which is not where the user stands: that folder may hold anything.
        cwd=Path(__file__).parents[1],
        pass_fds=[theirs.fileno()],
        # calamine tells what it finds wrong on standard error, cells included.
        stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        # Ctrl-C reaches the command alone, which ends the child.
        start_new_session=True,
    )  # fmt: skip
    theirs.close()
    return _Child(process, ours)


def _reason_for(status: int) -> str:
    if status == -signal.SIGXCPU:
        return NEEDS_TIME
    return NEEDS_MEMORY if status in _MEMORY_DEATHS else ENDS_THE_READER


_SHARED = ReadingProcess()


def reading_process() -> ReadingProcess:
    """The reading process of this command, started at its first use or by `start` before."""
    return _SHARED
