"""Which operation every record belongs to, and whether its dates can be true together."""

from __future__ import annotations

import datetime as dt

import pandas as pd

from schemas.codebook import RECORD_TABLE, RecordKind, table_fields
from transforms.findings import gathered, held_records, raised
from transforms.records import Records

EYE = ["patient_id", "eye"]
LONGEST_LIFE = pd.Timedelta(days=round(120 * 365.25))


def resolve_cases(
    records: Records, identities: pd.DataFrame, found: pd.DataFrame, latest: dt.date
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The case of every record, and findings where there is none.

    Takes the identities of `read_identities` and the findings so far. Returns `identities` with the
    columns operation (label of the operation's record), number (its place among the operations of
    the eye, by date), operation_date (of that operation) and is_held; dates that cannot be true are
    missing. Records that stand or fall with a held operation are held without a finding of their
    own: mending the operation mends them.
    """
    cases = identities.join(records.index)
    cases["is_held"] = cases.index.isin(held_records(found))
    cases["operation"] = pd.Series(pd.NA, index=cases.index, dtype="Int64")
    doubled = _doubled_operations(cases)
    cases["is_held"] |= cases.index.isin(doubled["record"])
    cases["is_held"] |= _follow_undated(cases)
    _number_operations(cases)
    unknown = _attach(cases, records)
    cases["is_held"] |= cases.index.isin(unknown["record"])
    _follow_operations(cases)
    orders = _check_orders(cases, records, latest)
    cases["is_held"] |= cases.index.isin(held_records(orders))
    return cases.drop(columns=records.index.columns), gathered(doubled, unknown, orders)


def _anchored(cases: pd.DataFrame) -> pd.DataFrame:
    """Where a finding about a row as a whole is shown: at its record number."""
    where = cases[["kind", "upload", "sheet"]].assign(cell=cases["anchor"], field="patient_id")
    return where.rename_axis("record").reset_index()


def _doubled_operations(cases: pd.DataFrame) -> pd.DataFrame:
    operations = cases[(cases["kind"] == "operation") & ~cases["is_held"]]
    by_event = operations.groupby([*EYE, "operation_date"], sort=False)
    later = by_event.cumcount() > 0
    first_anchors = by_event["anchor"].transform("first")[later]
    return raised(
        "operation_doubled",
        _anchored(operations[later]),
        other=[f"see {anchor}" for anchor in first_anchors],
    )


def _follow_undated(cases: pd.DataFrame) -> pd.Series:
    """True for operations of an eye of which another operation's date is not known.

    Which of them came first, and so which is the index operation, cannot be told before the date
    is mended.
    """
    is_operation = (cases["kind"] == "operation") & cases[EYE].notna().all(axis=1)
    undated = cases[is_operation & cases["operation_date"].isna()]
    eyes = pd.MultiIndex.from_frame(undated[EYE])
    return is_operation & pd.MultiIndex.from_frame(cases[EYE]).isin(eyes)


def _number_operations(cases: pd.DataFrame) -> None:
    """Numbers the operations of each eye by date; those without a date that can be true come last.

    A doubled row has the number of the row that it doubles.
    """
    is_operation = (cases["kind"] == "operation") & cases[EYE].notna().all(axis=1)
    ordered = cases[is_operation].sort_values("operation_date", kind="stable", na_position="last")
    is_next = ~ordered.duplicated([*EYE, "operation_date"]) | ordered["operation_date"].isna()
    numbers = is_next.groupby([ordered[name] for name in EYE], sort=False).cumsum()
    cases["number"] = numbers.reindex(cases.index).astype("Int64")
    cases.loc[is_operation, "operation"] = cases.index[is_operation]


def _attach(cases: pd.DataFrame, records: Records) -> pd.DataFrame:
    """Gives visits and complications their operation; returns findings for those without one."""
    in_row = cases["parent"].notna()
    cases.loc[in_row, "operation"] = cases.loc[in_row, "parent"].astype("Int64")
    loose = cases[(cases["kind"] != "operation") & ~in_row & ~cases["is_held"]]
    operations = cases[(cases["kind"] == "operation") & ~cases["is_held"]]
    dates = loose["visit_date"].fillna(loose["complication_date"])
    unclear = _of_several_operations(loose, dates, operations)
    attached = _latest_before(loose.assign(date=dates).drop(unclear.index), operations)
    cases.loc[attached.index, "operation"] = attached
    is_orphan = ~loose.index.isin(attached.index.union(unclear.index))
    orphans = loose[is_orphan & ~_follows_held(loose, cases)]
    silent = loose.index[is_orphan].difference(orphans.index)
    cases.loc[silent, "is_held"] = True
    return gathered(
        raised("operation_unknown", _anchored(orphans)),
        raised("visit_operation_unclear", _anchored(unclear)),
    )


def _of_several_operations(
    loose: pd.DataFrame, dates: pd.Series, operations: pd.DataFrame
) -> pd.DataFrame:
    """Visits of a named window without a date, of eyes that were operated on more than once."""
    eyes = pd.MultiIndex.from_frame(operations[EYE])
    repeated = eyes[eyes.duplicated()]
    is_of_several = pd.MultiIndex.from_frame(loose[EYE]).isin(repeated)
    return loose[is_of_several & dates.isna() & loose["at"].notna()]


def _latest_before(loose: pd.DataFrame, operations: pd.DataFrame) -> pd.Series:
    """The last operation of the same eye on or before the date; before all of them, the first."""
    pairs = (
        loose[[*EYE, "date"]]
        .rename_axis("record").reset_index()
        .merge(
            operations[[*EYE, "operation_date", "operation"]].sort_values("operation_date"), on=EYE
        )
    )  # fmt: skip
    is_before = pairs["operation_date"] <= pairs["date"]
    last_before = pairs[is_before].groupby("record")["operation"].last()
    first = pairs.groupby("record")["operation"].first()
    return last_before.reindex(first.index).fillna(first).astype("Int64")


def _follows_held(loose: pd.DataFrame, cases: pd.DataFrame) -> pd.Series:
    """True where the operation is in the upload but held, so that its finding says it all."""
    held = cases[(cases["kind"] == "operation") & cases["is_held"]]
    eyes = set(zip(held["patient_id"], held["eye"].fillna(""), strict=True))
    return pd.Series(
        [
            (patient, eye) in eyes or (patient, "") in eyes
            for patient, eye in zip(loose["patient_id"], loose["eye"], strict=True)
        ],
        index=loose.index,
        dtype=bool,
    )


def _follow_operations(cases: pd.DataFrame) -> None:
    """Visits and complications take identity and hold from their operation."""
    others = cases.index[(cases["kind"] != "operation") & cases["operation"].notna()]
    operation = cases.loc[others, "operation"].astype(int)
    for column in (*EYE, "number", "operation_date"):
        cases.loc[others, column] = cases[column].reindex(operation).to_numpy()
    cases.loc[others, "is_held"] |= cases["is_held"].reindex(operation).to_numpy()


def _check_orders(cases: pd.DataFrame, records: Records, latest: dt.date) -> pd.DataFrame:
    """Dates that cannot be true beside the operation's become missing, with a finding."""
    operated = cases["operation_date"]
    impossible = {
        "birth_date": ~_is_between(cases["birth_date"], operated - LONGEST_LIFE, operated),
        "complication_date": ~_is_possible_day(
            "complication", cases["complication_date"], operated
        ),
        "visit_date": ~_is_possible_day("visit", cases["visit_date"], operated),
    }
    for name in ("complication_date", "visit_date"):
        impossible[name] |= cases[name] > pd.Timestamp(latest)
    was_unreadable = cases["visit_date"].isna()
    findings = []
    for name, is_wrong in impossible.items():
        wrong = cases.index[is_wrong & ~cases["is_held"]]
        cases.loc[wrong, name] = pd.NaT
        if name == "visit_date":
            wrong = wrong[cases.loc[wrong, "at"].notna()]
        findings.append(raised("date_out_of_order", _cells_of(records, name, wrong)))
    return gathered(*findings, *_undated_visits(cases, records, was_unreadable))


def _is_between(dates: pd.Series, first: pd.Series, last: pd.Series) -> pd.Series:
    """True where a date lies between two others, or where one of the three is missing."""
    return ~((dates < first) | (dates > last))


def _is_possible_day(kind: RecordKind, dates: pd.Series, operated: pd.Series) -> pd.Series:
    """True where a date lies within the codebook's hard limits of days from the operation."""
    limits = table_fields(RECORD_TABLE[kind])["day"].hard
    assert limits is not None
    first, last = (pd.Timedelta(days=day) for day in (limits.low, limits.high))
    return _is_between(dates, operated + first, operated + last)


def _undated_visits(
    cases: pd.DataFrame, records: Records, was_unreadable: pd.Series
) -> list[pd.DataFrame]:
    """Visits without a usable date: held where no heading names their window, else used."""
    undated = cases[(cases["kind"] == "visit") & cases["visit_date"].isna() & ~cases["is_held"]]
    nameless = undated.index[undated["at"].isna()]
    unread = undated.index[undated["at"].notna() & was_unreadable[undated.index]]
    unreadable = unread.intersection(records.field("visit_date").index)
    dated = _cells_of(records, "visit_date", nameless)
    without_column = undated.loc[nameless.difference(pd.Index(dated["record"]))]
    return [
        raised("visit_undated", dated),
        raised("visit_undated", _anchored(without_column)),
        raised("date_unreadable", _cells_of(records, "visit_date", unreadable)),
    ]


def _cells_of(records: Records, name: str, wanted: pd.Index) -> pd.DataFrame:
    cells = records.cells
    return cells[(cells["field"] == name) & cells["record"].isin(wanted)]
