"""No planted identifier leaves intake: a search through every byte that a merge leaves behind."""

import sqlite3
import zipfile

import pandas as pd
import pytest
from merged_sample import TRUTH

from schemas.codebook import TABLES


@pytest.fixture(scope="module")
def planted():
    listed = pd.read_csv(TRUTH / "identifiers.csv", dtype="str", keep_default_na=False)
    return {value.encode() for value in listed["value"]} | {
        value.casefold().encode() for value in listed["value"]
    }


def hits(content: bytes, planted: set[bytes]) -> set[bytes]:
    folded = content.decode("utf-8", "ignore").casefold().encode()
    return {value for value in planted if value in content or value in folded}


def files_left_behind(merged):
    """Everything below store/ and out/, but the returns, which go to their own centre."""
    for root in (merged.store, merged.out):
        for path in sorted(root.rglob("*")):
            is_return = path.is_relative_to(merged.out / "returns")
            if path.is_file() and not is_return and path.name != "pseudonym.key":
                yield path


def unpacked(path):
    """The bytes of a file, and those inside it where it is an archive or a table."""
    yield path.read_bytes()
    if path.suffix == ".xlsx":
        with zipfile.ZipFile(path) as archive:
            yield from (archive.read(name) for name in archive.namelist())
    if path.suffix == ".parquet":
        yield pd.read_parquet(path).to_csv().encode()


def test_the_search_finds_what_is_planted(planted, tmp_path):
    """The search itself works: an identifier inside a compressed workbook is a hit."""
    secret = sorted(planted)[0].decode()
    path = tmp_path / "planted.xlsx"
    pd.DataFrame({"name": [secret]}).to_excel(path, index=False)
    assert any(hits(content, planted) for content in unpacked(path))


def test_no_file_holds_one(merged, planted):
    found = {
        str(path.relative_to(merged.into)): hits(content, planted)
        for path in files_left_behind(merged)
        for content in unpacked(path)
    }
    assert {path: values for path, values in found.items() if values} == {}


def test_no_row_of_the_warehouse_holds_one(merged, planted):
    """DuckDB compresses text in its pages, so that its rows are read, every version of them."""
    import duckdb

    with duckdb.connect(str(merged.store / "warehouse.duckdb"), read_only=True) as db:
        for table in TABLES:
            assert hits(db.execute(f"FROM {table}").df().to_csv().encode(), planted) == set(), table


def test_no_row_of_prefects_database_holds_one(merged, planted):
    with sqlite3.connect(merged.store / "prefect" / "prefect.db") as db:
        tables = [row[0] for row in db.execute("SELECT name FROM sqlite_master WHERE type='table'")]
        for table in tables:
            rows = repr(db.execute(f'SELECT * FROM "{table}"').fetchall()).encode()
            assert hits(rows, planted) == set(), table


def test_nothing_printed_holds_one(merged, planted):
    assert hits((merged.first.printed + merged.second.printed).encode(), planted) == set()


def test_a_return_holds_its_own_centre_alone(merged):
    listed = pd.read_csv(TRUTH / "identifiers.csv", dtype="str", keep_default_na=False)
    for folder in sorted((merged.out / "returns").iterdir()):
        own = set(listed.loc[listed["site"] == folder.name, "value"])
        others = {
            v.encode() for v in listed.loc[listed["site"] != folder.name, "value"] if v not in own
        }
        for path in folder.iterdir():
            for content in unpacked(path):
                assert hits(content, others) == set(), path
