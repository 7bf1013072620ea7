"""The run page: what to do next, how each centre stands, what moved since the last merge."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain
from string import Formatter
from typing import Any

import pandas as pd

from reports.estimates import NONE, Estimate, Subject, index_estimates
from reports.files_read import files_read
from reports.labels import closure_subjects, field_title, site_title
from reports.numerals import MISSING, is_missing, plural
from reports.page import render
from reports.rows import records
from reports.run_view import RunView
from schemas import codes
from schemas.rules import RULES

TASKS_SHOWN = 3
CHANGES = ("findings_opened", "findings_fixed", "cases_new", "cases_changed", "cases_gone")


@dataclass(frozen=True)
class Task:
    """One thing to do next. `to_send` is a text for the centre; `link` a file below out/."""

    headline: str
    text: str
    to_send: str = ""
    link: str = ""
    link_text: str = ""


@dataclass(frozen=True)
class CentreWeek:
    """How a centre stands at the week of the view; the rows are those of its last good upload."""

    site: str
    title: str
    last_good_week: str | None
    set_aside: tuple[dict[str, Any], ...]
    is_late: bool
    rows_read: int
    rows_merged: int
    rows_held: int
    findings_open: int
    changes: dict[str, Any]

    @property
    def tone(self) -> str:
        """Tone of the status: good, warn or bad."""
        if self.set_aside:
            return "bad"
        return "warn" if self.is_late else "good"

    @property
    def status(self) -> str:
        """The status in words."""
        if self.set_aside:
            files = plural(len(self.set_aside), "file")
            return "set aside" if self.is_late else f"merged, {files} set aside"
        return "late" if self.is_late else "merged"


@dataclass(frozen=True)
class Movement:
    """A pooled figure at the last merge and now."""

    figure: str
    before: Estimate
    now: Estimate

    @property
    def points(self) -> float | None:
        """Change in percentage points."""
        if self.before.value is None or self.now.value is None:
            return None
        return 100 * (self.now.value - self.before.value)


def run_page(view: RunView) -> str:
    """The page index.html."""
    centres = [_centre(view, site) for site in view.study.sites]
    return render(
        "index.html",
        title="Weekly merge",
        study_name=view.study.study.name,
        week=view.week,
        code_version=view.code_version,
        here="index.html",
        view=view,
        centres=centres,
        change_columns=CHANGES,
        totals={change: view.changes[change].sum() for change in CHANGES},
        tasks=_tasks(view, centres),
        movements=_movements(view),
        files=files_read(view),
        unread=_unread(view),
        table_names=sorted(view.tables),
    )


def _centre(view: RunView, site: str) -> CentreWeek:
    uploads = view.uploads[(view.uploads["site"] == site) & (view.uploads["week"] <= view.week)]
    good = uploads[uploads["status"] == "merged"]
    last = None if good.empty else str(good["week"].max())
    latest = good[good["week"] == last]
    set_aside = uploads[(uploads["status"] == "set_aside") & (uploads["week"] == view.week)]
    opened = view.findings[(view.findings["site"] == site) & (view.findings["state"] == "open")]
    changes = records(view.changes[view.changes["site"] == site])
    return CentreWeek(
        site=site,
        title=site_title(view, site),
        last_good_week=last,
        set_aside=tuple(records(set_aside.sort_values("upload_key"))),
        is_late=last != view.week,
        rows_read=int(latest["rows_read"].sum()),
        rows_merged=int(latest["rows_merged"].sum()),
        rows_held=int(latest["rows_held"].sum()),
        findings_open=len(opened),
        changes=changes[0] if changes else {},
    )


def _tasks(view: RunView, centres: list[CentreWeek]) -> list[Task]:
    """The first of each kind of task, then what else waits, in the same order."""
    kinds = [
        [_ask_for_upload(view, centre) for centre in _longest_silent(centres)],
        [
            _ask_for_mended_file(view, centre, upload)
            for centre in centres
            for upload in centre.set_aside
        ],
        list(_finding_tasks(view)),
    ]
    first = chain.from_iterable(kind[:1] for kind in kinds)
    rest = chain.from_iterable(kind[1:] for kind in kinds)
    return [*first, *rest][:TASKS_SHOWN]


def _longest_silent(centres: list[CentreWeek]) -> list[CentreWeek]:
    silent = [centre for centre in centres if centre.is_late and not centre.set_aside]
    return sorted(silent, key=lambda centre: centre.last_good_week or "")


def _what_is_kept(centre: CentreWeek, whose: str) -> str:
    if centre.last_good_week:
        return f"{whose} upload of week {centre.last_good_week} stays in the pool"
    return "nothing of this centre is in the pool"


def _ask_for_upload(view: RunView, centre: CentreWeek) -> Task:
    return Task(
        headline=f"Ask {centre.title} for its spreadsheet",
        text=f"Nothing has come for week {view.week}; {_what_is_kept(centre, 'its')}.",
    )


def _ask_for_mended_file(view: RunView, centre: CentreWeek, upload: dict[str, Any]) -> Task:
    name = upload["file_name"]
    file = "Your file" if is_missing(name) else f"Your file {name}"
    reason = "" if is_missing(upload["reason"]) else f": {str(upload['reason']).rstrip('. ')}"
    until_then = (
        f" Until then your upload of week {centre.last_good_week} stays in the pool."
        if centre.last_good_week
        else ""
    )
    return Task(
        headline=f"Ask {centre.title} to send its file again",
        text=f"Its upload of week {view.week} was set aside. Sentence to send:",
        to_send=f"{file} for week {view.week} could not be taken{reason}. Please send the whole "
        f"spreadsheet again.{until_then}",
    )


def _finding_tasks(view: RunView) -> Iterator[Task]:
    """One task for each kind of open finding: first what keeps rows out of the pool, then what
    blanks values, then what is only asked; of each the most frequent first."""
    gravity = list(codes.ACTION)
    waiting = view.findings[view.findings["state"] == "open"].assign(
        field=lambda frame: frame["field"].astype("object").where(frame["field"].notna(), "")
    )
    groups = [
        ((str(rule), str(field)), group)
        for (rule, field), group in waiting.groupby(["rule", "field"])
    ]

    def rank(item: tuple[tuple[str, str], pd.DataFrame]) -> tuple[int, int, tuple[str, str]]:
        kind, group = item
        return gravity.index(RULES[kind[0]].action), -len(group), kind

    for (rule, field), group in sorted(groups, key=rank):
        by_site = {
            site: int((group["site"] == site).sum())
            for site in view.study.sites
            if (group["site"] == site).any()
        }
        worst = max(by_site, key=lambda site: by_site[site])
        shares = ", ".join(f"{site_title(view, site)} {n}" for site, n in by_site.items())
        yield Task(
            headline=f"Have {plural(len(group), 'finding')} mended: "
            f"{_shared_words(group, 'message', RULES[rule].message, field)}",
            text=f"{shares}. {_shared_words(group, 'mend', RULES[rule].mend, field)}",
            link=f"returns/{worst}/findings.html",
            link_text=f"Findings of {site_title(view, worst)}",
        )


def _shared_words(group: pd.DataFrame, column: str, template: str, field: str) -> str:
    """The words of a group of findings; what differs between them becomes an ellipsis."""
    words = sorted(set(group[column].astype(str)))
    if len(words) == 1:
        return words[0]
    names = {name for _, name, _, _ in Formatter().parse(template) if name}
    known = {"title": field_title(field)}
    return template.format(**{name: known.get(name) or "…" for name in names})


def _movements(view: RunView) -> list[Movement]:
    """Pooled closure now and at the last merge; by centre only where the figure moved."""
    if "closure" not in view.previous_tables:
        return []
    before = index_estimates(view.previous_tables["closure"])
    now = index_estimates(view.tables["closure"])
    outcomes = closure_subjects(view.study)
    overall = [
        Movement(title, before.get(subject, NONE), now.get(subject, NONE))
        for subject, title in outcomes.items()
    ]
    leading, leading_title = next(iter(outcomes.items()))
    by_centre = [
        Movement(
            f"{leading_title}, {site_title(view, site)}",
            before.get(_of_site(leading, site), NONE),
            now.get(_of_site(leading, site), NONE),
        )
        for site in view.study.sites
    ]
    return overall + [moved for moved in by_centre if moved.before != moved.now]


def _of_site(subject: Subject, site: str) -> Subject:
    return subject._replace(group="site", level=site)


@dataclass(frozen=True)
class UnreadOfCentre:
    """What was left unread of a centre: whole sheets, and headings by sheet."""

    title: str
    sheets: list[str]
    headings: dict[str, list[str]]

    @property
    def columns(self) -> int:
        """Columns left unread in sheets that were read."""
        return sum(len(headings) for headings in self.headings.values())


def _unread(view: RunView) -> list[UnreadOfCentre]:
    found = []
    for site in view.study.sites:
        rows = records(view.unread[view.unread["site"] == site])
        if not rows:
            continue
        sheets = sorted({str(row["sheet"]) for row in rows if is_missing(row["cell"])})
        headings: dict[str, list[str]] = defaultdict(list)
        columns = [row for row in rows if not is_missing(row["cell"])]
        for row in sorted(columns, key=lambda row: (str(row["sheet"]), _place(str(row["cell"])))):
            heading = MISSING if is_missing(row["heading"]) else str(row["heading"])
            headings[str(row["sheet"])].append(heading)
        found.append(UnreadOfCentre(site_title(view, site), sheets, dict(headings)))
    return found


def _place(cell: str) -> tuple[int, str, int]:
    """Order of cells from left to right: Z before AA."""
    parts = re.fullmatch(r"([A-Z]+)(\d+)", cell)
    return (len(parts[1]), parts[1], int(parts[2])) if parts else (0, cell, 0)
