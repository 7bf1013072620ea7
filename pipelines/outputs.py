"""Builds everything that people open, aside, and switches it in as one folder."""

from __future__ import annotations

import contextlib
import hashlib
import json
import shutil
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

import pandas as pd

from pipelines.atomic import switch_folder, write_whole
from pipelines.ingest import read_upload
from pipelines.plan import Settings
from pipelines.study_folder import StudyFolder
from pipelines.uploads import UploadFile, site_week
from pipelines.versions import code_version, source_digest
from pipelines.warehouse import HISTORY, Warehouse
from reports.pages import write_pages
from reports.quality import write_quality
from reports.returns import ReturnSource, write_return
from reports.run_view import RunView
from reports.table_files import write_tables
from schemas.study import Study
from transforms.changes import changes_by_site
from transforms.pooling import pooled_tables
from transforms.reading import UnreadableUpload

RUN = "run.json"
MANIFEST = "outputs.json"


def build_outputs(folder: StudyFolder, settings: Settings) -> None:
    """Writes pages, tables, returns and run.json as of the latest merged week."""
    with Warehouse(folder.warehouse, read_only=True) as warehouse:
        view = run_view(warehouse, settings)
        weeks = warehouse.log("weeks")
    aside = folder.out.with_name("out.new")
    if aside.exists():
        shutil.rmtree(aside)
    aside.mkdir(parents=True)
    about = [view.study.study.name, f"Merged to week {view.week}, foveapool {view.code_version}"]
    write_tables(view.tables, aside / "tables", about=about)
    write_quality(view, aside)
    write_pages(view, aside)
    _write_returns(folder, settings, view, aside / "returns")
    run = json.dumps(run_in_numbers(view, weeks), indent=2, sort_keys=True)
    (aside / RUN).write_text(run + "\n", encoding="utf-8")
    manifest = _manifest(folder, settings, aside)
    switch_folder(aside, folder.out)
    write_whole(folder.store / MANIFEST, json.dumps(manifest, indent=0).encode())


def are_current(folder: StudyFolder, settings: Settings) -> bool:
    """True where the outputs are there, untouched, and made from what the store now holds."""
    manifest = folder.store / MANIFEST
    if not manifest.exists() or not folder.out.is_dir():
        return False
    try:
        known = json.loads(manifest.read_text(encoding="utf-8"))
    except ValueError:
        return False
    return bool(known == _manifest(folder, settings, folder.out))


def _manifest(folder: StudyFolder, settings: Settings, out: Path) -> dict[str, str]:
    return {"made_from": made_from(folder, settings), "outputs": _checksum(out)}


def made_from(folder: StudyFolder, settings: Settings) -> str:
    """Fingerprint of what outputs are made from: the store's uploads, settings and program."""
    with Warehouse(folder.warehouse, read_only=True) as warehouse:
        uploads = warehouse.log("uploads")
    parts = [
        source_digest("schemas", "transforms", "reports"),
        *sorted(settings.read_with.values()),
        *uploads["upload_key"],
    ]
    parts += list(uploads["read_with"])
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()


def _checksum(folder: Path) -> str:
    """One checksum over names and bytes of all files; returns are named as centres name theirs."""
    whole = hashlib.sha256()
    for path in sorted(folder.rglob("*")):
        if path.is_file():
            whole.update(str(path.relative_to(folder)).encode() + b"\0")
            whole.update(hashlib.sha256(path.read_bytes()).digest())
    return whole.hexdigest()


def run_view(warehouse: Warehouse, settings: Settings) -> RunView:
    """The study as of its latest merged week, beside the week before."""
    study = settings.study
    weeks = warehouse.weeks()
    week, before = weeks[-1], (weeks[-2] if len(weeks) > 1 else None)
    now = {table: warehouse.as_of(table, week) for table in HISTORY}
    then = {t: warehouse.as_of(t, before) if before else now[t].iloc[:0] for t in HISTORY}
    return RunView(
        study=study,
        site_titles={site: walk.title for site, walk in settings.crosswalks.items()},
        week=week,
        previous_week=before,
        code_version=code_version(),
        operations=now["operations"],
        visits=now["visits"],
        complications=now["complications"],
        findings=now["findings"],
        unread=now["unread"],
        uploads=warehouse.log("uploads"),
        changes=changes_by_site(then, now, study.sites),
        tables=_pooled(now, study),
        previous_tables=_pooled(then, study) if before else {},
    )


def _pooled(tables: Mapping[str, pd.DataFrame], study: Study) -> dict[str, pd.DataFrame]:
    return pooled_tables(
        tables["operations"], tables["visits"], study, study.disclosure.internal_cell
    )


def _write_returns(folder: StudyFolder, settings: Settings, view: RunView, returns: Path) -> None:
    """One folder a centre, from the files of its last good upload; for the owner's eyes alone."""
    returns.mkdir(mode=0o700)
    merged = view.uploads[view.uploads["status"] == "merged"]
    for site in settings.study.sites:
        of_site = merged[merged["site"] == site]
        last = of_site[of_site["week"] == of_site["week"].max()]
        sources = [*_sources(_files(folder, site, last))]
        findings = view.findings[view.findings["site"] == site]
        write_return(
            site, view.site_titles[site], sources, findings, returns / site,
            study_name=view.study.study.name, week=view.week, code_version=view.code_version,
        )  # fmt: skip


def _sources(files: Iterable[UploadFile]) -> Iterator[ReturnSource]:
    """The files as they were merged; one that changed since is as good as gone."""
    for file in files:
        with contextlib.suppress(UnreadableUpload):
            yield ReturnSource(file.name, file.key, read_upload(file))


def _files(folder: StudyFolder, site: str, uploads: pd.DataFrame) -> list[UploadFile]:
    """The uploads' files that are still there, found by key: names are kept only in part."""
    keys = set(uploads["upload_key"])
    folders = {week: folder.uploads / str(week) / site for week in uploads["week"].unique()}
    return [
        file
        for week, place in folders.items()
        if place.is_dir()
        for file in site_week(place, site, str(week)).files
        if file.key in keys
    ]


def run_in_numbers(view: RunView, weeks: pd.DataFrame) -> dict[str, object]:
    """The run for programs: per centre what was merged, set aside and found."""
    of_week = view.uploads[view.uploads["week"] == view.week]
    is_open = view.findings["state"] == "open"
    sites = {}
    for site in view.study.sites:
        sent = of_week[of_week["site"] == site]
        merged = view.uploads[(view.uploads["site"] == site) & (view.uploads["status"] == "merged")]
        aside = sent[sent["status"] == "set_aside"]
        sites[site] = {
            "title": view.site_titles[site],
            "sent": len(sent),
            "set_aside": [
                {"file": row["file_name"], "reason": row["reason"]}
                for row in aside.to_dict("records")
            ],
            "last_good_week": None if merged.empty else str(merged["week"].max()),
            **{n: int(sent[n].sum()) for n in ("rows_read", "rows_merged", "rows_held")},
            "findings_open": int((is_open & (view.findings["site"] == site)).sum()),
        }
    return {
        "study": view.study.study.name,
        "week": view.week,
        "previous_week": view.previous_week,
        "eyes": int((view.operations["eye_operation_number"] == 1).sum()),
        "operations": len(view.operations),
        "visits": len(view.visits),
        "complications": len(view.complications),
        "sites": sites,
        "weeks": weeks.to_dict("records"),
    }
