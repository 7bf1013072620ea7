"""What a page shows: one study as it stands at one merged week."""

from __future__ import annotations

from dataclasses import dataclass, field

import pandas as pd

from schemas.study import Study


@dataclass(frozen=True)
class RunView:
    """Everything that pages are made from, as of `week`.

    `operations`, `visits`, `complications`, `findings` and `unread` have the columns of the
    codebook; `uploads` holds every upload ever. `changes` has one row a centre since
    `previous_week`: site, cases_new, cases_changed, cases_gone, findings_opened, findings_fixed.
    `tables` holds the pooled tables 'closure' and 'function', one row an estimate;
    `previous_tables` the same as of `previous_week`, and is empty where there is none.
    """

    study: Study
    site_titles: dict[str, str]
    week: str
    previous_week: str | None
    code_version: str
    operations: pd.DataFrame
    visits: pd.DataFrame
    complications: pd.DataFrame
    findings: pd.DataFrame
    unread: pd.DataFrame
    uploads: pd.DataFrame
    changes: pd.DataFrame
    tables: dict[str, pd.DataFrame]
    previous_tables: dict[str, pd.DataFrame] = field(default_factory=dict)
