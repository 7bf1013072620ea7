"""Which centre has sent what, what is late, what is open; read from the ledger in a moment."""

from __future__ import annotations

from dataclasses import dataclass

from pipelines.errors import StudyError
from pipelines.ledger import Ledger, read_ledger
from pipelines.study_folder import StudyFolder
from pipelines.uploads import PASSING, TOO_LATE, find_uploads
from schemas.study import read_study


@dataclass(frozen=True)
class SiteStatus:
    """One centre as of the latest merged week."""

    site: str
    title: str
    last_good_week: str | None
    is_late: bool
    set_aside: tuple[str, ...]
    waiting: int
    open_findings: dict[str, int]


@dataclass(frozen=True)
class Status:
    """The study as of its latest merged week; `waiting` counts files that no merge has taken."""

    week: str | None
    sites: tuple[SiteStatus, ...]
    next_step: str


def status(folder: StudyFolder) -> Status:
    """Status of a study, merged or not. Raises SettingsError or StudyError."""
    study = read_study(folder.root)
    sent = find_uploads(folder.uploads, study.sites)
    ledger = _ledger(folder)
    known = {
        (e["site"], e["week"], e["sha256"]) for e in ledger.uploads if e["reason"] not in PASSING
    }
    on_disk = {file.key for each in sent for file in each.files}
    sites = tuple(
        _site_status(
            site,
            ledger,
            on_disk,
            sum(
                (site, each.week, file.sha256) not in known
                for each in sent
                if each.site == site
                for file in each.files
            ),
        )
        for site in study.sites
    )
    return Status(ledger.week or None, sites, _next_step(sites, ledger.week))


def _ledger(folder: StudyFolder) -> Ledger:
    if not folder.ledger.exists():
        return Ledger("", {}, [], {})
    try:
        return read_ledger(folder.ledger)
    except (ValueError, TypeError):
        raise StudyError(
            f"{folder.ledger}: damaged; run foveapool merge, which writes it anew"
        ) from None


def _site_status(site: str, ledger: Ledger, on_disk: set[str], waiting: int) -> SiteStatus:
    last = ledger.last_good_week(site)
    late = [e for e in ledger.entries(on_disk) if e["reason"] == TOO_LATE]
    aside = [e for e in [*ledger.set_aside(ledger.week), *late] if e["site"] == site]
    return SiteStatus(
        site=site,
        title=ledger.titles.get(site, site),
        last_good_week=last,
        is_late=bool(ledger.week) and last != ledger.week,
        set_aside=tuple(f"{entry['file_name']}: {entry['reason']}" for entry in aside),
        waiting=waiting,
        open_findings=ledger.open_findings.get(site, {}),
    )


def _next_step(sites: tuple[SiteStatus, ...], week: str) -> str:
    if any(site.waiting for site in sites):
        return "run foveapool merge: files are waiting"
    if aside := [site.site for site in sites if site.set_aside]:
        return f"ask {', '.join(aside)} for a file that can be read"
    if late := [site.site for site in sites if site.is_late]:
        return f"remind {', '.join(late)}: nothing came for {week}"
    if any(site.open_findings for site in sites):
        return "send each centre its folder in out/returns"
    return "nothing"
