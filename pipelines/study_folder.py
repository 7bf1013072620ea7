"""Where a study's files lie."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from pipelines.errors import StudyError

LINKAGE_NAME = "linkage.json"


@dataclass(frozen=True)
class StudyFolder:
    """The folder of a study, and the folder below which store and outputs are made.

    They are the same unless `merge --into` names another, so that the study's own folder can be
    read-only.
    """

    root: Path
    into: Path

    @property
    def uploads(self) -> Path:
        return self.root / "uploads"

    @property
    def store(self) -> Path:
        return self.into / "store"

    @property
    def warehouse(self) -> Path:
        return self.store / "warehouse.duckdb"

    @property
    def linkage(self) -> Path:
        return self.store / LINKAGE_NAME

    @property
    def key(self) -> Path:
        return self.store / "pseudonym.key"

    @property
    def ledger(self) -> Path:
        return self.store / "ledger.json"

    @property
    def lock(self) -> Path:
        return self.store / "merge.lock"

    @property
    def prefect_home(self) -> Path:
        return self.store / "prefect"

    @property
    def out(self) -> Path:
        return self.into / "out"


def study_folder(root: Path, into: Path | None = None) -> StudyFolder:
    """Folders of the study at `root`, with absolute paths.

    Raises StudyError where `into` is something else than a folder.
    """
    if into is not None and into.exists() and not into.is_dir():
        raise StudyError(
            f"{into}: no folder; name one with --into, it is made where it is not there"
        )
    return StudyFolder(root.resolve(), (into or root).resolve())
