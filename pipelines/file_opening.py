"""Opens what lies in a folder of uploads: plain files alone, no link followed, nothing waited for.

Imports nothing heavy: the process that reads uploads starts with it.
"""

from __future__ import annotations

import errno
import os
import stat
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from io import BufferedReader
from pathlib import Path

from schemas.upload_size import FILE_TOO_LARGE, MOST_FILE_BYTES

IS_LINK = "it is a symbolic link, and links are not followed; put the file itself in its place"
IS_FOLDER = "it is a folder, not a file; move the files in it one level up"
IS_NO_FILE = "it is a pipe, a socket or a device, not a file; remove it, or send a file"
IS_FORBIDDEN = "the file may not be opened; let the account that merges read it"
GONE = "the file went away while it was being read; what is there then is taken at the next merge"
CHANGED = "the file changed while it was being read; it is taken at the next merge"

_FLAGS = os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_NOCTTY | os.O_CLOEXEC
# Control characters, halves of undecodable bytes, line separators; and what turns text around.
_UNPRINTABLE = frozenset({"Cc", "Cs", "Zl", "Zp"})
_TURNING = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


class NotOpened(Exception):
    """What lies there is not opened; `reason` is one line that says why and how to mend it."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


def printable(name: str) -> str:
    """A name in one line of valid text, as tables, JSON and pages need it.

    Names of files may hold line breaks and bytes that are no text.
    """
    return "".join(
        "\ufffd" if unicodedata.category(char) in _UNPRINTABLE or char in _TURNING else char
        for char in name
    )


@contextmanager
def opened(path: Path) -> Iterator[BufferedReader]:
    """A plain file, open for reading.

    Raises NotOpened for links, folders, pipes, sockets and devices, and for a file that is too
    large, forbidden or not there; OSError where the disk fails.
    """
    try:
        _refuse(path.lstat())  # before opening: to open a device may already do something
        descriptor = os.open(path, _FLAGS)
    except FileNotFoundError:
        raise NotOpened(GONE) from None
    except PermissionError:
        raise NotOpened(IS_FORBIDDEN) from None
    except OSError as error:
        if error.errno == errno.ELOOP:
            raise NotOpened(IS_LINK) from None
        raise
    try:
        _refuse(os.fstat(descriptor))  # again: another may stand there by now
    except NotOpened:
        os.close(descriptor)
        raise
    with os.fdopen(descriptor, "rb") as file:
        yield file


def _refuse(found: os.stat_result) -> None:
    if stat.S_ISLNK(found.st_mode):
        raise NotOpened(IS_LINK)
    if stat.S_ISDIR(found.st_mode):
        raise NotOpened(IS_FOLDER)
    if not stat.S_ISREG(found.st_mode):
        raise NotOpened(IS_NO_FILE)
    if found.st_size > MOST_FILE_BYTES:
        raise NotOpened(FILE_TOO_LARGE)
