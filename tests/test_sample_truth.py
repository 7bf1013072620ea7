"""Every harmonised value of the sample study against what the generator meant to write."""

import json

import pandas as pd
import pytest
from merged_sample import TRUTH, WEEKS, truth

from pipelines.warehouse import Warehouse
from schemas.codebook import table_fields
from transforms.deidentify import SEPARATOR, digest

KEYED_BY = ("site", "record_number", "eye", "operation_ordinal")
ORDER = {"operations": (), "visits": ("day", "visit"), "complications": ("term", "day")}
# Keys are random codes, and a visit's own key hangs on its operation's.
NOT_IN_TRUTH = {
    "operations": {"operation_key", "patient_key", "surgeon_key"},
    "visits": {"visit_key", "operation_key"},
    "complications": {"complication_key", "operation_key"},
}


@pytest.fixture(scope="module")
def stored(merged):
    with Warehouse(merged.store / "warehouse.duckdb", read_only=True) as warehouse:
        yield warehouse


@pytest.fixture(scope="module")
def code_of(merged):
    """Random code of a person or operation, through key and linkage."""
    key = bytes.fromhex((merged.store / "pseudonym.key").read_text())
    codes = json.loads((merged.store / "linkage.json").read_text())["codes"]
    return lambda kind, site, text: codes[digest(key, kind, site, text)]


def operation_codes(rows, code_of):
    return [
        code_of("operation", site, SEPARATOR.join((number.casefold(), eye, ordinal)))
        for site, number, eye, ordinal in rows[list(KEYED_BY)].itertuples(index=False)
    ]


def as_text(column):
    """Values as the truth tables write them, so that floats can be compared as numbers."""
    return [
        "" if pd.isna(value) else str(value).lower() if isinstance(value, bool) else str(value)
        for value in column.astype(object)
    ]


def same(found, expected):
    if found == expected or "" in (found, expected):
        return found == expected
    try:
        return float(found) == pytest.approx(float(expected), rel=1e-9, abs=1e-9)
    except ValueError:
        return False


@pytest.mark.parametrize("week", WEEKS)
@pytest.mark.parametrize("table", ["operations", "visits", "complications"])
def test_every_value_equals_the_truth(stored, code_of, week, table):
    expected = truth(week, table)
    expected["operation_key"] = operation_codes(expected, code_of)
    found = stored.as_of(table, week)
    if table == "operations":
        expected["surgeon_key"] = [
            code_of("surgeon", site, name.casefold()) if name else ""
            for site, name in expected[["site", "surgeon"]].itertuples(index=False)
        ]
    place = ["operation_key", *ORDER[table]]
    found_text = pd.DataFrame({name: as_text(found[name]) for name in found}).sort_values(place)
    expected = expected.sort_values(place)
    assert found_text[place].to_numpy().tolist() == expected[place].to_numpy().tolist()
    compared = [name for name in expected if name in found_text]
    wrong = [
        f"{expected['site'].iat[row]} row {row}, {name}: {found!r} for {meant!r}"
        for name in compared
        for row, (found, meant) in enumerate(zip(found_text[name], expected[name], strict=True))
        if not same(found, meant)
    ]
    assert not wrong, "\n".join(wrong[:40])
    left_out = set(table_fields(table)) - set(compared) - NOT_IN_TRUTH[table]
    assert not left_out, f"the truth tables say nothing of {left_out}"


@pytest.mark.parametrize("week", WEEKS)
def test_findings_are_the_planted_defects_and_no_others(stored, week):
    planted = pd.read_csv(TRUTH / "defects.csv", dtype="str", keep_default_na=False)
    findings = stored.as_of("findings", week).query("state == 'open'")
    uploads = stored.log("uploads").set_index("upload_key")
    last_good = uploads.query("status == 'merged' and week <= @week").groupby("site")["week"].max()
    due = planted[
        [last_good[site] == w for site, w in zip(planted["site"], planted["week"], strict=True)]
    ]
    expected = sorted(zip(due["site"], due["sheet"], due["cell"], due["rule"], strict=True))
    found = sorted(
        zip(
            findings["site"], findings["sheet"].fillna(""), findings["cell"].fillna(""),
            findings["rule"], strict=True,
        )
    )  # fmt: skip
    assert found == expected


def test_every_defect_kind_is_planted_and_found(stored):
    from schemas.rules import RULES

    found = set(pd.concat([stored.as_of("findings", week) for week in WEEKS])["rule"])
    assert found == set(RULES)
