"""How a file was read, in words: what was found of a text table is said, not assumed in silence."""

from __future__ import annotations

from dataclasses import dataclass

from reports.labels import site_title
from reports.numerals import is_missing
from reports.rows import records
from reports.run_view import RunView
from schemas.encodings import encoding_name

_KINDS = {
    "xlsx": "workbook (.xlsx)",
    "xls": "old workbook (.xls)",
    "ods": "OpenDocument spreadsheet (.ods)",
    "csv": "text table",
}
_DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars"}


def read_as(kind: str, encoding: object, delimiter: object, decimal_mark: object) -> str:
    """A line such as "text table, Windows-1252, cells parted by semicolons, decimal comma"."""
    said = [_KINDS.get(kind, kind)]
    if isinstance(encoding, str) and isinstance(delimiter, str):
        said.append(encoding_name(encoding))
        said.append(f"cells parted by {_DELIMITERS.get(delimiter, delimiter)}")
        has_mark = isinstance(decimal_mark, str)
        said.append(f"decimal {decimal_mark}" if has_mark else "numbers without one decimal mark")
    return ", ".join(said)


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
