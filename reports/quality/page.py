"""quality.html: what fails first, then completeness, open findings, and what holds."""

from __future__ import annotations

import json
from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd

from reports.labels import site_title
from reports.numerals import count, plural
from reports.page import render
from reports.quality.checks import QUALITY_TABLES
from reports.quality.completeness import completeness
from reports.quality.open_findings import AGES, by_age, by_rule
from reports.quality.run import ALL_SITES, QualityRun, run_checks, with_origin
from reports.run_view import RunView
from schemas.codebook import table_fields

# In the order of gravity.
CHECK_WORDS: dict[str, str] = {
    "volume": "has rows",
    "unique": "each once",
    "linked": "operation is known",
    "present": "never empty",
    "codes": "known codes",
    "possible": "possible values",
    "complete": "complete",
    "usual": "usual values",
}


@dataclass(frozen=True)
class CheckLine:
    """One check over the batches on which it came out alike."""

    table: str
    title: str
    column: str
    check: str
    expected: str
    found: tuple[str, ...]
    what_to_do: str


def write_quality(view: RunView, folder: Path) -> list[Path]:
    """Write quality.html and quality/quality_results.json into `folder`. Returns their paths.

    Runs the expectation suites (about six seconds to import the library, then a few). Raises
    QualityCheckError where an expectation cannot be evaluated.
    """
    tables = {name: getattr(view, name) for name in QUALITY_TABLES}
    run = run_checks(view.study, tables)
    page_path = folder / "quality.html"
    results_path = folder / "quality" / "quality_results.json"
    results_path.parent.mkdir(parents=True, exist_ok=True)
    page_path.write_text(_page(view, tables, run), encoding="utf-8")
    results_path.write_text(_results_json(view, run), encoding="utf-8")
    return [page_path, results_path]


def _results_json(view: RunView, run: QualityRun) -> str:
    """Suite definitions and counts: no value, no id, no time."""
    results = run.results.astype(object).where(run.results.notna(), None)
    content = {
        "study": view.study.study.name,
        "week": view.week,
        "code_version": view.code_version,
        "suites": run.suites,
        "results": results.to_dict("records"),
    }
    return json.dumps(content, ensure_ascii=False, indent=1, sort_keys=True) + "\n"


def _page(view: RunView, tables: Mapping[str, pd.DataFrame], run: QualityRun) -> str:
    results, sites = run.results, view.study.sites
    return render(
        "quality.html",
        title="Data quality",
        study_name=view.study.study.name,
        week=view.week,
        code_version=view.code_version,
        here="quality.html",
        sites={site: site_title(view, site) for site in sites},
        check_words=CHECK_WORDS,
        total=len(results),
        failed=_lines(view, results[~results["success"]]),
        untested=_lines(view, results[results["success"] & (results["tested"] == 0)]),
        passed=_lines(view, results[results["success"] & (results["tested"] > 0)]),
        completeness={
            table: completeness(table, with_origin(table, tables), sites)
            for table in QUALITY_TABLES
        },
        rows={table: len(frame) for table, frame in tables.items()},
        rules=by_rule(view.findings, sites),
        ages=by_age(view.findings, sites, view.week),
        age_titles=[words for _, words in AGES],
    )


def _lines(view: RunView, results: pd.DataFrame) -> list[CheckLine]:
    """Checks in one line over the centres: the gravest first, then in the codebook's order."""
    lines = [
        _line(view, group)
        for _, group in results.groupby(
            ["table", "column", "check", "expected", "what_to_do"], sort=False
        )
    ]
    return sorted(lines, key=lambda line: list(CHECK_WORDS).index(line.check))


def _line(view: RunView, group: pd.DataFrame) -> CheckLine:
    first = group.iloc[0]
    declared = table_fields(first["table"]).get(first["column"])
    return CheckLine(
        table=first["table"],
        title=declared.title if declared else "Operation" if first["column"] else "Rows",
        column=first["column"],
        check=first["check"],
        expected=first["expected"],
        found=tuple(_found(view, row) for row in group.to_dict("records")),
        what_to_do=first["what_to_do"],
    )


def _found(view: RunView, row: Mapping[Hashable, Any]) -> str:
    """'Alderholt Eye Hospital: 4 of 20'."""
    site = str(row["site"])
    where = "all centres" if site == ALL_SITES else site_title(view, site)
    if row["check"] == "volume":
        return f"{where}: {plural(row['tested'], 'row')}"
    return f"{where}: {count(row['unexpected'])} of {count(row['tested'])}"
