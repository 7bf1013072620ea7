"""The warehouse: the codebook's tables in DuckDB, with their history. Nothing else opens it.

Tables that can change keep every version of a row: it holds from `from_week` on, until `until_week`
where there is one. A question as of a week sees the versions that held then.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType

import duckdb
import pandas as pd

from pipelines.errors import StudyError
from schemas.codebook import TABLES, table_fields

# Tables whose rows are facts of one week and never change, by the column that names the week.
LOGS = {"uploads": "week", "weeks": "week"}
HISTORY = tuple(name for name in TABLES if name not in LOGS)

_SQL_TYPES = {"string": "VARCHAR", "str": "VARCHAR", "Int64": "BIGINT", "float64": "DOUBLE",
              "boolean": "BOOLEAN"}  # fmt: skip


def sql_type(dtype: str) -> str:
    """DuckDB's type for a column of the codebook."""
    return _SQL_TYPES[dtype.partition("[")[0]]


def table_ddl(table: str) -> str:
    """CREATE TABLE statement of one table, derived from the codebook."""
    schema = TABLES[table].to_schema()
    columns = [
        f'"{name}" {sql_type(str(schema.columns[name].dtype))}'
        + ("" if schema.columns[name].nullable else " NOT NULL")
        for name in table_fields(table)
    ]
    if table in HISTORY:
        columns += [
            "from_site VARCHAR NOT NULL",
            "from_week VARCHAR NOT NULL",
            "until_week VARCHAR",
        ]
    return f"CREATE TABLE IF NOT EXISTS {table} ({', '.join(columns)})"


def _quoted(table: str) -> str:
    return ", ".join(f'"{name}"' for name in table_fields(table))


def bring_up_to_date(path: Path) -> None:
    """Gives a warehouse of an older version the tables and columns of this one."""
    if not path.is_file():
        return
    with Warehouse(path, read_only=True) as known:
        if known.is_built():
            return
    with Warehouse(path):
        pass


class Warehouse:
    """An open warehouse. Use as a context manager."""

    def __init__(self, path: Path, *, read_only: bool = False) -> None:
        """Opens, and unless read only creates, the warehouse.

        Raises StudyError where it is in use elsewhere or no warehouse.
        """
        try:
            self._db = duckdb.connect(str(path), read_only=read_only)
        except duckdb.IOException:
            raise StudyError(
                f"{path}: cannot be opened; another program has it open, or it is damaged"
            ) from None
        # Sums of floating point numbers differ in their last bits between thread counts.
        self._db.execute("SET threads = 1")
        if not read_only:
            with self.transaction():
                for table in TABLES:
                    self._db.execute(table_ddl(table))
                    self._add_columns(table)

    def __enter__(self) -> Warehouse:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:  # fmt: skip
        self._db.close()

    @contextmanager
    def transaction(self) -> Iterator[None]:
        """Everything within is written, or nothing of it."""
        self._db.begin()
        try:
            yield
        except BaseException:
            self._db.rollback()
            raise
        self._db.commit()

    def _add_columns(self, table: str) -> None:
        """Gives a table of an older version the columns that the codebook has gained since."""
        known = self._columns(table)
        schema = TABLES[table].to_schema()
        for name in table_fields(table):
            if name not in known:
                kind = sql_type(str(schema.columns[name].dtype))
                self._db.execute(f'ALTER TABLE {table} ADD COLUMN "{name}" {kind}')

    def _columns(self, table: str) -> set[str]:
        found = self._db.execute(
            "SELECT column_name FROM information_schema.columns WHERE table_name = $1", [table]
        )
        return {row[0] for row in found.fetchall()}

    def is_built(self) -> bool:
        """False for a file in which a merge was killed before it had made the tables, and for one
        of an older version, which the next merge brings up to date."""
        return all(set(table_fields(table)) <= self._columns(table) for table in TABLES)

    def as_of(self, table: str, week: str) -> pd.DataFrame:
        """A table with history as it stood after `week` was merged, rows in a fixed order."""
        return self._db.execute(
            f"SELECT {_quoted(table)} FROM {table} "
            "WHERE from_week <= $1 AND (until_week IS NULL OR until_week > $1) ORDER BY ALL",
            [week],
        ).df()

    def standing(self, table: str, site: str) -> pd.DataFrame:
        """The rows of one centre that hold now."""
        return self._db.execute(
            f"SELECT {_quoted(table)} FROM {table} "
            "WHERE from_site = $1 AND until_week IS NULL ORDER BY ALL",
            [site],
        ).df()

    def before(self, table: str, site: str, week: str) -> pd.DataFrame:
        """The rows of one centre that held before `week` was merged."""
        return self._db.execute(
            f"SELECT {_quoted(table)} FROM {table} WHERE from_site = $1 AND from_week < $2 "
            "AND (until_week IS NULL OR until_week >= $2) ORDER BY ALL",
            [site, week],
        ).df()

    def log(self, table: str) -> pd.DataFrame:
        """All rows of `uploads` or `weeks`."""
        return self._db.execute(f"SELECT {_quoted(table)} FROM {table} ORDER BY ALL").df()

    def weeks(self) -> list[str]:
        """Merged weeks, oldest first."""
        return [row[0] for row in self._db.execute("SELECT week FROM weeks ORDER BY 1").fetchall()]

    def replace_site(self, table: str, site: str, week: str, rows: pd.DataFrame) -> None:
        """Makes `rows` what holds for a centre from `week` on; unchanged rows stay as they are."""
        columns = _quoted(table)
        standing = (
            f"SELECT {columns} FROM {table} WHERE from_site = '{site}' AND until_week IS NULL"
        )
        self._db.register("sent", rows[list(table_fields(table))])
        self._db.execute(
            f"CREATE OR REPLACE TEMP TABLE ended AS {standing} EXCEPT SELECT {columns} FROM sent"
        )
        self._db.execute(
            f"CREATE OR REPLACE TEMP TABLE begun AS SELECT {columns} FROM sent EXCEPT {standing}"
        )
        same = " AND ".join(
            f't."{name}" IS NOT DISTINCT FROM ended."{name}"' for name in table_fields(table)
        )
        self._db.execute(
            f"UPDATE {table} AS t SET until_week = $1 FROM ended "
            f"WHERE t.from_site = $2 AND t.until_week IS NULL AND {same}",
            [week, site],
        )
        self._db.execute(
            f"INSERT INTO {table} ({columns}, from_site, from_week) "
            f"SELECT {columns}, $1, $2 FROM begun",
            [site, week],
        )
        self._db.unregister("sent")

    def undo_week(self, site: str, week: str) -> None:
        """Takes back what a centre's upload of the latest week did, before it is merged again."""
        for table in HISTORY:
            self._db.execute(
                f"DELETE FROM {table} WHERE from_site = $1 AND from_week = $2", [site, week]
            )
            self._db.execute(
                f"UPDATE {table} SET until_week = NULL WHERE from_site = $1 AND until_week = $2",
                [site, week],
            )
        self._db.execute("DELETE FROM uploads WHERE site = $1 AND week = $2", [site, week])

    def append(self, table: str, rows: pd.DataFrame) -> None:
        """Adds rows to `uploads` or `weeks`."""
        self._db.register("sent", rows[list(table_fields(table))])
        columns = _quoted(table)
        self._db.execute(f"INSERT INTO {table} ({columns}) SELECT {columns} FROM sent")
        self._db.unregister("sent")

    def forget_week(self, week: str) -> None:
        """Removes the row of a merge that is done again."""
        self._db.execute("DELETE FROM weeks WHERE week = $1", [week])
