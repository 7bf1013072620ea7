"""The intake ledger: what every centre sent and what became of it, as plain JSON beside the store.

It is written from the warehouse after each merge, so that `status` and other programs can read it
without opening the database.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from pipelines.atomic import write_whole
from pipelines.study_folder import StudyFolder

if TYPE_CHECKING:
    from pipelines.plan import Settings

Entry = dict[str, str]


@dataclass(frozen=True)
class Ledger:
    """Latest merged week, titles of the centres, every upload, and open findings by centre."""

    week: str
    titles: dict[str, str]
    uploads: list[Entry]
    open_findings: dict[str, dict[str, int]]

    def set_aside(self, week: str) -> list[Entry]:
        """What was set aside when `week` was merged."""
        return [
            entry
            for entry in self.uploads
            if entry["status"] == "set_aside" and entry["week"] == week
        ]

    def entries(self, keys: set[str]) -> list[Entry]:
        """Entries of the given upload keys."""
        return [entry for entry in self.uploads if entry["upload_key"] in keys]

    def last_good_week(self, site: str) -> str | None:
        """The week of the centre's last upload that was merged."""
        weeks = [e["week"] for e in self.uploads if (e["site"], e["status"]) == (site, "merged")]
        return max(weeks, default=None)


def write_ledger(folder: StudyFolder, settings: Settings) -> None:
    """Writes the ledger from the warehouse."""
    from pipelines.warehouse import Warehouse

    with Warehouse(folder.warehouse, read_only=True) as warehouse:
        uploads = warehouse.log("uploads")
        week = warehouse.weeks()[-1]
        findings = warehouse.as_of("findings", week)
    is_open = findings[findings["state"] == "open"]
    counts: dict[str, dict[str, int]] = {site: {} for site in settings.study.sites}
    for (site, action), rows in is_open.groupby(["site", "action"]):
        counts[str(site)][str(action)] = len(rows)
    shown = ["site", "week", "upload_key", "file_name", "sha256", "status", "reason"]
    content = {
        "week": week,
        "titles": {site: walk.title for site, walk in settings.crosswalks.items()},
        "uploads": json.loads(uploads[shown].to_json(orient="records")),
        "open_findings": counts,
    }
    write_whole(folder.ledger, json.dumps(content, indent=1, ensure_ascii=False).encode())


def read_ledger(path: Path) -> Ledger:
    """The ledger at `path`."""
    return Ledger(**json.loads(path.read_text(encoding="utf-8")))
