"""A study of two centres that send .csv files, made row by row, and merged without Prefect."""

from __future__ import annotations

import csv
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from pipelines.commit import commit_weeks, late_uploads
from pipelines.ingest import Ingested, ingest
from pipelines.last_upload import headings_before
from pipelines.linkage import Linkage, pseudonym_key
from pipelines.plan import make_plan, read_all_settings
from pipelines.study_folder import StudyFolder, study_folder
from pipelines.warehouse import Warehouse

Row = Mapping[str, str]

# Three weeks in a row: first, second and third of the tests.
W1, W2, W3 = "2026-W10", "2026-W11", "2026-W12"

STUDY_TOML = """\
[study]
name  = "Tidewrack test series"
sites = ["birch", "alder"]

[visits]
m1  = [14, 30, 59]
m3  = [60, 90, 135]

[closure]
primary = "m3"
"""

CROSSWALK_TOML = """\
site    = "{site}"
title   = "{title}"
dates   = "year-first"
decimal = "point"

[[table]]
row = "operation"

  [table.fields]
  patient_id        = "Number"
  eye               = "Eye"
  operation_date    = "Date"
  surgeon           = "Surgeon"
  technique         = "Technique"
  tamponade         = "Tamponade"
  hole_min_diameter = {{ heading = "MLD", unit = "um" }}
  graft_diameter    = {{ heading = "Graft", unit = "um" }}

  [[table.visits]]
  at      = "m3"
  acuity  = {{ heading = "VA 3m", notation = "logmar" }}
  closure = "OCT 3m"
"""

_CASE = {
    "Number": "", "Eye": "right", "Date": "2025-03-04", "Surgeon": "Brakenholt",
    "Technique": "autologous retinal graft", "MLD": "700", "Graft": "1500", "VA 3m": "0.7",
    "OCT 3m": "closed", "Tamponade": "air",
}  # fmt: skip


def case(number: str, **cells: str) -> Row:
    """A row without a fault; `cells` by heading, with _ for spaces: case("7", VA_3m="0.4")."""
    changed = {heading.replace("_", " "): text for heading, text in cells.items()}
    assert changed.keys() <= _CASE.keys(), changed.keys() - _CASE.keys()
    return {**_CASE, "Number": number, **changed}


@dataclass(frozen=True)
class SmallStudy:
    """A study in a folder of its own. Times of its merges are made up and always the same."""

    folder: StudyFolder

    def send(self, week: str, site: str, *rows: Row, name: str = "series.csv") -> Path:
        """Writes a centre's file of a week."""
        path = self.folder.uploads / week / site / name
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, list(_CASE))
            writer.writeheader()
            writer.writerows(rows)
        return path

    def send_broken(self, week: str, site: str, name: str = "series.xlsx") -> Path:
        """Writes a file that no program can open as the workbook that its name promises."""
        path = self.folder.uploads / week / site / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"PK\x03\x04 cut off")
        return path

    def merge(
        self, until: str | None = None, meanwhile: Callable[[], object] = lambda: None
    ) -> list[tuple[str, str]]:
        """Plans, ingests and commits as the flow does; returns what was pending.

        `meanwhile` happens after the files are found and before they are read.
        """
        settings = read_all_settings(self.folder)
        key = pseudonym_key(self.folder.key)
        linkage = Linkage(self.folder.linkage, key)
        plan = make_plan(self.folder, settings, until)
        meanwhile()
        ingested: list[Ingested] = []
        for sent in plan.pending:
            earlier = [each for each in ingested if each.site == sent.site]
            before = (
                earlier[-1].headings
                if earlier
                else headings_before(self.folder.warehouse, sent.site, sent.week)
            )
            ingested.append(
                ingest(sent, settings.crosswalks[sent.site], settings.study, key,
                       settings.read_with[sent.site], before)
            )  # fmt: skip
        with Warehouse(self.folder.warehouse) as warehouse:
            times = ("2026-03-02T06:00:00+00:00", "2026-03-02T06:01:00+00:00")
            commit_weeks(warehouse, linkage, ingested, *times, late_uploads(plan.late, settings))
        return [(sent.site, sent.week) for sent in plan.pending]

    def as_of(self, table: str, week: str, site: str | None = None) -> pd.DataFrame:
        """A table as of a week, of one centre where it has the column `site`."""
        with Warehouse(self.folder.warehouse, read_only=True) as warehouse:
            rows = warehouse.as_of(table, week)
        return rows if site is None else rows[rows["site"] == site].reset_index(drop=True)

    def log(self, table: str) -> pd.DataFrame:
        """All rows of `uploads` or `weeks`."""
        with Warehouse(self.folder.warehouse, read_only=True) as warehouse:
            return warehouse.log(table)

    def add_centre(self, site: str) -> None:
        """Adds a centre with a crosswalk like the others'."""
        settings = self.folder.root / "study.toml"
        text = settings.read_text(encoding="utf-8").replace("sites = [", f'sites = ["{site}", ')
        settings.write_text(text, encoding="utf-8")
        crosswalk = CROSSWALK_TOML.format(site=site, title=f"Centre {site}")
        (self.folder.root / "crosswalks" / f"{site}.toml").write_text(crosswalk, encoding="utf-8")

    def change_crosswalk(self, site: str, old: str, new: str) -> None:
        """Edits a centre's crosswalk as a coordinator would."""
        path = self.folder.root / "crosswalks" / f"{site}.toml"
        text = path.read_text(encoding="utf-8")
        assert old in text
        path.write_text(text.replace(old, new), encoding="utf-8")


def make_study(root: Path, into: Path | None = None) -> SmallStudy:
    """A study without uploads in a new folder `root`."""
    (root / "crosswalks").mkdir(parents=True)
    (root / "study.toml").write_text(STUDY_TOML, encoding="utf-8")
    for site, title in (("alder", "Aldermere Eye Unit"), ("birch", "Birchmoor Eye Clinic")):
        text = CROSSWALK_TOML.format(site=site, title=title)
        (root / "crosswalks" / f"{site}.toml").write_text(text, encoding="utf-8")
    return SmallStudy(study_folder(root, into))
