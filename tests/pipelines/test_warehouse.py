"""The warehouse: tables as the codebook declares them, every version of a row, one transaction."""

import signal
import subprocess
import sys
from pathlib import Path

import duckdb
import pandas as pd
import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from pipelines.errors import StudyError
from pipelines.warehouse import HISTORY, Warehouse, bring_up_to_date, table_ddl
from schemas.codebook import TABLES, table_fields
from transforms.contract import conformed

WEEKS = [f"2026-W{number:02}" for number in range(1, 30)]
W1, W2, W3 = WEEKS[:3]
TERMS = ("retinal_detachment", "ocular_hypertension")


def events(*rows):
    """Complications: (key, term, day, needed_surgery); day and needed_surgery may be missing."""
    columns = ["complication_key", "term", "day", "needed_surgery"]
    frame = pd.DataFrame(list(rows), columns=columns, dtype="object")
    return conformed(frame.assign(operation_key="O-1"), "complications")


def week_row(week, finished="later"):
    row = {
        "week": week, "started": "then", "finished": finished, "code_version": "1",
        "codebook_version": "1", "counts": "{}",
    }  # fmt: skip
    return conformed(pd.DataFrame([row]), "weeks")


def upload_row(key, week, site="alder"):
    row = {
        "upload_key": key, "site": site, "week": week, "file_name": "series.csv", "sha256": key,
        "read_with": "x", "sheets": 1, "rows_read": 0, "rows_merged": 0, "rows_held": 0,
        "status": "merged", "reason": None,
    }  # fmt: skip
    return conformed(pd.DataFrame([row]), "uploads")


def told(frame):
    """Rows of `events` as plain tuples, None for what is missing."""
    frame = frame.drop(columns="operation_key")
    return {tuple(None if pd.isna(v) else v for v in row) for row in frame.itertuples(index=False)}


@pytest.fixture
def warehouse():
    with Warehouse(Path(":memory:")) as opened:
        yield opened


@pytest.fixture
def path(tmp_path):
    return tmp_path / "warehouse.duckdb"


def send(warehouse, week, *rows, site="alder"):
    warehouse.replace_site("complications", site, week, events(*rows))


def as_of(warehouse, week):
    return told(warehouse.as_of("complications", week))


# What the codebook declares


def test_a_statement_in_full():
    assert table_ddl("complications") == (
        "CREATE TABLE IF NOT EXISTS complications ("
        '"complication_key" VARCHAR NOT NULL, "operation_key" VARCHAR NOT NULL, '
        '"term" VARCHAR NOT NULL, "day" BIGINT, "needed_surgery" BOOLEAN, '
        "from_site VARCHAR NOT NULL, from_week VARCHAR NOT NULL, until_week VARCHAR)"
    )


@pytest.mark.parametrize("table", TABLES)
def test_every_column_of_the_codebook_is_there_in_its_order_and_no_other(path, table):
    Warehouse(path).__exit__(None, None, None)
    with duckdb.connect(str(path), read_only=True) as db:
        columns = [row[0] for row in db.execute(f"DESCRIBE {table}").fetchall()]
    history = ["from_site", "from_week", "until_week"] if table in HISTORY else []
    assert columns == [*table_fields(table), *history]


@pytest.mark.parametrize("table", TABLES)
def test_a_column_may_be_empty_where_the_codebook_says_so(path, table):
    Warehouse(path).__exit__(None, None, None)
    with duckdb.connect(str(path), read_only=True) as db:
        described = db.execute(f"DESCRIBE {table}").fetchall()
    may_be_empty = {row[0] for row in described if row[2] == "YES"} - {"until_week"}
    model = TABLES[table].to_schema().columns
    assert may_be_empty == {name for name, column in model.items() if column.nullable}


def test_uploads_and_weeks_are_logs_and_all_else_has_a_history():
    assert set(TABLES) - set(HISTORY) == {"uploads", "weeks"}


def test_what_must_be_there_is_refused_without(warehouse):
    row = week_row(W1).assign(started=pd.Series([None], dtype="str"))
    with pytest.raises(duckdb.ConstraintException, match="started"):
        warehouse.append("weeks", row)


def test_values_come_back_in_the_types_that_went_in(warehouse):
    send(warehouse, W1, ("a", TERMS[0], 9000, True), ("b", TERMS[1], None, None))
    assert as_of(warehouse, W1) == {
        ("a", TERMS[0], 9000, True), ("b", TERMS[1], None, None),
    }  # fmt: skip


# Versions


def test_an_unchanged_row_keeps_its_version(path):
    with Warehouse(path) as warehouse:
        send(warehouse, W1, ("a", TERMS[0], 5, None), ("b", TERMS[0], None, True))
        send(warehouse, W2, ("a", TERMS[0], 5, None), ("b", TERMS[0], None, False))
    assert versions(path) == [
        ("a", None, W1, None),
        ("b", False, W2, None),
        ("b", True, W1, W2),
    ]


def versions(path):
    with duckdb.connect(str(path), read_only=True) as db:
        return db.execute(
            "SELECT complication_key, needed_surgery, from_week, until_week FROM complications "
            "ORDER BY 1, 2"
        ).fetchall()


def test_a_question_as_of_any_week(warehouse):
    send(warehouse, W1, ("a", TERMS[0], 5, None))
    send(warehouse, W3, ("a", TERMS[0], 6, None))
    assert as_of(warehouse, "2025-W52") == set()
    assert as_of(warehouse, W1) == as_of(warehouse, W2) == {("a", TERMS[0], 5, None)}
    assert as_of(warehouse, W3) == as_of(warehouse, WEEKS[9]) == {("a", TERMS[0], 6, None)}


def test_a_row_that_left_and_came_back(warehouse):
    send(warehouse, W1, ("a", TERMS[0], 5, None))
    send(warehouse, W2)
    send(warehouse, W3, ("a", TERMS[0], 5, None))
    assert [len(as_of(warehouse, week)) for week in (W1, W2, W3)] == [1, 0, 1]


def test_a_centre_does_not_touch_another_ones_rows(warehouse):
    send(warehouse, W1, ("a", TERMS[0], 5, None), site="alder")
    send(warehouse, W1, ("b", TERMS[0], 5, None), site="birch")
    send(warehouse, W2, site="birch")
    assert as_of(warehouse, W2) == {("a", TERMS[0], 5, None)}
    assert told(warehouse.standing("complications", "alder")) == {("a", TERMS[0], 5, None)}
    assert told(warehouse.standing("complications", "birch")) == set()


def test_a_week_taken_back_leaves_the_week_before_standing(path):
    with Warehouse(path) as warehouse:
        send(warehouse, W1, ("a", TERMS[0], 5, None), ("b", TERMS[0], None, True))
        before = versions_after_closing(warehouse, path)
    with Warehouse(path) as warehouse:
        send(warehouse, W2, ("b", TERMS[0], None, False), ("c", TERMS[0], None, None))
        warehouse.undo_week("alder", W2)
    assert versions(path) == before


def versions_after_closing(warehouse, path):
    warehouse.__exit__(None, None, None)
    return versions(path)


def test_a_week_taken_back_forgets_that_centres_uploads_of_that_week_alone(warehouse):
    for key, week, site in (("a1", W1, "alder"), ("a2", W2, "alder"), ("b2", W2, "birch")):
        warehouse.append("uploads", upload_row(key, week, site))
    warehouse.undo_week("alder", W2)
    assert list(warehouse.log("uploads")["upload_key"]) == ["a1", "b2"]


def test_weeks_are_told_oldest_first_and_can_be_forgotten(warehouse):
    for week in (W3, W1, W2):
        warehouse.append("weeks", week_row(week))
    assert warehouse.weeks() == [W1, W2, W3]
    warehouse.forget_week(W2)
    assert warehouse.weeks() == [W1, W3]


SITES = st.sampled_from(["alder", "birch"])
SENT = st.dictionaries(
    st.sampled_from("ab"),
    st.tuples(st.sampled_from(TERMS), st.none() | st.just(1), st.none() | st.booleans()),
)


class History(RuleBasedStateMachine):
    """Weeks of two centres, merged, merged again and taken back, beside a plain dict of weeks."""

    @initialize(alder=SENT, birch=SENT)
    def first_week(self, alder, birch):
        self.warehouse = Warehouse(Path(":memory:"))
        self.held = [{"alder": set(), "birch": set()}]
        self.merge_again("alder", alder)
        self.merge_again("birch", birch)

    @property
    def week(self):
        return WEEKS[len(self.held) - 1]

    @rule(site=SITES, sent=SENT)
    def next_week(self, site, sent):
        """The other centre sends nothing: what it sent before holds on."""
        self.held.append(dict(self.held[-1]))
        self.merge_again(site, sent)

    @rule(site=SITES, sent=SENT)
    def merge_again(self, site, sent):
        self.warehouse.undo_week(site, self.week)
        rows = [(site + key, *values) for key, values in sent.items()]
        send(self.warehouse, self.week, *rows, site=site)
        self.held[-1][site] = set(rows)

    @rule(site=SITES)
    def take_back(self, site):
        self.warehouse.undo_week(site, self.week)
        self.held[-1][site] = self.held[-2][site] if len(self.held) > 1 else set()

    @invariant()
    def every_week_is_as_it_was(self):
        for week, sites in zip(WEEKS, self.held, strict=False):
            assert as_of(self.warehouse, week) == set().union(*sites.values()), week

    def teardown(self):
        self.warehouse.__exit__(None, None, None)


History.TestCase.settings = settings(max_examples=40, stateful_step_count=12, deadline=None)
TestHistory = History.TestCase


# One transaction


def test_an_exception_leaves_the_warehouse_as_it_was(path):
    with Warehouse(path) as warehouse:
        send(warehouse, W1, ("a", TERMS[0], 5, None))
        with pytest.raises(KeyboardInterrupt), warehouse.transaction():
            send(warehouse, W2, ("b", TERMS[0], 5, None))
            warehouse.append("weeks", week_row(W2))
            raise KeyboardInterrupt
        assert as_of(warehouse, W2) == {("a", TERMS[0], 5, None)}
        assert warehouse.weeks() == []


def test_a_transaction_that_ends_is_kept(path):
    with Warehouse(path) as warehouse, warehouse.transaction():
        send(warehouse, W1, ("a", TERMS[0], 5, None))
    with Warehouse(path, read_only=True) as warehouse:
        assert as_of(warehouse, W1) == {("a", TERMS[0], 5, None)}


KILLED_IN_THE_MIDDLE = """
import sys, time
from pathlib import Path
sys.path.insert(0, sys.argv[2])
from test_warehouse import TERMS, W2, Warehouse, send, upload_row, week_row
with Warehouse(Path(sys.argv[1])) as warehouse, warehouse.transaction():
    send(warehouse, W2, ("b", TERMS[0], 5, None))
    warehouse.append("uploads", upload_row("a2", W2))
    warehouse.append("weeks", week_row(W2))
    print("written", flush=True)
    time.sleep(60)
"""


def test_a_process_killed_in_the_middle_leaves_the_warehouse_as_it_was(path):
    with Warehouse(path) as warehouse:
        send(warehouse, W1, ("a", TERMS[0], 5, None))
        warehouse.append("weeks", week_row(W1))
    words = [sys.executable, "-c", KILLED_IN_THE_MIDDLE, str(path), str(Path(__file__).parent)]
    with subprocess.Popen(words, stdout=subprocess.PIPE, cwd=Path(__file__).parents[2]) as process:
        assert process.stdout.readline() == b"written\n"
        process.send_signal(signal.SIGKILL)
    with Warehouse(path) as warehouse:
        assert as_of(warehouse, W2) == {("a", TERMS[0], 5, None)}
        assert warehouse.weeks() == [W1]
        assert warehouse.log("uploads").empty


# Files that are no warehouse


def test_a_file_that_is_no_warehouse_is_refused_by_name(path):
    path.write_bytes(b"no database " * 1000)
    with pytest.raises(StudyError, match="cannot be opened; another program has it open, or it is"):
        Warehouse(path)


def test_a_warehouse_that_was_never_made_cannot_be_read(path):
    with pytest.raises(StudyError):
        Warehouse(path, read_only=True)
    assert not path.exists()


def test_a_warehouse_of_an_older_version_is_brought_up_to_date(tmp_path):
    path = tmp_path / "warehouse.duckdb"
    with Warehouse(path) as new:
        new.append("uploads", upload_row("one", W1))
        new.replace_site("complications", "alder", W1, events(("C-1", TERMS[0], 3, True)))
    older = duckdb.connect(str(path))
    older.execute("ALTER TABLE uploads DROP COLUMN file_kind")
    older.execute("ALTER TABLE complications DROP COLUMN term")
    older.execute("DROP TABLE headings")
    older.close()
    with Warehouse(path, read_only=True) as opened:
        assert not opened.is_built()
    bring_up_to_date(path)
    with Warehouse(path) as opened:
        assert opened.is_built()
        assert opened.log("uploads")["upload_key"].to_list() == ["one"]
        opened.append("uploads", upload_row("two", W2))
        opened.replace_site("complications", "alder", W2, events(("C-1", TERMS[1], 4, False)))
        assert opened.log("uploads")[["upload_key", "week", "sheets"]].values.tolist() == [
            ["one", W1, 1], ["two", W2, 1],
        ]  # fmt: skip
        assert told(opened.standing("complications", "alder")) == {("C-1", TERMS[1], 4, False)}


def test_what_held_before_a_week_is_seen_after_it_too(warehouse):
    for week, term in ((W1, TERMS[0]), (W2, TERMS[1])):
        warehouse.replace_site("complications", "alder", week, events(("C-1", term, 3, None)))
    for week, terms in ((W1, []), (W2, [TERMS[0]]), (W3, [TERMS[1]])):
        assert warehouse.before("complications", "alder", week)["term"].to_list() == terms
    assert warehouse.before("complications", "birch", W3).empty
