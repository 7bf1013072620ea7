"""The window of visits whose time is given in words: "3 months", "M3", "preop"."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd

from schemas.crosswalk import Crosswalk
from schemas.visit_names import BASELINE, Windows
from transforms.findings import none_raised, raised
from transforms.reading import cell_text
from transforms.records import Records
from transforms.visit_time import time_of_visit, window_of_time

FIELD = "visit_time"


def with_visit_times(
    records: Records, crosswalk: Crosswalk, windows: Windows
) -> tuple[Records, pd.DataFrame]:
    """The records with `at`, the visit that a heading names, filled from what their cells say.

    Returns findings for cells that name no time. A heading's own visit goes before the cell's. A
    time that no window of the study holds names none.
    """
    cells = records.field(FIELD)
    if cells.empty:
        return records, none_raised()
    texts = cells["value"].map(cell_text)
    named = {text: _visit_of(text, crosswalk.language, windows) for text in texts.unique()}
    own = pd.Series(
        [records.columns[number].source.own_code(text)
         for text, number in zip(texts, cells["column"], strict=True)],
        index=cells.index, dtype="str",
    )  # fmt: skip
    said = own.fillna(texts.map(named).astype("str"))
    unread = cells[said.isna()].reset_index()
    at = said[said.isin([BASELINE, *windows])].reindex(records.index.index)
    index = records.index.assign(at=records.index["at"].fillna(at))
    return replace(records, index=index), raised("word_unknown", unread)


def _visit_of(text: str, language: str, windows: Windows) -> str | None:
    time = time_of_visit(text, language)
    return window_of_time(time, windows) if time else None
