"""How the files in the pool were read."""

from __future__ import annotations

from dataclasses import dataclass

from reports.labels import site_title
from reports.numerals import is_missing
from reports.read_as import read_as
from reports.rows import records
from reports.run_view import RunView


@dataclass(frozen=True)
class FileRead:
    """One file that stands in the pool."""

    centre: str
    name: str
    week: str
    read_as: str


def files_read(view: RunView) -> list[FileRead]:
    """The files behind the pool, centres in the study's order."""
    good = view.uploads[(view.uploads["status"] == "merged") & (view.uploads["week"] <= view.week)]
    latest = good[good["week"] == good.groupby("site")["week"].transform("max")]
    return [
        FileRead(
            site_title(view, site),
            row["file_name"],
            row["week"],
            read_as(row["file_kind"], row["encoding"], row["delimiter"], row["decimal_mark"]),
        )
        for site in view.study.sites
        for row in records(latest[latest["site"] == site].sort_values("file_name"))
        if not is_missing(row["file_kind"])
    ]
