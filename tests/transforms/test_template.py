"""Filled templates are known by their headings and read without a crosswalk, in every language."""

import shutil
import subprocess
from functools import cache
from io import BytesIO

import openpyxl
import pandas as pd
import pytest
from filled_template import (
    code_of,
    filled_template,
    operations_csv,
    optional_headings,
    saved,
    value_of,
)
from upload_sheets import KEY, LATEST, OPERATIONS, STUDY, crosswalk, table

from reports.template import template_workbook
from schemas.codebook import RECORD_KINDS, RECORD_TABLE, upload_fields
from schemas.crosswalk import LANGUAGES
from schemas.template import TemplateCrosswalk, blank_crosswalk, heading, sheet_title, word_list
from transforms.intake import take_in
from transforms.layout.template import effective_crosswalk
from transforms.reading import UnreadableUpload, read_workbook

SITE = "heron"


def intake_of(name, content):
    """A file of a centre without a crosswalk, the whole way."""
    workbooks = {"u1": (name, read_workbook(name, content))}
    return take_in(
        workbooks, effective_crosswalk(workbooks, blank_crosswalk(SITE)), STUDY, KEY, LATEST
    )


def coded_columns(intake):
    """Everything that was entered with a list, by table; rows by their place in the sheet."""
    found = {}
    for kind in RECORD_KINDS:
        rows = intake.tables[RECORD_TABLE[kind]].sort_index()
        columns = [f.column for f in upload_fields(kind).values() if f.column and word_list(f)]
        found[kind] = rows.reindex(columns=columns).astype("object").reset_index(drop=True)
    return found


def told(intake):
    findings = intake.tables["findings"]
    return sorted(zip(findings["rule"], findings["cell"], strict=True), key=str)


@cache
def in_language(language):
    """The intake of the template with all cases."""
    return intake_of("heron.xlsx", filled_template(language))


@pytest.fixture
def english():
    return in_language("en")


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_word_of_every_list_is_read_back_to_its_code(language):
    intake = in_language(language)
    assert told(intake) == []
    assert intake.counts.loc["u1", "rows_held"] == 0
    for kind, rows in coded_columns(intake).items():
        for field in upload_fields(kind).values():
            if field.column is None or not word_list(field):
                continue
            entered = [code_of(field, place) for place in range(len(rows))]
            assert set(entered) >= set(word_list(field)), "each word is entered somewhere"
            if word_list(field).name == "yes_no":
                entered = [code and code == "yes" for code in entered]
            read = rows[field.column]
            assert list(read.where(read.notna(), None)) == entered, (kind, field.name)


@pytest.mark.parametrize("language", [language for language in LANGUAGES if language != "en"])
def test_all_languages_give_the_same_values(language, english):
    other = in_language(language)
    for kind in RECORD_KINDS:
        name = RECORD_TABLE[kind]
        pd.testing.assert_frame_equal(other.tables[name], english.tables[name])


def test_numbers_are_read_in_the_unit_of_the_heading(english):
    for kind, place in (("operation", 1), ("operation", 4), ("visit", 0)):
        rows = english.tables[RECORD_TABLE[kind]].sort_index()
        for field in upload_fields(kind).values():
            if field.spec.holds_numbers and (entered := value_of(field, place, "en")) is not None:
                assert rows.iloc[place].get(field.column) == entered, field.name
    assert set(english.tables["visits"]["day"]) == {90}
    assert set(english.tables["visits"]["mferg_ring_outer_deg"]) == {"2/5/10/15/25"}


@pytest.mark.parametrize(
    ("notation", "entered", "logmar"),
    [
        ("snellen_feet", "20/200", 1.0),
        ("snellen_metres", "6/60", 1.0),
        ("decimal", 0.1, 1.0),
        ("logmar", 1.0, 1.0),
        ("letters", 35, 1.0),
        ("letters_100", 50, 1.0),
        ("letters_4m", "12+23", 1.0),
        ("letters_4m", 25, 0.6),
        ("letters_1m", 25, 1.2),
    ],
)
def test_the_heading_says_the_notation(notation, entered, logmar):
    changes = {"acuity": entered, "acuity_pinhole": entered}
    intake = intake_of("heron.xlsx", filled_template("fr", notation, changes))
    visits = intake.tables["visits"]
    assert told(intake) == []
    assert set(visits["acuity_notation"]) == {notation}
    for column in ("acuity_logmar", "acuity_pinhole_logmar"):
        assert visits[column].to_numpy() == pytest.approx(logmar)


def test_the_two_scales_of_letters_are_told_apart_by_their_headings_alone():
    read = [
        intake_of("heron.xlsx", filled_template("en", notation, {"acuity": 50})).tables["visits"]
        for notation in ("letters", "letters_100")
    ]
    assert [set(visits["acuity_logmar"].round(3)) for visits in read] == [{0.7}, {1.0}]


@pytest.mark.parametrize("language", ["de", "pt"])
def test_a_template_saved_by_libreoffice_reads_the_same(language, english, tmp_path):
    office = shutil.which("soffice")
    if office is None:
        pytest.skip("LibreOffice is not installed, so no program here saves .ods as it does")
    (tmp_path / "heron.xlsx").write_bytes(filled_template(language))
    profile = f"-env:UserInstallation=file://{tmp_path}/profile"
    command = [office, profile, "--headless", "--convert-to", "ods", "--outdir", tmp_path]
    subprocess.run(
        [*command, tmp_path / "heron.xlsx"], check=True, capture_output=True, timeout=120
    )
    intake = intake_of("heron.ods", (tmp_path / "heron.ods").read_bytes())
    assert told(intake) == []
    for kind, rows in coded_columns(intake).items():
        pd.testing.assert_frame_equal(rows, coded_columns(english)[kind])


@pytest.mark.parametrize(
    ("language", "delimiter", "decimal"),
    [("en", ",", "."), ("de", ";", ","), ("es", "\t", ","), ("fr", ",", ".")],
)
def test_the_operations_alone_can_come_as_text(language, delimiter, decimal, english):
    intake = intake_of("heron.csv", operations_csv(language, delimiter, decimal))
    assert [rule for rule, _ in told(intake) if rule != "heading_missing"] == []
    rows = coded_columns(intake)["operation"]
    pd.testing.assert_frame_equal(rows, coded_columns(english)["operation"])
    assert set(intake.tables["operations"]["axial_length_mm"]) == {24.5}


def changed(change):
    book = openpyxl.load_workbook(BytesIO(filled_template("de")))
    change(book)
    return intake_of("irgendwie.xlsx", saved(book))


def delete_optional_columns(book):
    for kind in RECORD_KINDS:
        sheet = book[sheet_title(kind, "de")]
        optional = optional_headings(kind, "de")
        for cell in reversed(sheet[1]):
            if cell.value in optional:
                sheet.delete_cols(cell.column)


def add_a_column(book):
    sheet = book[sheet_title("operation", "de")]
    sheet.insert_cols(1)
    sheet.cell(1, 1, "Bemerkung")
    sheet.cell(2, 1, "x")


def put_a_title_above(book):
    sheet = book[sheet_title("operation", "de")]
    sheet.insert_rows(1, 2)
    sheet.cell(1, 1, "Unsere Serie")


def rename_the_sheets(book):
    for number, kind in enumerate(RECORD_KINDS):
        book[sheet_title(kind, "de")].title = f"Blatt {number}"


def take_the_marks_away(book):
    for kind in RECORD_KINDS:
        for cell in book[sheet_title(kind, "de")][1]:
            cell.value = cell.value.removesuffix(" *")


def delete_other_sheets(book):
    kept = {sheet_title(kind, "de") for kind in RECORD_KINDS}
    for sheet in [sheet for sheet in book if sheet.title not in kept]:
        del book[sheet.title]


@pytest.mark.parametrize(
    "change",
    [
        delete_optional_columns, add_a_column, put_a_title_above, rename_the_sheets,
        take_the_marks_away, delete_other_sheets,
    ],
)  # fmt: skip
def test_a_template_that_was_changed_is_read_by_what_its_headings_say(change, english):
    intake = changed(change)
    wanted = {"value_missing", "heading_missing"}  # where a column was deleted that every row needs
    assert {rule for rule, _ in told(intake)} <= wanted
    assert intake.counts.loc["u1"].to_dict() == english.counts.loc["u1"].to_dict()


def test_visits_without_a_date_are_placed_by_their_time_in_words():
    words = {"visit_date": None, "visit_time": "6 Monate"}
    intake = intake_of("heron.xlsx", filled_template("de", changes=words))
    assert set(intake.tables["visits"]["visit"]) == {"m6"}
    assert intake.counts.loc["u1", "rows_held"] == 0


def test_the_column_for_the_date_of_visits_may_be_deleted_where_their_time_is_in_words(english):
    def delete_the_date(book):
        sheet = book[sheet_title("visit", "de")]
        field = upload_fields("visit")["visit_date"]
        (cell,) = (c for c in sheet[1] if c.value == heading(field, "de", "logmar"))
        sheet.delete_cols(cell.column)

    intake = changed(delete_the_date)
    assert len(intake.tables["visits"]) == len(english.tables["visits"])
    assert set(intake.tables["visits"]["visit"]) == {"m3"}


def test_other_words_of_the_language_are_understood_as_everywhere():
    changes = {"tamponade": "SF6 20 %", "tamponade_pct": None}
    intake = intake_of("heron.xlsx", filled_template("de", changes=changes))
    assert set(intake.tables["operations"]["tamponade"]) == {"sf6"}
    assert set(intake.tables["operations"]["tamponade_pct"]) == {20.0}


def test_a_heading_that_was_changed_is_not_guessed_at():
    def rename(book):
        sheet = book[sheet_title("operation", "de")]
        field = upload_fields("operation")["hole_min_diameter"]
        for cell in sheet[1]:
            if cell.value == heading(field, "de", "logmar"):
                cell.value = "MLD (mm)"

    intake = changed(rename)
    assert "MLD (mm)" in set(intake.tables["unread"]["heading"])
    assert told(intake) == [("heading_missing", None)]
    assert intake.tables["operations"].get("hole_min_diameter_um", pd.Series()).isna().all()


def test_an_own_crosswalk_reads_what_is_no_template():
    own = crosswalk(table("operation", OPERATIONS))
    content = b"No,Eye,Op\n1,right,2025-03-04\n"
    workbooks = {"u1": ("log.csv", read_workbook("log.csv", content))}
    assert effective_crosswalk(workbooks, own) is own


def test_a_template_goes_before_an_own_crosswalk():
    own = crosswalk(table("operation", OPERATIONS))
    workbooks = {"u1": ("heron.xlsx", read_workbook("heron.xlsx", filled_template("pt")))}
    read_by = effective_crosswalk(workbooks, own)
    assert isinstance(read_by, TemplateCrosswalk)
    assert (read_by.site, read_by.language, read_by.decimal) == ("heron", "pt", "comma")


def test_without_a_crosswalk_nothing_but_templates_is_read():
    with pytest.raises(UnreadableUpload) as refused:
        intake_of("log.csv", b"No,Eye,Op\n1,right,2025-03-04\n")
    assert refused.value.reason == (
        "this centre has no crosswalks/heron.toml and this is no filled template; make a crosswalk "
        "with foveapool draft, or fill in the workbook of foveapool template"
    )


def test_two_templates_in_two_languages_are_not_read_as_one():
    workbooks = {
        "u1": ("a.csv", read_workbook("a.csv", operations_csv("en", ",", "."))),
        "u2": ("b.csv", read_workbook("b.csv", operations_csv("de", ",", "."))),
    }
    with pytest.raises(UnreadableUpload, match="no filled template"):
        effective_crosswalk(workbooks, blank_crosswalk(SITE))


def test_a_template_without_a_case_is_no_upload():
    with pytest.raises(UnreadableUpload, match="no row is an operation"):
        intake_of("heron.xlsx", template_workbook("Tidewrack", "es", "logmar"))


def test_neither_a_files_name_nor_a_sheets_is_taken_for_known():
    book = openpyxl.load_workbook(BytesIO(filled_template("en")))
    book["Operations"].title = "Vellumcrest"
    name = "Snodfavrel.xlsx"
    workbooks = {"u1": (name, read_workbook(name, saved(book)))}
    texts = " ".join(effective_crosswalk(workbooks, blank_crosswalk(SITE)).texts()).casefold()
    assert "vellumcrest" not in texts
    assert "snodfavrel" not in texts
