"""Files that are there whole or not at all."""

from __future__ import annotations

import os
import shutil
from pathlib import Path


def write_whole(path: Path, content: bytes, mode: int = 0o644) -> None:
    """Writes a file aside, flushes it to disk, and puts it in its place at once."""
    aside = path.with_name(path.name + ".new")
    descriptor = os.open(aside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, mode)
    with os.fdopen(descriptor, "wb") as file:
        os.fchmod(file.fileno(), mode)
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    aside.replace(path)


def switch_folder(built: Path, place: Path) -> None:
    """Puts the folder `built` in the place of `place`, which is removed."""
    old = place.with_name(place.name + ".old")
    if old.exists():
        shutil.rmtree(old)
    if place.exists():
        place.rename(old)
    built.rename(place)
    if old.exists():
        shutil.rmtree(old)
