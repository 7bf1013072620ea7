"""Version of the installed program, and what it consists of."""

from __future__ import annotations

import hashlib
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from importlib.util import find_spec
from pathlib import Path

_SOURCES = (".py", ".toml", ".po", ".html", ".css")


def code_version() -> str:
    """Version of foveapool; `source` where it runs without being installed."""
    try:
        return version("foveapool")
    except PackageNotFoundError:
        return "source"


@cache
def source_digest(*packages: str) -> str:
    """SHA-256 over the modules, vocabularies, conventions and translations of packages, by which
    a program that reads or reports differently is told, whatever its version says."""
    whole = hashlib.sha256()
    for package in packages:
        folder = _folder(package)
        for path in sorted(folder.rglob("*")):
            if path.suffix in _SOURCES:
                whole.update(f"{package}/{path.relative_to(folder).as_posix()}\0".encode())
                whole.update(hashlib.sha256(path.read_bytes()).digest())
    return whole.hexdigest()


def _folder(package: str) -> Path:
    spec = find_spec(package)
    assert spec is not None and spec.origin is not None, package
    return Path(spec.origin).parent
