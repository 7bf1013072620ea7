"""Findings from week to week: opened, fixed, reopened, withdrawn."""

from __future__ import annotations

import pandas as pd


def advance(
    before: pd.DataFrame, found: pd.DataFrame, week: str, present: frozenset[str]
) -> pd.DataFrame:
    """The findings of one centre after a week in which it sent an upload.

    `before` holds its findings so far, `found` those of the upload (both with finding_key and
    case_label), `present` the cases that the upload holds. What is found again stays or is opened
    again; what is found no more is fixed where its case is still there, else withdrawn.
    """
    known = before.set_index("finding_key")
    first = found["finding_key"].map(known["first_week"]).astype("object").fillna(week)
    opened = found.assign(first_week=first, last_week=week, state="open", answer=None)
    rest = before[~before["finding_key"].isin(found["finding_key"])].copy()
    is_open = rest["state"] == "open"
    is_there = rest["case_label"].isna() | rest["case_label"].isin(present)
    rest.loc[is_open & is_there, "state"] = "fixed"
    rest.loc[is_open & ~is_there, "state"] = "withdrawn"
    columns = list(before.columns)
    return pd.concat([opened.reindex(columns=columns), rest], ignore_index=True)


def gone_cases(
    merged_before: pd.DataFrame, findings_before: pd.DataFrame, present: frozenset[str],
    uncertain: frozenset[str],
) -> pd.DataFrame:  # fmt: skip
    """Cases that were merged, or were already missed, and are not in the upload.

    `merged_before` holds the centre's operations of the week before (operation_key, patient_key).
    A patient of whom a row's eye cannot be read (`uncertain`) is not called gone: the row may be
    the case.
    """
    missed = findings_before[
        (findings_before["rule"] == "case_gone") & (findings_before["state"] == "open")
    ]["case_label"]
    certain = merged_before[~merged_before["patient_key"].isin(uncertain)]["operation_key"]
    candidates = pd.concat([certain, missed]).drop_duplicates()
    gone = candidates[~candidates.isin(present)]
    return pd.DataFrame({"case_label": gone.to_numpy(), "kind": "operation"})
