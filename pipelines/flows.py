"""The weekly merge as a Prefect flow; its tasks are thin wrappers over plain functions.

The flow's parameters and all names hold only folders, centre codes and weeks: Prefect keeps them in
its database. What tasks hand on to each other stays in memory.
Prefect reads its settings when this module is first imported: call
`prefect_environment.settle_environment` before.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any, cast

from prefect import flow, task
from prefect.client.schemas.objects import State, TaskRun
from prefect.futures import PrefectFuture
from prefect.task_runners import TaskRunner, ThreadPoolTaskRunner
from prefect.tasks import Task

from pipelines.commit import commit_weeks, late_uploads
from pipelines.errors import DiskTrouble, value_free
from pipelines.ingest import Ingested, ingest
from pipelines.last_upload import headings_before
from pipelines.linkage import Linkage, pseudonym_key
from pipelines.outputs import build_outputs
from pipelines.plan import make_plan, read_all_settings
from pipelines.progress import reporter
from pipelines.study_folder import StudyFolder
from pipelines.uploads import site_week
from pipelines.warehouse import Warehouse

# Prefect's own type for the argument is narrower than its runners' types.
RUNNER = cast(TaskRunner[PrefectFuture[Any]], ThreadPoolTaskRunner(max_workers=2))


def _is_disk_trouble(task: Task[Any, Any], run: TaskRun, state: State[Any]) -> bool:
    """A file on a network disk may be there on the second try; nothing else gets better."""
    return isinstance(state.result(raise_on_failure=False), DiskTrouble)


@task(
    task_run_name="ingest-{site}-{week}", retries=2, retry_delay_seconds=2,
    retry_condition_fn=_is_disk_trouble, persist_result=False, log_prints=False,
)  # fmt: skip
def ingest_upload(root: str, into: str, site: str, week: str, earlier: Ingested | None) -> Ingested:
    """Ingests one centre's upload of one week; `earlier` is its week before, of the same merge."""
    with value_free(f"upload of {site}, {week}"):
        folder = StudyFolder(Path(root), Path(into))
        settings = read_all_settings(folder)
        sent = site_week(folder.uploads / week / site, site, week)
        return ingest(
            sent, settings.crosswalks[site], settings.study, pseudonym_key(folder.key),
            settings.read_with[site],
            earlier.headings if earlier else headings_before(folder.warehouse, site, week),
        )  # fmt: skip


@task(task_run_name="commit", persist_result=False, log_prints=False)
def commit(root: str, into: str, started: str, ingested: list[Ingested]) -> None:
    """Writes all ingested uploads in one transaction, and late ones as set aside."""
    with value_free("writing the warehouse"):
        folder = StudyFolder(Path(root), Path(into))
        settings = read_all_settings(folder)
        late = late_uploads(make_plan(folder, settings, None).late, settings)
        linkage = Linkage(folder.linkage, pseudonym_key(folder.key))
        with Warehouse(folder.warehouse) as warehouse:
            commit_weeks(warehouse, linkage, ingested, started, utc_now(), late)


@task(task_run_name="outputs", persist_result=False, log_prints=False)
def outputs(root: str, into: str) -> None:
    """Builds pages, tables and returns."""
    with value_free("building the outputs"):
        folder = StudyFolder(Path(root), Path(into))
        build_outputs(folder, read_all_settings(folder))


def utc_now() -> str:
    """The time in UTC, ISO 8601, whole seconds."""
    return dt.datetime.now(dt.UTC).isoformat(timespec="seconds")


@flow(
    name="weekly-merge",
    flow_run_name="weekly-merge", task_runner=RUNNER,
    persist_result=False, log_prints=False,
)  # fmt: skip
def weekly_merge(root: str, into: str, pending: list[tuple[str, str]]) -> None:
    """Ingests every pending (centre, week), commits them together, builds the outputs."""
    started = utc_now()
    reporter().begin(len(pending))
    futures: list[PrefectFuture[Ingested]] = []
    last: dict[str, PrefectFuture[Ingested]] = {}
    for site, week in pending:
        last[site] = ingest_upload.submit(root, into, site, week, last.get(site))  # type: ignore[arg-type]
        futures.append(last[site])
    ingested = []
    for (site, week), future in zip(pending, futures, strict=True):
        ingested.append(future.result())
        reporter().ingested(site, week)
    reporter().step("writing the warehouse")
    commit(root, into, started, ingested)
    reporter().step("building pages and tables")
    outputs(root, into)
