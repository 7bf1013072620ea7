"""What changed in a centre's cases and findings between two weeks."""

from __future__ import annotations

import pandas as pd

COLUMNS = (
    "site", "cases_new", "cases_changed", "cases_gone", "findings_opened", "findings_fixed",
)  # fmt: skip

Tables = dict[str, pd.DataFrame]


def changes_by_site(before: Tables, after: Tables, sites: tuple[str, ...]) -> pd.DataFrame:
    """One row a centre. `before` and `after` hold operations, visits, complications and findings
    as of two weeks; a case changed when its row, a visit or a complication of it did."""
    then, now = _fingerprints(before), _fingerprints(after)
    site = pd.concat([_sites(after), _sites(before)])
    site = site[~site.index.duplicated()]
    both = then.index.intersection(now.index)
    was_open = _in_state(before["findings"], "open")
    is_open = _in_state(after["findings"], "open")
    counted = {
        "cases_new": site.reindex(now.index.difference(then.index)),
        "cases_changed": site.reindex(both[(then[both] != now[both]).to_numpy()]),
        "cases_gone": site.reindex(then.index.difference(now.index)),
        "findings_opened": is_open[~is_open.index.isin(was_open.index)],
        "findings_fixed": was_open[
            was_open.index.isin(_in_state(after["findings"], "fixed").index)
        ],
    }
    rows = {
        name: sites_of.value_counts().reindex(list(sites), fill_value=0)
        for name, sites_of in counted.items()
    }
    table = pd.DataFrame(rows).rename_axis("site").reset_index()
    return table.reindex(columns=list(COLUMNS))


def _in_state(findings: pd.DataFrame, state: str) -> pd.Series:
    return findings[findings["state"] == state].set_index("finding_key")["site"]


def _sites(tables: Tables) -> pd.Series:
    return tables["operations"].set_index("operation_key")["site"]


def _fingerprints(tables: Tables) -> pd.Series:
    """One number a case, the same as long as nothing in its rows changes."""
    parts = []
    for name in ("operations", "visits", "complications"):
        frame = tables[name]
        hashes = pd.util.hash_pandas_object(frame, index=False)
        parts.append(hashes.groupby(frame["operation_key"].to_numpy()).sum())
    return pd.concat(parts).groupby(level=0).sum()
