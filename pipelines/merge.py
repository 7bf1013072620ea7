"""The weekly merge from the outside: what there is to do, and a Prefect flow that does it."""

from __future__ import annotations

from dataclasses import dataclass

from pipelines.ledger import read_ledger, write_ledger
from pipelines.linkage import Linkage, pseudonym_key
from pipelines.outputs import are_current
from pipelines.plan import make_plan, read_all_settings
from pipelines.prefect_environment import prefect_server
from pipelines.progress import reporter
from pipelines.reading_process import reading_process
from pipelines.store_lock import locked
from pipelines.study_folder import StudyFolder
from pipelines.warehouse import bring_up_to_date


@dataclass(frozen=True)
class MergeResult:
    """What a merge did: weeks and centres merged, and what is set aside: in the latest
    week, and what came too late for an earlier one."""

    week: str
    merged: tuple[tuple[str, str], ...]
    set_aside: tuple[dict[str, str], ...]
    did_work: bool


def merge(folder: StudyFolder, until: str | None) -> MergeResult:
    """Merges what has arrived and builds every output.

    Raises SettingsError or StudyError, before anything is written, where settings, key or folders
    are wrong.
    """
    settings = read_all_settings(folder)
    with locked(folder.lock):
        Linkage(folder.linkage, pseudonym_key(folder.key))
        bring_up_to_date(folder.warehouse)
        plan = make_plan(folder, settings, until)
        pending = [(each.site, each.week) for each in plan.pending]
        did_work = plan.has_news or not are_current(folder, settings)
        if did_work:
            _run_flow(folder, pending)
        write_ledger(folder, settings)
    ledger = read_ledger(folder.ledger)
    late = {file.key for each in plan.late for file in each.files}
    set_aside = [*ledger.set_aside(ledger.week), *ledger.entries(late)]
    return MergeResult(ledger.week, tuple(pending), tuple(set_aside), did_work)


def _run_flow(folder: StudyFolder, pending: list[tuple[str, str]]) -> None:
    reporter().step("starting")
    reading_process().start()  # first: it takes as long to start as what follows
    with prefect_server(folder.prefect_home) as await_server:
        # Imported while the server starts; and Prefect must find its settings in place.
        from pipelines.flows import weekly_merge

        await_server()
        weekly_merge(str(folder.root), str(folder.into), pending)
