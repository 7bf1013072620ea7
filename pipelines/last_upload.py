"""What a centre's last upload left in the warehouse, for the next one to be held against."""

from __future__ import annotations

from pathlib import Path

import pandas as pd


def headings_before(warehouse: Path, site: str, week: str) -> pd.DataFrame | None:
    """The table `headings` of one centre as it stood before `week` was merged; None where nothing
    was merged yet.

    A warehouse that another program has open says nothing either.
    """
    if not warehouse.is_file():
        return None
    from pipelines.warehouse import Warehouse

    with Warehouse(warehouse, read_only=True) as known:
        return known.before("headings", site, week) if known.is_built() else None
