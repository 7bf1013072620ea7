"""Findings in the making: which rule, which record, which cell; words are added at the end."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Any

import pandas as pd

from schemas.codebook import RECORD_KINDS, RECORD_TABLE, table_fields, upload_fields
from schemas.field import FieldSpec
from schemas.rules import RULES, Rule
from schemas.units import unit_sign

RAISED_COLUMNS = (
    "rule", "record", "kind", "field", "upload", "sheet", "cell", "heading", "other", "count",
    "worked_out",
)  # fmt: skip


_NONE = pd.DataFrame(columns=list(RAISED_COLUMNS), dtype="object")


def none_raised() -> pd.DataFrame:
    """An empty frame of raised findings."""
    return _NONE.copy()


def raised(rule: str, where: pd.DataFrame, **facts: Any) -> pd.DataFrame:
    """Findings of `rule`, one for each row of `where`.

    `where` holds any of the columns record, kind, field, upload, sheet and cell; `facts` (heading,
    other, count) are scalars or columns aligned with it. `worked_out` names the warehouse's column
    where the finding is about a value that was worked out from the cell and others. No fact may
    come from a cell's value.
    """
    assert rule in RULES, rule
    if where.empty:
        return none_raised()
    frame = where.assign(rule=rule, **facts).reindex(columns=list(RAISED_COLUMNS))
    return frame.astype("object").where(frame.notna(), None)


def gathered(*parts: pd.DataFrame) -> pd.DataFrame:
    """All findings of the parts, in their order."""
    filled = [part for part in parts if len(part)]
    return pd.concat(filled, ignore_index=True) if filled else none_raised()


def held_records(findings: pd.DataFrame) -> set[int]:
    """Records that a finding keeps out of the pool."""
    is_hold = findings["rule"].map(lambda rule: RULES[rule].action == "hold").astype(bool)
    return set(findings.loc[is_hold & findings["record"].notna(), "record"].astype(int))


def worded(findings: pd.DataFrame) -> pd.DataFrame:
    """Adds action, message and mend, from the rule's words and the codebook's facts."""
    told = findings[list(_TOLD_IN_WORDS)]
    rows = list(told.itertuples(index=False, name=None))
    said = {row: _words(dict(zip(_TOLD_IN_WORDS, row, strict=True))) for row in set(rows)}
    words = pd.DataFrame(
        [said[row] for row in rows], columns=["action", "message", "mend"], index=findings.index
    )
    return pd.concat([findings, words], axis=1)


# What the words of a finding are made of; the rest says where it is.
_TOLD_IN_WORDS = ("rule", "kind", "field", "heading", "other", "count", "worked_out")


def _words(finding: Mapping[str, Any]) -> tuple[str, str, str]:
    rule = RULES[str(finding["rule"])]
    spec = _spec(finding["kind"], finding["field"], finding["worked_out"])
    unit = unit_sign(spec.unit) if spec else ""
    facts = {
        "title": spec.title if spec else "This",
        "in_unit": f" in {unit}" if unit else "",
        "range": _range(spec, rule) if spec else "",
        "heading": finding["heading"],
        "other": finding["other"],
        "count": finding["count"],
    }
    return rule.action, rule.message.format(**facts), rule.mend.format(**facts)


def _range(spec: FieldSpec, rule: Rule) -> str:
    """The limits that a finding is about; the upper alone where the lower is that of the possible
    and no plain zero."""
    limits = spec.soft if rule.name == "outside_usual" else spec.hard
    if limits is None:
        return ""
    unit = f" {unit_sign(spec.unit)}" if spec.unit else ""
    has_no_lower = spec.hard is not None and limits is spec.soft and limits.low == spec.hard.low
    low = "up" if has_no_lower and limits.low else f"{limits.low:g}"
    return f"{low} to {limits.high:g}{unit}"


def _spec(kind: object, name: object, worked_out: object) -> FieldSpec | None:
    kinds = [k for k in RECORD_KINDS if kind in (None, k)]
    if isinstance(worked_out, str):
        return table_fields(RECORD_TABLE[kinds[0]])[worked_out]
    known = [upload_fields(k)[str(name)].spec for k in kinds if name in upload_fields(k)]
    return known[0] if known else None


def keyed(findings: pd.DataFrame, site: str) -> pd.DataFrame:
    """Adds `finding_key`: the same from week to week for the same matter.

    It hangs on centre, case, visit, field and rule; where no case is known, on sheet and cell.
    Matters that agree in all of these are told apart by their order in the upload. Takes columns
    case_label, row_key, field, rule, sheet, cell.
    """
    place = findings["sheet"].fillna("") + "!" + findings["cell"].fillna("")
    case = findings["case_label"].where(findings["case_label"].notna(), place)
    matter = (
        site + "|" + case + "|" + findings["row_key"].fillna("") + "|"
        + findings["field"].fillna("") + "|" + findings["rule"]
    )  # fmt: skip
    occurrence = matter.groupby(matter).cumcount().astype(str)
    return findings.assign(
        finding_key=[
            "F-" + hashlib.sha256(text.encode()).hexdigest()[:12]
            for text in matter + "|" + occurrence
        ]
    )
