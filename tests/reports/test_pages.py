"""Pages say what the tables say, escape what they are given, and load nothing from elsewhere."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from reports.caution import CAUTION
from reports.pages import PAGES, write_pages
from reports.pooled_page import pooled_page
from reports.run_page import run_page
from reports.run_view import RunView
from schemas.study import DisclosureSettings

Page = Callable[[RunView], str]
ReadPage = Callable[[str], Any]

EACH_PAGE = pytest.mark.parametrize("page", list(PAGES.values()), ids=list(PAGES))
# What loads something from elsewhere, or runs.
LOADING_TAGS = {"script", "link", "img", "iframe", "object", "embed", "base", "form", "use"}


# The run page


@pytest.mark.parametrize(
    ("centre", "cells"),
    [
        #         status        of           read merged held open opened fixed new changed gone
        ("Alderholt Eye Hospital",
         ["✓ merged", "2026-W47", "40", "37", "3", "3", "1", "1", "2", "3", "1"]),
        ("Birchmoor Eye Clinic",
         ["! late", "2026-W46", "30", "30", "0", "1", "1", "0", "0", "0", "0"]),
        ("Cedar Reach Hospital",
         ["✕ set aside", "2026-W46", "25", "23", "2", "0", "0", "0", "0", "0", "0"]),
        ("All centres", ["", "", "95", "90", "5", "4", "2", "1", "2", "3", "1"]),
    ],
)  # fmt: skip
def test_each_centre_stands_with_its_status_and_counts(
    view: RunView, read_page: ReadPage, centre: str, cells: list[str]
):
    assert read_page(run_page(view)).row("Centres at week 2026-W47", centre) == cells


def test_three_things_to_do_come_first(view: RunView, read_page: ReadPage):
    text = read_page(run_page(view)).text
    tasks = text[text.index("To do next") : text.index("In the pool")]
    assert (
        "Ask Birchmoor Eye Clinic for its spreadsheet Nothing has come for week 2026-W47; its "
        "upload of week 2026-W46 stays in the pool." in tasks
    )
    assert (
        "Your file cedar.xlsx for week 2026-W47 could not be taken: the file is protected by a "
        "password. Please send the whole spreadsheet again. Until then your upload of week "
        "2026-W46 stays in the pool." in tasks
    )
    assert (
        "Have 1 finding mended: This patient, eye and date stand in another row too (row 9). "
        "Alderholt Eye Hospital 1. Keep one row for each operation." in tasks
    )


def test_what_keeps_rows_out_goes_before_what_is_only_asked(view: RunView, read_page: ReadPage):
    """Three findings ask for a diameter, one holds a row."""
    asked = replace(view, findings=view.findings[view.findings["action"] == "ask"])
    wanted = (
        "Have 3 findings mended: Minimum hole diameter is not given. Alderholt Eye Hospital 2, "
        "Birchmoor Eye Clinic 1. Enter it if it is known."
    )
    assert wanted in read_page(run_page(asked)).text
    assert wanted not in read_page(run_page(view)).text


def test_a_finding_that_differs_from_row_to_row_is_told_in_the_words_of_its_rule(
    view: RunView, read_page: ReadPage
):
    doubled = view.findings[view.findings["rule"] == "operation_doubled"]
    second = doubled.assign(
        finding_key="f9", message="This patient, eye and date stand in another row too (row 12)."
    )
    told = read_page(run_page(replace(view, findings=pd.concat([doubled, second])))).text
    assert "This patient, eye and date stand in another row too (…)." in told


def test_nothing_to_do_is_said(view: RunView, read_page: ReadPage):
    merged = view.uploads[view.uploads["week"] == "2026-W46"].assign(week="2026-W47")
    calm = replace(view, uploads=merged, findings=view.findings.iloc[0:0])
    assert "Nothing is waiting" in read_page(run_page(calm)).text


def test_a_centre_that_never_sent_a_readable_file_has_no_return(view: RunView, read_page: ReadPage):
    first_week = view.uploads[view.uploads["site"] != "birch"]
    page = read_page(run_page(replace(view, uploads=first_week)))
    assert page.row("Centres at week 2026-W47", "Birchmoor Eye Clinic")[:3] == [
        "! late", "none yet", "0",
    ]  # fmt: skip
    assert not [value for _, _, value in page.attributes if value.startswith("returns/birch")]


@pytest.mark.parametrize(
    ("figure", "cells"),
    [
        ("Primary, strict", ["16/23", "69.6", "17/24", "70.8", "+1.3"]),
        ("Final, broad", ["17/23", "73.9", "18/24", "75.0", "+1.1"]),
        ("Primary, strict, Alderholt Eye Hospital", ["7/9", "77.8", "8/10", "80.0", "+2.2"]),
    ],
)
def test_what_moved_stands_beside_what_it_was(
    view: RunView, read_page: ReadPage, figure: str, cells: list[str]
):
    page = read_page(run_page(view))
    assert page.row("Pooled closure at weeks 2026-W46 and 2026-W47", figure) == cells


def test_a_centre_whose_figure_stayed_is_not_listed_as_moved(view: RunView, read_page: ReadPage):
    moved = read_page(run_page(view)).tables["Pooled closure at weeks 2026-W46 and 2026-W47"]
    assert not [row for row in moved if "Birchmoor" in row[0]]


def test_the_first_week_has_nothing_to_compare_with(view: RunView, read_page: ReadPage):
    first = replace(view, previous_week=None, previous_tables={})
    assert "This is the first merged week" in read_page(run_page(first)).text


def test_unread_headings_are_counted_and_named_from_left_to_right(
    view: RunView, read_page: ReadPage
):
    text = read_page(run_page(view)).text
    assert "Alderholt Eye Hospital: 1 sheet, 2 columns" in text
    assert "In “Log”: Telephone · Remarks" in text


# The page of pooled results


def test_closure_leads_with_the_primary_strict_figure(view: RunView, read_page: ReadPage):
    text = read_page(pooled_page(view)).text
    assert (
        "17 of 24 eyes with a known outcome were closed with no further macular operation: 70.8% "
        "(95% CI 50.8 to 85.1), strict definition." in text
    )
    # Twenty-five eyes, one of them operated on twice.
    assert (
        "1 of 25 eyes in the pool has no known outcome there (no graded scan, no earlier "
        "re-operation) and is left out." in text
    )


def _fraction(row: pd.Series) -> str:
    return f"{row['events']}/{row['eyes']}"


def _share(row: pd.Series) -> str:
    low, high = (f"{100 * row[end]:.1f}" for end in ("ci_low", "ci_high"))
    return f"{100 * row['estimate']:.1f} [{low}, {high}]"


@pytest.mark.parametrize(
    ("label", "of", "title"),
    [
        ("Closure by centre", ("site", "alder"), "Alderholt Eye Hospital"),
        ("Closure by centre", ("site", "cedar"), "Cedar Reach Hospital"),
        ("Closure by technique", ("technique", "amniotic_membrane"), "Human amniotic membrane"),
        ("Closure by size of the hole", ("size_class", "large_over_400"),
         "Minimum diameter over 400 µm"),
        ("Closure by centre", ("all", "all"), "All eyes"),
    ],
)  # fmt: skip
def test_closure_on_the_page_equals_the_table(
    view: RunView, read_page: ReadPage, label: str, of: tuple[str, str], title: str
):
    closure = view.tables["closure"]
    group, level = of
    rows = closure[(closure["group"] == group) & (closure["level"] == level)].set_index("outcome")
    expected = [
        text(rows.loc[outcome])
        for outcome in (
            "primary_closure_strict", "primary_closure_broad",
            "final_closure_strict", "final_closure_broad",
        )
        for text in (_fraction, _share)
    ]  # fmt: skip
    assert read_page(pooled_page(view)).row(label, title) == expected


@pytest.mark.parametrize(
    ("table", "title", "cells"),
    [
        ("Acuity by visit", "baseline (day −90 to 0)",
         ["22", "1.31 [1.21, 1.41]", "0.42", "1.28 [1.00, 1.60]"]),
        ("Acuity by visit", "m6 (day 136 to 270)", ["–", "–", "–", "–"]),
        ("Change of acuity by visit", "m3 (day 60 to 135)",
         ["20", "−0.37 [−0.47, −0.27]", "0.30", "−0.34 [−0.60, −0.10]",
          "12/20", "60.0 [38.7, 78.1]", "1/20", "5.0 [0.9, 23.6]"]),
        ("Change of acuity by centre", "Alderholt Eye Hospital",
         ["9", "−0.37 [−0.47, −0.27]", "0.30", "−0.34 [−0.60, −0.10]",
          "6/9", "66.7 [35.4, 87.9]", "1/9", "11.1 [2.0, 43.5]"]),
    ],
)  # fmt: skip
def test_acuity_on_the_page_equals_the_table(
    view: RunView, read_page: ReadPage, table: str, title: str, cells: list[str]
):
    assert read_page(pooled_page(view)).row(table, title) == cells


def test_masked_figures_are_named_as_masked_and_not_drawn(view: RunView, read_page: ReadPage):
    closure = view.tables["closure"].copy()
    numbers = ["eyes", "events", "estimate", "ci_low", "ci_high"]
    hidden = closure["level"] == "birch"
    closure.loc[hidden, numbers] = None
    closure.loc[hidden, "masked"] = True
    page = pooled_page(replace(view, tables=view.tables | {"closure": closure}))
    row = read_page(page).row("Closure by centre", "Birchmoor Eye Clinic")
    assert row == ["masked"] * 8
    # Alder, Cedar and two techniques, in two layouts.
    assert page.count('<rect class="estimate"') == (2 + 2) * 2


@pytest.mark.parametrize(
    ("internal_cell", "values", "sentence"),
    [
        (0, "3", "3 (11.5%) of 26 acuities"),
        (5, "masked", "Some of 26 acuities"),
    ],
)
def test_imputed_acuities_are_counted(
    view: RunView, read_page: ReadPage, internal_cell: int, values: str, sentence: str
):
    settings = DisclosureSettings(internal_cell=internal_cell)
    study = view.study.model_copy(update={"disclosure": settings})
    page = read_page(pooled_page(replace(view, study=study)))
    assert sentence in page.text
    assert page.row("Acuities off the chart", "Counting fingers") == ["1.98", values]
    assert page.row("Acuities off the chart", "Hand motion") == ["2.28", "0"]


def test_methods_say_that_pooling_is_crude(view: RunView, read_page: ReadPage):
    text = read_page(pooled_page(view)).text
    assert "Pooling is crude." in text
    assert "crude proportion, Wilson interval" in text
    assert "no model was run" in text


def test_two_rows_for_one_figure_are_refused(view: RunView):
    closure = view.tables["closure"]
    doubled = pd.concat([closure, closure.tail(1)])
    with pytest.raises(ValueError, match="two rows for final_closure_broad / last / all / all"):
        pooled_page(replace(view, tables=view.tables | {"closure": doubled}))


# Every page


@EACH_PAGE
def test_every_page_carries_the_caution(view: RunView, read_page: ReadPage, page: Page):
    assert CAUTION in read_page(page(view)).text


@EACH_PAGE
def test_a_title_that_looks_like_markup_stays_text(view: RunView, page: Page):
    evil = "<script>alert(1)</script> & \"Sons\" 'Ltd'"
    study = view.study.model_copy(
        update={"study": view.study.study.model_copy(update={"name": evil})}
    )
    written = page(replace(view, site_titles={"alder": evil}, study=study))
    assert "<script" not in written
    assert "&lt;script&gt;alert(1)&lt;/script&gt; &amp; " in written


@EACH_PAGE
def test_no_page_loads_or_runs_anything(view: RunView, read_page: ReadPage, page: Page):
    written = page(view)
    found = read_page(written)
    assert LOADING_TAGS.isdisjoint(found.tags)
    references = [value for _, name, value in found.attributes if name in ("href", "src")]
    assert references
    assert not [value for value in references if re.match(r"\s*([a-z]+:|//|/)", value, re.I)]
    assert not [name for _, name, _ in found.attributes if name.startswith("on")]
    assert "url(" not in written
    assert "@import" not in written
    assert "default-src 'none'" in written


@EACH_PAGE
def test_ids_are_unique_and_links_within_the_page_have_a_target(
    view: RunView, read_page: ReadPage, page: Page
):
    found = read_page(page(view)).attributes
    ids = [value for _, name, value in found if name == "id"]
    assert len(ids) == len(set(ids))
    inner = [value[1:] for _, name, value in found if name == "href" and value.startswith("#")]
    named = [one for _, name, value in found if name == "aria-labelledby" for one in value.split()]
    assert set(inner + named) <= set(ids)


@EACH_PAGE
def test_pages_know_no_random_code(view: RunView, page: Page):
    written = page(view)
    keys = [
        *view.operations["operation_key"], *view.operations["patient_key"],
        *view.findings["finding_key"], *view.findings["case_label"],
    ]  # fmt: skip
    assert [key for key in keys if key in written] == []


def test_the_same_view_gives_the_same_bytes_whatever_the_order_of_its_rows(
    view: RunView, tmp_path: Path
):
    turned = replace(
        view,
        **{
            name: getattr(view, name).iloc[::-1].reset_index(drop=True)
            for name in ("operations", "visits", "findings", "unread", "uploads", "changes")
        },
        tables={name: table.iloc[::-1] for name, table in view.tables.items()},
    )
    first = write_pages(view, tmp_path / "first")
    second = write_pages(turned, tmp_path / "second")
    assert [path.name for path in first] == ["index.html", "pooled.html", "dictionary.html"]
    assert [path.read_bytes() for path in first] == [path.read_bytes() for path in second]
