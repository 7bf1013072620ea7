"""The dictionary says everything that is declared, with its source, and derives all of it."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable, Iterator
from dataclasses import asdict
from html import unescape
from pathlib import Path
from typing import get_args

import pandas as pd
import pytest
from vocabulary_entries import entries

import schemas
from reports.dictionary.columns import READINGS
from reports.dictionary.page import dictionary_page
from reports.numerals import plain
from reports.run_view import RunView
from schemas import word_lists
from schemas.codebook import RECORD_KINDS, TABLES, table_fields, upload_fields
from schemas.conventions import CONVENTIONS
from schemas.conversions import AS_TYPED, conversions
from schemas.crosswalk import LANGUAGES, Source
from schemas.field import Reading
from schemas.rules import RULES
from schemas.study import Study
from schemas.translation import translated
from schemas.units import UNITS, unit_sign

SCHEMAS = Path(schemas.__path__[0])
VOCABULARIES = SCHEMAS / "vocabularies"
CONVENTION_FILES = sorted((SCHEMAS / "conventions").glob("*.toml"))
WORD_FILES = sorted(VOCABULARIES.rglob("*.toml"))
COLUMNS = [(table, name) for table in TABLES for name in table_fields(table)]
INLINE = re.compile(r"</?(?:code|a|strong|span|abbr|q)\b[^>]*>")

Entry = Callable[[str], str]


@pytest.fixture(scope="module")
def settings_alone() -> RunView:
    """A study of which nothing has come yet: the dictionary shows no data."""
    study = Study.model_validate(
        {
            "study": {"name": "Lanternshore holes", "sites": ("alder",)},
            "visits": {"m3": (60, 90, 135)},
            "closure": {"primary": "m3"},
        }
    )
    frames = ("operations", "visits", "complications", "findings", "unread", "uploads", "changes")
    return RunView(
        study=study, site_titles={}, week="2026-W47", previous_week=None, code_version="0.1.0",
        tables={}, **dict.fromkeys(frames, pd.DataFrame()),
    )  # fmt: skip


@pytest.fixture(scope="module")
def page(settings_alone: RunView) -> str:
    return dictionary_page(settings_alone)


@pytest.fixture(scope="module")
def words(page: str) -> str:
    """Everything that the page says, in one line."""
    return f" {said(page)} "


@pytest.fixture(scope="module")
def entry(page: str) -> Entry:
    """What the page says at an anchor: of a field, a rule, a list, a row."""

    def read(anchor: str) -> str:
        start = page.index(f'id="{anchor}"')
        tag = page[page.rindex("<", 0, start) + 1 : start].strip()
        return said(page[page.index(">", start) + 1 : page.index(f"</{tag}>", start)])

    return read


def said(html: str) -> str:
    """The words of a piece of a page, in one line."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", INLINE.sub("", html))).split())


# Columns


@pytest.mark.parametrize("table", TABLES)
def test_every_column_is_told_with_title_meaning_unit_and_codes(entry: Entry, table: str):
    for name, spec in table_fields(table).items():
        text = entry(f"{table}.{name}")
        assert text.startswith(f"{spec.title} {name} ")
        assert spec.description in text
        assert unit_sign(spec.unit) in text
        assert [c for c, means in (spec.codes or {}).items() if f"{c} {means}" not in text] == []
        assert (spec.source or "") in text


@pytest.mark.parametrize("table", TABLES)
def test_every_limit_stands_with_its_source(entry: Entry, table: str):
    for name, spec in table_fields(table).items():
        for word, limits in (("Possible", spec.hard), ("Usual", spec.soft)):
            if limits is None:
                continue
            text = entry(f"{table}.{name}")
            assert f"{word}: {plain(limits.low)} to {plain(limits.high)}" in text
            assert limits.source
            assert f"({limits.source})" in text


@pytest.mark.parametrize(
    ("column", "words"),
    [
        ("operations.hole_min_diameter_um",
         "Possible: 50 to 3000 µm; outside, the value is set to missing (project choice"),
        ("operations.hole_min_diameter_um",
         "Called for: always; the centre is asked where it is empty"),
        ("operations.hole_min_diameter_um", "From: hole_min_diameter, read as a number"),
        ("operations.graft_diameter_um",
         "Called for: where Technique is one of: Free graft of the patient's own"),
        ("operations.pfcl_use",
         "From: pfcl_use, read as words for a code; where it is not given, from technique"),
        ("operations.pfcl_use", "Words: pfcl_use"),
        ("operations.graft_oversize_min_pct",
         "From: worked out from graft_diameter, hole_min_diameter; "
         "rule graft_oversize_min_pct, version 1"),
        ("operations.primary_closure_strict", "From: worked out from closure; rule"),
        ("operations.operation_key", "From: made by the tool"),
        ("visits.acuity_logmar", "Words: off_chart"),
        ("visits.under_tamponade", "Words: yes_no"),
    ],
)  # fmt: skip
def test_a_column_is_told_with_what_it_comes_from_and_when_it_is_called_for(
    entry: Entry, column: str, words: str
):
    assert words in entry(column)


def test_every_way_of_reading_a_cell_has_its_words():
    assert set(READINGS) == set(get_args(Reading))


# Upload fields


@pytest.mark.parametrize("kind", RECORD_KINDS)
def test_every_upload_field_is_told_with_the_headings_that_are_known(entry: Entry, kind: str):
    listed = [
        *entries(VOCABULARIES / "headings" / "case.toml"),
        *entries(VOCABULARIES / "headings" / f"{kind}.toml"),
    ]
    for name, upload in upload_fields(kind).items():
        text = f"{entry(f'upload-{kind}-{name}')} "
        words = [word for field, _, word in listed if field == name]
        words += [translated(upload.spec.title, language) for language in LANGUAGES]
        assert [word for word in words if f" {' '.join(word.split())} " not in text] == []


@pytest.mark.parametrize(
    ("field", "declared"),
    [
        ("operation-hole_min_diameter", "unit, one of um, mm, dd (must be); since"),
        ("operation-axial_length", "unit, one of mm, um; since"),
        ("operation-tamponade", "codes"),
        ("visit-acuity", "notation, one of snellen_feet, snellen_metres, decimal, logmar, letters, "
         "letters_100, letters_4m, letters_1m; letters_a_line; correction, one of corrected, "),
        ("visit-perimetry_md", "unit, one of dB; loss, one of negative, positive; since"),
        ("visit-closure", "scheme, one of types_2003, contours_1999, filling_2020"),
        ("visit-mferg_ring1_p1", "unit, one of nV/deg2, nV, uV; area_deg2; since"),
    ],
)  # fmt: skip
def test_what_a_crosswalk_may_declare_of_a_field_is_told(entry: Entry, field: str, declared: str):
    assert f"May be declared: {declared}" in entry(f"upload-{field}")


def test_every_detail_of_a_crosswalk_is_explained(entry: Entry):
    for name, detail in Source.model_fields.items():
        assert detail.description
        assert entry(f"detail-{name}").startswith(f"{name} {detail.description}")


def test_the_record_number_is_told_to_be_a_direct_identifier(entry: Entry):
    text = entry("identifier-patient_id")
    assert "becomes a random code. Identifier: direct" in text
    assert "On rows of: operation, visit, complication" in text


# Words


@pytest.mark.parametrize("path", WORD_FILES, ids=lambda path: path.stem)
def test_every_word_of_every_vocabulary_is_on_the_page(words: str, path: Path):
    listed = [" ".join(word.split()) for _, _, word in entries(path)]
    assert [word for word in listed if f" {word} " not in words] == []
    note = path.read_text(encoding="utf-8").split("\n\n")[0].removeprefix("# ")
    assert " ".join(note.replace("\n#", " ").replace("`", "").split()) in words


def test_words_stand_by_code_then_by_language(entry: Entry):
    text = entry("words-lens_status")
    places = [
        text.index(f" {word} ")
        for word in ("phakic Natural lens in place en", "fáquico", "phake", "phak", "fácico",
                     "pseudophakic Artificial lens in place en")
    ]  # fmt: skip
    assert places == sorted(places)


@pytest.fixture
def own_vocabularies(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A copy of the vocabularies that the page is made from, for a test to write into."""
    shutil.copytree(VOCABULARIES, tmp_path / "vocabularies")
    monkeypatch.setattr(word_lists, "files", lambda package: tmp_path)
    _forget_word_lists()
    yield tmp_path / "vocabularies"
    _forget_word_lists()


def _forget_word_lists() -> None:
    word_lists.word_list.cache_clear()
    word_lists.word_list_names.cache_clear()


def test_a_word_that_is_added_to_a_vocabulary_shows_and_is_escaped(
    settings_alone: RunView, own_vocabularies: Path
):
    file = own_vocabularies / "eye.toml"
    added = """en = ['<b onclick="x">starboard</b> & "co"', """
    file.write_text(file.read_text(encoding="utf-8").replace("en = [", added, 1), encoding="utf-8")
    page = dictionary_page(settings_alone)
    assert "<b onclick" not in page
    assert "&lt;b onclick=&#34;x&#34;&gt;starboard&lt;/b&gt; &amp; &#34;co&#34;" in page


def test_a_vocabulary_that_is_added_shows(settings_alone: RunView, own_vocabularies: Path):
    new = own_vocabularies / "moon.toml"
    new.write_text("# Phases of `the` <moon>.\n\n[full]\nde = ['Vollmond']\n", encoding="utf-8")
    page = dictionary_page(settings_alone)
    assert "Phases of <code>the</code> &lt;moon&gt;." in page
    assert "Vollmond" in page


# Rules by which values are made, units and conventions


def test_every_rule_by_which_a_value_is_made_stands_with_version_and_source(entry: Entry):
    for rule in conversions().values():
        anchor = re.sub(r"[^A-Za-z0-9_]", "-", rule.name)
        text = entry(f"conversion-{anchor}")
        assert f"{rule.name} version {rule.version} {rule.what} Source: {rule.source}" in text


def test_every_unit_stands_with_its_spellings(page: str):
    text = said(page[page.index('id="units"') : page.index('id="conventions"')])
    for units in UNITS.values():
        for name, unit in units.items():
            assert f"{name} " in text
            assert " · ".join(unit.spellings) in text


def test_a_unit_is_told_with_its_factor_and_where_that_comes_from(entry: Entry):
    assert "dd x 1500 = µm, nominal Source: teaching value" in entry("conversion-dd_to_um")
    assert AS_TYPED not in entry("conversion-dd_to_um")


@pytest.mark.parametrize("table", CONVENTIONS, ids=lambda table: table.file)
def test_every_number_of_every_convention_stands_with_title_version_and_source(
    words: str, entry: Entry, table
):
    assert " ".join(table.note.replace("`", "").split()) in words
    for convention in table.entries.values():
        text = entry(f"convention-{convention.name}")
        told = f"{convention.title} {convention.name} version {convention.version} "
        assert text.startswith(told)
        assert text.endswith(convention.source)
        given = asdict(convention)
        for shared in ("name", "title", "version", "source"):
            del given[shared]
        cells = text.removeprefix(told).removesuffix(convention.source)
        said_numbers = {float(number) for number in re.findall(r"(?<!\w)\d+\.?\d*(?!\w)", cells)}
        for leaf in leaves(given):
            if isinstance(leaf, str):
                assert leaf in cells
            else:
                assert float(leaf) in said_numbers


def leaves(value: object) -> Iterator[object]:
    """Every single value within dictionaries and lists."""
    if isinstance(value, dict):
        for each in value.values():
            yield from leaves(each)
    elif isinstance(value, list | tuple):
        for each in value:
            yield from leaves(each)
    else:
        yield value


def test_every_file_of_conventions_is_a_table_of_the_page():
    assert sorted(table.file for table in CONVENTIONS) == [path.stem for path in CONVENTION_FILES]


def test_the_conventions_of_the_study_are_marked(entry: Entry):
    assert "in use" in entry("convention-measured_2009")
    assert "in use" in entry("convention-ivts_2013")
    assert "in use" not in entry("convention-national_cataract")


# Findings


def test_every_rule_of_findings_stands_with_its_words(entry: Entry):
    for rule in RULES.values():
        text = entry(f"rule-{rule.name}")
        for words in (rule.message, rule.mend):
            assert re.sub(r"\{(\w+)\}", r"‹\1›", words.replace("{title}", "{field}")) in text
        assert "{" not in text


# What was not checked against a publication


@pytest.mark.parametrize(
    ("anchor", "fact", "mark"),
    [
        ("operations.graft_oversize_min_pct", "15 %", "common practice, no source"),
        ("visits.perimetry_mean_db", "25 to 27 dB", "common practice, no source"),
        ("visits.microperimetry_mean_db", "Often missing", "common practice, no source"),
        ("operations.hole_form_factor", "Br J Ophthalmol 2002;86:390", "from memory"),
        ("operations.macular_hole_index", "Am J Ophthalmol 2004", "from memory"),
        ("operations.tamponade_pct", "usual range of each gas", "from memory"),
        ("operations.tamponade_viscosity_cst", "Usual: 1000 to 5700 cSt", "from memory"),
        ("visits.acuity_logmar", "Retina 2010", "year and inverse from memory"),
        ("visits.perimetry_points", "68", "from memory"),
        ("visits.perimetry_reliable", "over 15 % false positives", "from memory"),
        ("visits.perimetry_md_db", "conventions of sign", "from memory"),
        ("visits.mferg_ring1_p1_ms", "Usual: 25 to 60 ms", "from memory"),
        ("visits.iop_mmhg", "Usual: 5 to 30 mmHg", "from memory"),
        ("visits.elm", "three grades", "from memory"),
        ("visits.visit", "windows", "project choice"),
        ("operations.primary_closure_strict", "strict leads", "project choice"),
        ("visits.closure", "the states", "project choice"),
        ("operations.hole_size_band", "500 (Eye 2021;35:316-25)", "project choice"),
        ("conversion-acuity_letters", "85 - 50 logMAR", "its inverse from memory"),
        ("conversion-acuity_letters_4m", "letters at 4 m", "from memory"),
        ("conversion-counting_fingers_at_distance", "log10(60", "from memory"),
        ("conversion-dd_to_um", "1800 µm", "from memory"),
        ("conversion-loss_sign_turned", "Mean defect", "from memory"),
        ("convention-national_cataract", "2.40", "from memory"),
        ("convention-optical_1997", "3.00", "values from memory"),
        ("convention-measured_2009", "1.98", "labels, a project choice"),
        ("convention-contours_1999", "128:621", "from memory"),
        ("convention-filling_2020", "258:2629-2638", "letters from memory"),
        ("convention-bands_above_400", "650", "project choice"),
        ("convention-bowl_10000", "31.5 asb", "from memory"),
        ("convention-bowl_4000", "4000", "from memory"),
        ("convention-bowl_1000", "1000", "from memory"),
        ("convention-microperimeter_400", "400", "400 asb from memory"),
        ("convention-hexagons_61", "2, 5, 10, 15", "radii from memory"),
        ("convention-sf6", "18", "from memory"),
        ("convention-c2f6", "12", "from memory"),
        ("convention-c3f8", "10", "from memory"),
    ],
)  # fmt: skip
def test_a_fact_from_memory_or_by_choice_says_so_beside_the_value(
    entry: Entry, anchor: str, fact: str, mark: str
):
    text = entry(anchor)
    assert fact in text
    assert mark in text


# The page as a whole


def test_contents_lead_to_every_table_every_column_and_every_list(page: str):
    contents = page[page.index('class="toc"') : page.index("</nav>", page.index('class="toc"'))]
    wanted = [f"table-{table}" for table in TABLES]
    wanted += [f"{table}.{name}" for table, name in COLUMNS]
    wanted += [f"words-{path.stem}" for path in WORD_FILES if path.parent == VOCABULARIES]
    wanted += [f"conventions-{table.file}" for table in CONVENTIONS]
    assert [anchor for anchor in wanted if f'href="#{anchor}"' not in contents] == []


def test_the_page_is_small_enough_to_open_at_once(page: str):
    assert len(page.encode()) < 1_000_000


def test_it_says_that_cells_keep_the_rule_of_each_value(words: str):
    assert "the warehouse's table cells keeps the sheet and cell behind it" in words
