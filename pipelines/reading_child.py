"""The program of the process that reads uploads: `python -m pipelines.reading_child N BYTES`.

N is the descriptor of its end of a pipe, BYTES the memory it may take beyond what it has after its
imports. It answers requests until the pipe closes. `reading_process` starts it and trusts its
answers; nothing else may be at the other end.
"""

from __future__ import annotations

import hashlib
import math
import os
import pickle
import resource
import sys
import time
from multiprocessing.connection import Connection
from pathlib import Path

from pipelines.file_opening import CHANGED, NotOpened, opened
from pipelines.reading_process import NO_MEMORY_STATUS, PICKLE_PROTOCOL, Request
from schemas.upload_size import MOST_FILE_BYTES
from transforms.reading import UnreadableUpload, Workbook, read_workbook

_STATM = Path("/proc/self/statm")


def main() -> None:
    """Says that it is ready, then reads one file after another."""
    connection: Connection[bytes, Request] = Connection(int(sys.argv[1]))
    _bound_memory(int(sys.argv[2]))
    connection.send_bytes(b"ready")
    while True:
        try:
            request = connection.recv()
        except (EOFError, ConnectionResetError):
            return
        _bound_time(request.seconds)
        try:
            answer = pickle.dumps(_answer(request), PICKLE_PROTOCOL)
        except MemoryError:
            os._exit(NO_MEMORY_STATUS)  # what is left of the memory is in no state to go on
        connection.send_bytes(answer)


def _bound_memory(beyond: int) -> None:
    """Lets the process take so many bytes more; and leave no core, which would hold cells."""
    _lower_limit(resource.RLIMIT_CORE, 0)
    if not _STATM.exists():  # macOS accepts RLIMIT_AS, and does not hold it
        return
    pages = int(_STATM.read_text(encoding="ascii").split()[0])
    _lower_limit(resource.RLIMIT_AS, pages * resource.getpagesize() + beyond)


def _bound_time(seconds: float) -> None:
    """The parent ends a process that takes too long; this ends it where the parent is gone."""
    _lower_limit(resource.RLIMIT_CPU, math.ceil(time.process_time() + seconds) + 1)


def _lower_limit(what: int, wanted: int) -> None:
    """Sets a limit, as far as the one that the user lives under goes."""
    highest = resource.getrlimit(what)[1]
    limit = wanted if highest == resource.RLIM_INFINITY else min(wanted, highest)
    resource.setrlimit(what, (limit, highest))


def _answer(request: Request) -> Workbook | Exception:
    """The workbook, or the exception for the parent to raise."""
    try:
        return _read(request)
    except MemoryError:
        raise
    except UnreadableUpload as unreadable:
        return unreadable
    except NotOpened as refused:
        return UnreadableUpload(refused.reason)
    except OSError as failed:
        return OSError(failed.errno, failed.strerror)  # without the file's name
    except Exception as fault:  # noqa: BLE001  a fault of the program: the parent tells it
        return _told_without_values(fault)


def _read(request: Request) -> Workbook:
    with opened(request.path) as file:
        content = file.read(MOST_FILE_BYTES + 1)
    if request.sha256 not in (None, hashlib.sha256(content).hexdigest()):
        raise NotOpened(CHANGED)
    return read_workbook(request.path.name, content)


def _told_without_values(fault: Exception) -> Exception:
    # Imported for a fault alone: it would hold up every start.
    from pipelines.errors import ProgramFault, value_free

    try:
        with value_free("reading an upload"):
            raise fault
    except ProgramFault as told:
        return told


if __name__ == "__main__":
    main()
