"""The folder of one centre's return: readable by its owner alone, with that centre's data alone."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

import pandas as pd

from reports.csv_text import csv_bytes
from reports.page import render
from reports.returns.listing import Item, ReturnSource, listed
from reports.returns.marks import MARKS
from reports.returns.workbook import marked_workbook
from schemas.codebook import table_fields
from schemas.codes import ACTION

FOLDER_MODE, FILE_MODE = 0o700, 0o600
_STEM_LENGTH = 60  # characters; a file's name holds 255 bytes, and a character up to four


def write_return(
    site: str,
    title: str,
    uploads: Sequence[ReturnSource],
    findings: pd.DataFrame,
    folder: Path,
    *,
    study_name: str,
    week: str,
    code_version: str,
) -> list[Path]:
    """Write a marked workbook for each upload of `site`, findings.csv and findings.html.

    `findings` has the codebook's columns and holds this centre's rows alone, in any state: open
    ones are marked and listed, findings.csv holds them all. Returns the paths written, by name.
    Raises ValueError where a finding belongs to another centre; nothing is written then.
    """
    foreign = int((findings["site"] != site).sum())
    if foreign:
        raise ValueError(
            f"return of centre '{site}': {foreign} findings of other centres; "
            "pass the findings of this centre alone"
        )
    items = listed(uploads, findings)
    names = _workbook_names(uploads)
    content = {"findings.csv": csv_bytes(_table(findings, items))}
    for source, name in zip(uploads, names, strict=True):
        content[name] = marked_workbook(title, source, _items_of(source, uploads, items))
    page = render(
        "findings.html", title=f"Findings, {title}", study_name=study_name, week=week,
        code_version=code_version, here=None, items=items, marks=MARKS, actions=ACTION,
        workbooks=names,
    )  # fmt: skip
    content["findings.html"] = page.encode("utf-8")
    return _write_private(content, folder)


def _items_of(
    source: ReturnSource, uploads: Sequence[ReturnSource], items: Sequence[Item]
) -> list[Item]:
    """Findings to list in one file's workbook; those of no file here go with the first."""
    is_first = source is uploads[0]
    return [
        item
        for item in items
        if item.upload == source.upload_key or (is_first and not item.place.is_here)
    ]


def _workbook_names(uploads: Sequence[ReturnSource]) -> list[str]:
    """STEM_findings.xlsx for each upload; of equal names the later ones get a number."""
    names: list[str] = []
    for source in uploads:
        stem = Path(source.file_name.replace("\\", "/")).stem[:_STEM_LENGTH] or "upload"
        name, number = f"{stem}_findings.xlsx", 2
        while name.casefold() in {taken.casefold() for taken in names}:
            name, number = f"{stem}_findings_{number}.xlsx", number + 1
        names.append(name)
    return names


def _table(findings: pd.DataFrame, items: Sequence[Item]) -> pd.DataFrame:
    """Every finding, with its number and file where it is open; open ones first, by number."""
    open_ones = pd.DataFrame(
        [(item.finding_key, item.number, item.place.file_name) for item in items],
        columns=["finding_key", "number", "file_name"],
    ).astype({"number": "Int64"})
    table = findings.merge(open_ones, on="finding_key", how="left")
    columns = ["number", "file_name", *table_fields("findings")]
    return table.sort_values(["number", "finding_key"], na_position="last")[columns]


def _write_private(content: dict[str, bytes], folder: Path) -> list[Path]:
    folder.mkdir(parents=True, exist_ok=True)
    folder.chmod(FOLDER_MODE)
    paths = []
    for name in sorted(content):
        path = folder / name
        # Private from the first byte on, also where a file of that name stood before.
        path.unlink(missing_ok=True)
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, FILE_MODE)
        with os.fdopen(descriptor, "wb") as target:
            target.write(content[name])
        paths.append(path)
    return paths
