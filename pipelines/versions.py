"""Version of the installed program."""

from __future__ import annotations

from importlib.metadata import PackageNotFoundError, version


def code_version() -> str:
    """Version of foveapool; `source` where it runs without being installed."""
    try:
        return version("foveapool")
    except PackageNotFoundError:
        return "source"
