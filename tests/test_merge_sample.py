"""The weekly merge of the sample study as a coordinator runs it."""

import json

import pytest
from merged_sample import SAMPLE, checksums, run_command

from pipelines.commit import commit_weeks
from pipelines.ingest import ingest
from pipelines.linkage import Linkage, pseudonym_key
from pipelines.outputs import build_outputs
from pipelines.plan import make_plan, read_all_settings
from pipelines.study_folder import study_folder
from pipelines.warehouse import Warehouse

SITES = ("avocet", "dunlin", "gannet", "plover", "sanderling", "tern", "turnstone")
OUTPUTS = [
    "index.html", "pooled.html", "quality.html", "dictionary.html", "run.json",
    "tables/closure.csv", "tables/closure.parquet", "tables/function.csv",
    "tables/function.parquet", "tables/pooled_tables.xlsx",
    *(f"returns/{site}/findings.csv" for site in SITES),
    *(f"returns/{site}/findings.html" for site in SITES),
]  # fmt: skip


def test_it_ends_with_3_because_one_upload_is_set_aside(merged):
    assert merged.first.status == 3, merged.first.printed
    assert "sanderling" in merged.first.printed
    assert "Traceback" not in merged.first.printed


@pytest.mark.parametrize("name", OUTPUTS)
def test_every_output_is_there_and_not_empty(merged, name):
    assert (merged.out / name).stat().st_size > 100


def test_every_centre_gets_its_workbooks_back(merged):
    for site in SITES:
        assert list((merged.out / "returns" / site).glob("*.xlsx")), site


def test_run_again_changes_no_byte(merged):
    assert merged.second.status == 3, merged.second.printed
    assert merged.second.checksums == merged.first.checksums
    assert "nothing new" in merged.second.printed


def test_rows_in_are_rows_merged_and_rows_held(merged):
    with Warehouse(merged.store / "warehouse.duckdb", read_only=True) as warehouse:
        uploads = warehouse.log("uploads")
    assert (uploads["rows_read"] == uploads["rows_merged"] + uploads["rows_held"]).all()
    merged_ones = uploads[uploads["status"] == "merged"]
    assert (merged_ones["rows_read"] > 0).all()
    assert len(uploads) == len(list((SAMPLE / "uploads").glob("*/*/*")))


def test_rows_merged_are_in_the_warehouse(merged):
    with Warehouse(merged.store / "warehouse.duckdb", read_only=True) as warehouse:
        week = warehouse.weeks()[-1]
        rows = sum(
            len(warehouse.as_of(table, week)) for table in ("operations", "visits", "complications")
        )
        uploads = warehouse.log("uploads").query("status == 'merged'")
    last = uploads.groupby("site")["week"].transform("max") == uploads["week"]
    assert rows == uploads.loc[last, "rows_merged"].sum()


def test_private_files_are_for_the_owner_alone(merged):
    for name in ("pseudonym.key", "linkage.json"):
        assert (merged.store / name).stat().st_mode & 0o777 == 0o600
    assert (merged.out / "returns").stat().st_mode & 0o777 == 0o700
    assert (merged.store / "prefect").stat().st_mode & 0o777 == 0o700


def test_status_reads_the_ledger(merged):
    done = run_command("status", str(SAMPLE), "--into", str(merged.into), "--json")
    status = json.loads(done.stdout)
    assert done.returncode == 0
    assert status["week"] == "2026-W47"
    late = [site["site"] for site in status["sites"] if site["is_late"]]
    assert late == ["sanderling"]
    assert all(site["waiting"] == 0 for site in status["sites"])


def test_prefect_keeps_one_ingest_run_for_each_centre_and_week(merged):
    import sqlite3

    with sqlite3.connect(merged.store / "prefect" / "prefect.db") as db:
        names = [row[0] for row in db.execute("SELECT name FROM task_run ORDER BY name")]
    ingests = [name for name in names if name.startswith("ingest")]
    assert ingests == sorted(f"ingest-{s}-{w}" for s in SITES for w in ("2026-W46", "2026-W47"))


def test_another_store_of_the_same_uploads_gives_the_same_bytes(merged, tmp_path):
    """Codes are random in each store; nothing that is pooled or shown may hang on them."""
    folder = study_folder(SAMPLE, tmp_path)
    settings = read_all_settings(folder)
    key = pseudonym_key(folder.key)
    ingested, headings = [], {}
    for sent in make_plan(folder, settings, None).pending:
        before = headings.get(sent.site)
        taken = ingest(sent, settings.crosswalks[sent.site], settings.study, key, "", before)
        headings[sent.site] = taken.headings
        ingested.append(taken)
    with Warehouse(folder.warehouse) as warehouse:
        commit_weeks(warehouse, Linkage(folder.linkage, key), ingested, "then", "now")
    build_outputs(folder, settings)
    shared = [
        name
        for name in merged.first.checksums
        if not name.startswith("returns/") and name != "run.json"
    ]
    other = checksums(folder.out)
    assert {name: other[name] for name in shared} == {
        name: merged.first.checksums[name] for name in shared
    }
