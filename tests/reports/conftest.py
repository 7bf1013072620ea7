"""A small study of three fictional centres, as pages see it at week 2026-W47.

Alder has sent and is merged, Birch has sent nothing this week, Cedar's file was set aside.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from html.parser import HTMLParser

import pandas as pd
import pytest
from scipy.stats import binomtest

from reports.labels import field_title
from reports.run_view import RunView
from schemas.codebook import TABLES
from schemas.pooled_tables import MAIN
from schemas.rules import RULES
from schemas.study import Study
from transforms.pooling.estimates import as_table

SITE_TITLES = {
    "alder": "Alderholt Eye Hospital",
    "birch": "Birchmoor Eye Clinic",
    "cedar": "Cedar Reach Hospital",
}

ALL = ("all", "all")


def table_frame(table: str, rows: Iterable[dict[str, object]]) -> pd.DataFrame:
    """Rows with the columns and types of the codebook; what a row leaves out is missing."""
    columns = TABLES[table].to_schema().columns
    frame = pd.DataFrame(list(rows)).reindex(columns=list(columns))
    return frame.astype({name: str(column.dtype) for name, column in columns.items()})


def proportion(
    outcome: str, visit: str, of: tuple[str, str], events: int, eyes: int
) -> dict[str, object]:
    """One row of a pooled table: a proportion with its Wilson interval; `of` is group and level."""
    group, level = of
    bounds = binomtest(events, eyes).proportion_ci(method="wilson")
    return {
        "outcome": outcome, "visit": visit, "group": group, "level": level,
        "technique": level if group == "technique" else "all", "statistic": "proportion",
        "eyes": eyes, "events": events, "estimate": events / eyes,
        "ci_low": bounds.low, "ci_high": bounds.high, "sites": 3,
        "method": "crude proportion, Wilson interval", "masked": False,
    }  # fmt: skip


def measures(
    outcome: str, visit: str, eyes: int, values: dict[str, float], of: tuple[str, str] = ALL
) -> list[dict[str, object]]:
    """Rows of a pooled table: statistics of one measure; `of` is group and level."""
    group, level = of
    return [
        {
            "outcome": outcome, "visit": visit, "group": group, "level": level,
            "technique": level if group == "technique" else "all", "statistic": statistic,
            "eyes": eyes, "estimate": value,
            "ci_low": value - 0.1 if statistic == "mean" else None,
            "ci_high": value + 0.1 if statistic == "mean" else None,
            "sites": 3, "method": "crude, all eyes together", "masked": False,
        }
        for statistic, value in values.items()
    ]  # fmt: skip


def pooled_frame(rows: Iterable[dict[str, object]]) -> pd.DataFrame:
    """Rows of a pooled table in its columns, of the main analysis unless they say otherwise."""
    return as_table([{"analysis": MAIN} | row for row in rows])


def closure_table(alder: tuple[int, int] = (8, 10)) -> pd.DataFrame:
    """Closed of graded eyes; Birch 5 of 8 and Cedar 4 of 6 beside Alder."""
    alder_closed, alder_graded = alder
    closed, graded = alder_closed + 9, alder_graded + 14
    by_level = {
        ("site", "alder"): (alder_closed, alder_graded),
        ("site", "birch"): (5, 8),
        ("site", "cedar"): (4, 6),
        ("technique", "autologous_retina"): (closed - 7, graded - 12),
        ("technique", "amniotic_membrane"): (7, 12),
        ("size_class", "large_over_400"): (closed, graded),
        ("all", "all"): (closed, graded),
    }
    outcomes = (
        ("primary_closure_strict", "m3", 0), ("primary_closure_broad", "m3", 1),
        ("final_closure_strict", "last", 0), ("final_closure_broad", "last", 1),
    )  # fmt: skip
    # One eye of Alder, with a graft, is flat open: closed in the broad sense alone.
    with_flat_open = {"all", "alder", "autologous_retina", "large_over_400"}
    return pooled_frame(
        proportion(
            outcome, visit, (group, level), events + (more if level in with_flat_open else 0), eyes
        )
        for outcome, visit, more in outcomes
        for (group, level), (events, eyes) in by_level.items()
    )


def function_table() -> pd.DataFrame:
    """Acuity at baseline and month 3, its change, and who gained or lost three lines."""
    statistics = ("mean", "sd", "median", "lower_quartile", "upper_quartile")
    acuity = {"baseline": (1.31, 0.42, 1.28, 1.0, 1.6), "m3": (0.94, 0.38, 0.9, 0.7, 1.2)}
    change = dict(zip(statistics, (-0.37, 0.3, -0.34, -0.6, -0.1), strict=True))
    rows = [
        row
        for visit, values in acuity.items()
        for row in measures("acuity_logmar", visit, 22, dict(zip(statistics, values, strict=True)))
    ]
    rows += measures("acuity_change_logmar", "m3", 20, change)
    rows += measures("acuity_change_logmar", "m3", 9, change, ("site", "alder"))
    rows += [
        proportion("acuity_gained_0.3", "m3", ALL, 12, 20),
        proportion("acuity_lost_0.3", "m3", ALL, 1, 20),
        proportion("acuity_gained_0.3", "m3", ("site", "alder"), 6, 9),
        proportion("acuity_lost_0.3", "m3", ("site", "alder"), 1, 9),
    ]
    return pooled_frame([*rows, *sensitivity_rows(), *device_rows(), *recording_rows()])


def sensitivity_rows() -> list[dict[str, object]]:
    """Two other analyses of the change at month 3: without an eye of light perception, and by
    category."""
    imputed = proportion("acuity_change_imputed", "m3", ALL, 3, 20)
    without = [
        *measures("acuity_change_logmar", "m3", 19, {"mean": -0.41}),
        proportion("acuity_change_imputed", "m3", ALL, 2, 19),
        proportion("acuity_gained_0.3", "m3", ALL, 12, 19),
        proportion("acuity_lost_0.3", "m3", ALL, 1, 19),
    ]
    category = [
        proportion("acuity_better_by_category", "m3", ALL, 13, 20),
        proportion("acuity_same_by_category", "m3", ALL, 5, 20),
        proportion("acuity_worse_by_category", "m3", ALL, 2, 20),
    ]
    return [
        imputed,
        *[row | {"analysis": "without_light_perception"} for row in without],
        *[row | {"analysis": "ordered_category"} for row in category],
    ]


def device_rows() -> list[dict[str, object]]:
    """Mean sensitivity within two classes of devices, of unknown ones, and by luminance."""
    bowl, micro, unknown = ("device", "10000 asb"), ("device", "400 asb"), ("device", "unknown")
    rows = [
        *measures("perimetry_mean_db", "baseline", 8, {"mean": 22.5}, bowl),
        *measures("perimetry_mean_db", "m3", 7, {"mean": 25.0}, bowl),
        *measures("perimetry_mean_change_db", "m3", 6, {"mean": 2.2}, bowl),
        *measures("perimetry_mean_db", "baseline", 3, {"mean": 9.0}, micro),
        *measures("perimetry_mean_db", "baseline", 4, {"mean": math.nan}, unknown),
    ]
    of_all = measures("perimetry_mean_at_10000_asb_db", "baseline", 11, {"mean": 22.6})
    return [*rows, *[row | {"analysis": "by_luminance"} for row in of_all]]


def recording_rows() -> list[dict[str, object]]:
    """What is pooled of the electroretinogram: a log ratio and a z-score."""
    statistics = {"mean": 0.69, "sd": 0.2, "median": 0.7, "lower_quartile": 0.5}
    return [
        *measures("mferg_ring1_log_ratio", "m3", 5, statistics | {"upper_quartile": 0.9}),
        *measures("mferg_ring1_z", "baseline", 6, {"mean": -3.1}),
    ]


def finding(number: int, site: str, rule: str, field: str, **more: object) -> dict[str, object]:
    """One finding of a rule, in the rule's own words."""
    declared = RULES[rule]
    words = {
        "title": field_title(field), "low": 0, "high": 1, "unit": "", "other": "row 9",
        "heading": "H", "count": 2,
    }  # fmt: skip
    return {
        "finding_key": f"finding-{number}", "site": site, "case_label": f"case-{number}",
        "upload": f"{site}-2026-W47", "sheet": "Log", "cell": f"B{number}", "field": field,
        "rule": rule, "action": declared.action, "message": declared.message.format(**words),
        "mend": declared.mend.format(**words), "first_week": "2026-W46", "last_week": "2026-W47",
        "state": "open",
    } | more  # fmt: skip


def upload(site: str, week: str, read: int, held: int, **more: object) -> dict[str, object]:
    """One upload that was merged."""
    return {
        "upload_key": f"{site}-{week}", "site": site, "week": week, "file_name": f"{site}.xlsx",
        "sha256": "0" * 64, "sheets": 2, "rows_read": read, "rows_merged": read - held,
        "rows_held": held, "status": "merged",
    } | more  # fmt: skip


def operations() -> pd.DataFrame:
    """Twenty-five eyes, and a second operation on Alder's last; of one eye in four the minimum
    diameter is missing."""
    eyes = {"alder": 12, "birch": 8, "cedar": 6}
    return table_frame(
        "operations",
        (
            {
                "operation_key": f"{site}-op{number}", "patient_key": f"{site}-p{number}",
                "site": site, "eye": "left" if number % 2 else "right", "operation_year": 2025,
                "eye_operation_number": 2 if (site, number) == ("alder", 11) else 1,
                "age_years": 60 + number, "graft_material": "autologous_retina",
                "hole_min_diameter_um": None if number % 4 == 3 else 600.0 + 10 * number,
                "tamponade": "sf6", "tamponade_pct": 20.0,
            }
            for site, total in eyes.items()
            for number in range(total)
        ),
    )  # fmt: skip


def visits() -> pd.DataFrame:
    """A baseline visit of every eye; the first eye of each centre counts fingers."""
    return table_frame(
        "visits",
        (
            {
                "visit_key": f"{key}-1", "operation_key": key, "day": -10, "visit": "baseline",
                "acuity_logmar": 1.98 if key.endswith("op0") else 1.3,
                "acuity_notation": "decimal",
                "acuity_off_chart": "counting_fingers" if key.endswith("op0") else None,
                "acuity_imputed": key.endswith("op0"), "closure": "elevated_open",
            }
            for key in operations()["operation_key"]
        ),
    )  # fmt: skip


def small_study() -> Study:
    """Settings with four windows and three centres."""
    return Study.model_validate(
        {
            "study": {"name": "Lanternshore holes", "sites": tuple(SITE_TITLES)},
            "visits": {"m1": (14, 30, 59), "m3": (60, 90, 135), "m6": (136, 180, 270)},
            "closure": {"primary": "m3"},
        }
    )


class PageReader(HTMLParser):
    """Collects what a page says: `tables` by the label of the container they scroll in."""

    def __init__(self) -> None:
        super().__init__()
        self.tables: dict[str, list[list[str]]] = {}
        self.attributes: list[tuple[str, str, str]] = []
        self.tags: list[str] = []
        self.words: list[str] = []
        self._label = ""
        self._in_cell = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [(tag, name, value or "") for name, value in attrs]
        given = dict(attrs)
        if tag == "div" and given.get("class") == "scroll":
            self._label = given.get("aria-label") or ""
            self.tables[self._label] = []
        elif tag == "tr":
            self.tables[self._label].append([])
        elif tag in ("td", "th"):
            self.tables[self._label][-1].append("")
            self._in_cell = True

    def handle_endtag(self, tag: str) -> None:
        if tag in ("td", "th"):
            self._in_cell = False

    def handle_data(self, data: str) -> None:
        words = " ".join(data.split())
        if not words or self.tags[-1:] == ["style"]:
            return
        self.words.append(words)
        if self._in_cell:
            row = self.tables[self._label][-1]
            row[-1] = f"{row[-1]} {words}".strip()

    @property
    def text(self) -> str:
        """Everything that the page says, in one line."""
        return " ".join(self.words)

    def row(self, table: str, title: str) -> list[str]:
        """Cells of the row of a table that begins with `title`, without it."""
        return next(cells[1:] for cells in self.tables[table] if cells[:1] == [title])


@pytest.fixture
def read_page() -> Callable[[str], PageReader]:
    """Reads a page back."""

    def read(page: str) -> PageReader:
        reader = PageReader()
        reader.feed(page)
        return reader

    return read


@pytest.fixture
def view() -> RunView:
    """The small study at week 2026-W47, the second merged week."""
    return RunView(
        study=small_study(),
        site_titles=SITE_TITLES,
        week="2026-W47",
        previous_week="2026-W46",
        code_version="0.1.0",
        operations=operations(),
        visits=visits(),
        complications=table_frame(
            "complications",
            [{"complication_key": "c1", "operation_key": "alder-op1", "term": "cataract"}],
        ),
        findings=table_frame(
            "findings",
            [
                finding(1, "alder", "value_missing", "hole_min_diameter"),
                finding(2, "alder", "value_missing", "hole_min_diameter"),
                finding(3, "birch", "value_missing", "hole_min_diameter", first_week="2026-W47"),
                finding(4, "alder", "operation_doubled", "operation_date"),
                finding(5, "alder", "acuity_unreadable", "acuity", state="fixed"),
            ],
        ),
        unread=table_frame(
            "unread",
            [
                {"site": "alder", "upload": "alder-2026-W47", "sheet": "Log", "cell": "AA2",
                 "heading": "Remarks"},
                {"site": "alder", "upload": "alder-2026-W47", "sheet": "Log", "cell": "K2",
                 "heading": "Telephone"},
                {"site": "alder", "upload": "alder-2026-W47", "sheet": "Old patients"},
            ],
        ),
        uploads=table_frame(
            "uploads",
            [
                upload("alder", "2026-W46", 38, 1),
                upload("birch", "2026-W46", 30, 0),
                upload("cedar", "2026-W46", 25, 2),
                upload("alder", "2026-W47", 40, 3),
                upload("cedar", "2026-W47", 0, 0, status="set_aside",
                       reason="the file is protected by a password"),
            ],
        ),
        changes=pd.DataFrame(
            {
                "site": ["alder", "birch", "cedar"],
                "cases_new": [2, 0, 0],
                "cases_changed": [3, 0, 0],
                "cases_gone": [1, 0, 0],
                "findings_opened": [1, 1, 0],
                "findings_fixed": [1, 0, 0],
            }
        ),
        tables={"closure": closure_table(), "function": function_table()},
        previous_tables={"closure": closure_table((7, 9)), "function": function_table()},
    )  # fmt: skip
