"""Data quality: planted faults are found and counted, and no value leaves the checks."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from reports.caution import CAUTION_SHORT
from reports.quality import write_quality
from reports.quality.checks import NOTHING_AT_ALL, OWN_ERROR, checks
from reports.quality.completeness import Filled, completeness
from reports.quality.expected import EXPECTED, NEVER_EMPTY
from reports.quality.open_findings import by_age, by_rule, weeks_between
from reports.quality.run import QualityCheckError, QualityRun, run_checks
from reports.run_view import RunView
from schemas.codebook import TABLES, table_fields
from schemas.study import Study

SITES = ("alder", "birch", "cedar")
STUDY = Study.model_validate(
    {
        "study": {"name": "Heath series", "sites": SITES},
        "visits": {"m3": (60, 90, 135)},
        "closure": {"primary": "m3"},
    }
)


def table_frame(table: str, rows: Iterable[dict[str, object]]) -> pd.DataFrame:
    columns = TABLES[table].to_schema().columns
    frame = pd.DataFrame(list(rows)).reindex(columns=list(columns))
    return frame.astype({name: str(column.dtype) for name, column in columns.items()})


def operation(site: str, number: int, **more: object) -> dict[str, object]:
    return {
        "operation_key": f"{site}-op{number}", "patient_key": f"{site}-p{number}", "site": site,
        "eye": "left", "eye_operation_number": 1, "operation_year": 2025, "age_years": 70,
        "sex": "female", "indication": "persistent", "prior_repairs": 1,
        "hole_min_diameter_um": 600.0, "hole_base_diameter_um": 1200.0,
        "graft_material": "amniotic_membrane", "tamponade": "air",
        "primary_closure": "closed_unspecified", "final_closure": "closed_unspecified",
    } | more  # fmt: skip


def visit(key: str, operation_key: str, **more: object) -> dict[str, object]:
    return {
        "visit_key": key, "operation_key": operation_key, "day": 90, "visit": "m3",
        "acuity_logmar": 0.7, "acuity_imputed": False, "closure": "closed_unspecified",
    } | more  # fmt: skip


def faulty_tables() -> dict[str, pd.DataFrame]:
    """Two centres with one fault a check; Cedar has sent nothing."""
    return {
        "operations": table_frame(
            "operations",
            [
                operation("alder", 1, hole_min_diameter_um=None),
                operation("alder", 2, tamponade="sf6", tamponade_pct=None),
                operation("alder", 3, tamponade="c3f8", tamponade_pct=14.0),
                operation("alder", 3, hole_base_diameter_um=2.5),
                operation("birch", 1, sex="planted-word", patient_key=None),
                operation("birch", 2, age_years=17, indication=None),
                operation("birch", 3, indication=None),
            ],
        ),
        "visits": table_frame(
            "visits",
            [
                visit("v1", "alder-op1"),
                visit("v2", "birch-op1", acuity_logmar=31337.5),
                visit("v3", "planted-key", visit="m99"),
            ],
        ),
        "complications": table_frame("complications", []),
    }


def as_view(tables: dict[str, pd.DataFrame], findings: pd.DataFrame) -> RunView:
    nothing = pd.DataFrame()
    return RunView(
        study=STUDY, site_titles={"alder": "Alder <b>Eye</b>"}, week="2026-W47",
        previous_week=None, code_version="0.1.0", **tables, findings=findings,
        unread=nothing, uploads=nothing, changes=nothing, tables={},
    )  # fmt: skip


def finding(number: int, site: str, rule: str, action: str, **more: object) -> dict[str, object]:
    return {
        "finding_key": f"F-{number}", "site": site, "upload": "u", "rule": rule, "action": action,
        "message": "planted-message", "mend": "m", "first_week": "2026-W47",
        "last_week": "2026-W47", "state": "open",
    } | more  # fmt: skip


FINDINGS = table_frame(
    "findings",
    [
        finding(1, "alder", "value_missing", "ask"),
        finding(2, "birch", "value_missing", "ask", first_week="2026-W46"),
        finding(3, "birch", "value_missing", "ask", first_week="2026-W44"),
        finding(4, "birch", "eye_missing", "hold", first_week="2025-W52"),
        finding(5, "birch", "eye_missing", "hold", state="fixed"),
        finding(6, "alder", "unit_unknown", "blank"),
    ],
)


@pytest.fixture(scope="session")
def quality_run() -> QualityRun:
    return run_checks(STUDY, faulty_tables())


@pytest.fixture(scope="session")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("quality")
    write_quality(as_view(faulty_tables(), FINDINGS), folder)
    return folder


@pytest.mark.parametrize(
    ("place", "tested", "unexpected", "success"),
    [
        (("operations", "all", "operation_key", "unique"), 7, 2, False),
        (("operations", "all", "patient_key", "present"), 7, 1, False),
        (("operations", "all", "sex", "codes"), 7, 1, False),
        (("operations", "all", "hole_base_diameter_um", "possible"), 7, 1, False),
        (("operations", "all", "eye", "codes"), 7, 0, True),
        # Missing values are not looked at.
        (("operations", "all", "tamponade_pct", "possible"), 1, 0, True),
        (("operations", "alder", "hole_min_diameter_um", "complete"), 4, 1, False),
        (("operations", "birch", "hole_min_diameter_um", "complete"), 3, 0, True),
        # Only the two operations with a gas call for its concentration.
        (("operations", "alder", "tamponade_pct", "complete"), 2, 1, False),
        (("operations", "birch", "tamponade_pct", "complete"), 0, 0, True),
        (("operations", "birch", "age_years", "usual"), 3, 1, False),
        (("operations", "birch", "indication", "complete"), 3, 2, False),
        (("operations", "alder", "", "volume"), 4, 0, True),
        (("operations", "cedar", "", "volume"), 0, 1, False),
        (("visits", "all", "operation_known", "linked"), 3, 1, False),
        (("visits", "all", "visit", "codes"), 3, 1, False),
        (("visits", "all", "acuity_logmar", "possible"), 3, 1, False),
        (("visits", "birch", "", "volume"), 1, 0, True),
        (("visits", "alder", "acuity_logmar", "complete"), 1, 0, True),
        (("complications", "all", "operation_known", "linked"), 0, 0, True),
    ],
)
def test_each_check_counts_what_it_looked_at_and_what_failed(
    quality_run: QualityRun,
    place: tuple[str, str, str, str],
    tested: int,
    unexpected: int,
    success: bool,
) -> None:
    by_place = quality_run.results.set_index(["table", "site", "column", "check"])
    asked = by_place.loc[[place], ["tested", "unexpected", "success"]]
    assert asked.to_numpy().tolist() == [[tested, unexpected, success]]


def test_percent_is_of_the_tested_values(quality_run: QualityRun) -> None:
    known = quality_run.results.query("tested > 0 and check != 'volume'")
    assert (known["percent"] == 100 * known["unexpected"] / known["tested"]).all()


def test_only_failures_say_what_to_do(quality_run: QualityRun) -> None:
    results = quality_run.results
    assert (results["success"] == (results["what_to_do"] == "")).all()
    said = results[~results["success"]].set_index(["site", "column", "check"])["what_to_do"]
    assert said["all", "sex", "codes"] == OWN_ERROR
    assert said["birch", "indication", "complete"].startswith("Ask the centre")


def test_a_field_that_a_centre_never_gives_points_at_its_crosswalk() -> None:
    indication = next(
        check
        for check in checks("operations", STUDY)
        if (check.column, check.kind) == ("indication", "complete")
    )
    assert indication.what_to_do(tested=3, unexpected=3) == NOTHING_AT_ALL


def test_a_field_that_no_cell_holds_names_what_it_is_worked_out_from() -> None:
    day = next(
        check
        for check in checks("visits", STUDY)
        if (check.column, check.kind) == ("day", "complete")
    )
    assert day.what_to_do(tested=3, unexpected=1).endswith("It is worked out from: Date of visit.")


def test_codebook_decides_what_is_checked() -> None:
    declared = {(check.column, check.kind) for check in checks("operations", STUDY)}
    fields = table_fields("operations")
    assert {name for name, kind in declared if kind == "possible"} == {
        name for name, spec in fields.items() if spec.hard
    }
    assert {name for name, kind in declared if kind == "codes"} == {
        "site", *(name for name, spec in fields.items() if spec.codes),
    }  # fmt: skip
    assert ("operation_key", "unique") in declared
    assert ("hole_min_diameter_um", "complete") in declared
    assert ("adjunct", "complete") not in declared


def test_thresholds_name_fields_of_the_codebook() -> None:
    for table, shares in EXPECTED.items():
        fields = table_fields(table)
        assert set(shares) <= set(fields)
        # What is required has its threshold already.
        assert not [name for name in shares if fields[name].required]
    assert set(NEVER_EMPTY) <= set(EXPECTED)


def test_an_expectation_that_cannot_be_evaluated_is_our_error_and_names_no_value() -> None:
    tables = faulty_tables()
    tables["operations"] = tables["operations"].drop(columns="sex")
    with pytest.raises(QualityCheckError, match=r"'codes' of operations\.sex could not") as told:
        run_checks(STUDY, tables)
    assert told.value.__cause__ is None
    assert "planted" not in str(told.value)


def test_no_value_reaches_page_or_file(written: Path) -> None:
    for path in (written / "quality.html", written / "quality" / "quality_results.json"):
        text = path.read_text(encoding="utf-8")
        for planted in ("planted", "31337", "m99", "alder-op", "birch-op"):
            assert planted not in text


def test_file_holds_suites_and_counts_without_ids_or_times(
    written: Path, quality_run: QualityRun
) -> None:
    content = json.loads((written / "quality" / "quality_results.json").read_text())
    assert set(content) == {"study", "week", "code_version", "suites", "results"}
    assert len(content["results"]) == len(quality_run.results)
    unique = next(
        entry
        for entry in content["suites"]["operations"]
        if entry["type"] == "expect_column_values_to_be_unique"
    )
    assert unique == {
        "type": "expect_column_values_to_be_unique",
        "kwargs": {"column": "operation_key"},
        "meta": {"check": "unique", "column": "operation_key", "place": 0},
        "severity": "critical",
    }


def test_same_view_gives_same_bytes(written: Path, tmp_path: Path) -> None:
    for path in write_quality(as_view(faulty_tables(), FINDINGS), tmp_path):
        assert path.read_bytes() == (written / path.relative_to(tmp_path)).read_bytes()


def test_page_tells_failures_first_by_gravity_and_escapes_titles(written: Path) -> None:
    page = (written / "quality.html").read_text(encoding="utf-8")
    order = [page.index(f'id="{part}"') for part in ("fails", "completeness", "findings", "holds")]
    assert order == sorted(order)
    failing = page[order[0] : order[1]]
    told = re.findall(r'class="status [a-z]+"><span [^>]*>.</span> ([a-z ]+)</span>', failing)
    gravity = ["has rows", "each once", "operation is known", "never empty", "known codes",
               "possible values", "complete", "usual values"]  # fmt: skip
    assert list(dict.fromkeys(told)) == gravity
    assert "cedar: 0 rows" in failing
    assert "Alder &lt;b&gt;Eye&lt;/b&gt;: 1 of 4" in failing
    assert "<b>Eye" not in page


def test_page_stands_alone_and_carries_the_caution(written: Path) -> None:
    page = (written / "quality.html").read_text(encoding="utf-8")
    assert CAUTION_SHORT in page
    assert "<script" not in page
    assert not re.findall(r'(?:src|href)="(?:https?:)?//', page)
    assert 'href="quality/quality_results.json"' in page


def test_page_of_an_empty_study_is_written(tmp_path: Path) -> None:
    empty = {name: frame.iloc[:0] for name, frame in faulty_tables().items()}
    view = replace(as_view(empty, FINDINGS.iloc[:0]))
    page = write_quality(view, tmp_path)[0].read_text(encoding="utf-8")
    assert "cedar: 0 rows" in page
    assert "0 findings are open" in page


def test_completeness_counts_rows_that_call_for_the_field() -> None:
    tables = faulty_tables()
    lines = {line.column: line for line in completeness("operations", tables["operations"], SITES)}
    uncalled = Filled(0, 0, 0.9)
    assert lines["tamponade_pct"].by_site == (Filled(2, 1, 0.9), uncalled, uncalled)
    assert lines["hole_min_diameter_um"].by_site[0] == Filled(4, 3, 0.9)
    assert lines["hole_min_diameter_um"].by_site[0].is_low
    assert not lines["hole_min_diameter_um"].by_site[2].is_low
    assert not lines["adjunct"].is_given
    # What the tool itself makes cannot be incomplete.
    assert "operation_key" not in lines


@pytest.mark.parametrize(
    ("called_for", "filled", "percent"), [(1000, 999, 99), (3, 3, 100), (0, 0, 0), (3, 1, 33)]
)
def test_hundred_per_cent_means_every_row(called_for: int, filled: int, percent: int) -> None:
    assert Filled(called_for, filled, None).percent == percent


def test_open_findings_by_rule_and_centre_held_rows_first() -> None:
    assert [(line.name, line.counts, line.total) for line in by_rule(FINDINGS, SITES)] == [
        ("eye_missing", (0, 1, 0), 1),
        ("unit_unknown", (1, 0, 0), 1),
        ("value_missing", (1, 2, 0), 3),
    ]


def test_open_findings_by_age() -> None:
    ages = {line.name: line.counts for line in by_age(FINDINGS, SITES, "2026-W47")}
    # this week, 1 week, 2 to 3 weeks, 4 weeks or more
    assert ages == {"alder": (2, 0, 0, 0), "birch": (0, 1, 1, 1), "cedar": (0, 0, 0, 0)}


@pytest.mark.parametrize(
    ("first", "last", "weeks"),
    [
        ("2026-W47", "2026-W47", 0),
        ("2026-W53", "2027-W01", 1),
        ("2025-W52", "2026-W02", 2),
        ("2026-W47", "2026-W46", 0),
    ],
)
def test_weeks_between_counts_iso_weeks_over_the_turn_of_the_year(
    first: str, last: str, weeks: int
) -> None:
    assert weeks_between(first, last) == weeks


def test_importing_the_package_does_not_import_great_expectations() -> None:
    command = "import sys, reports.quality; sys.exit('great_expectations' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", command], check=False).returncode == 0
