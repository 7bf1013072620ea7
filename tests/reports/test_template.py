"""The blank workbook: a column for each field, with its limits, its list and its note."""

import dataclasses
import datetime as dt
import time
from io import BytesIO

import openpyxl
import pandas as pd
import pytest
from reading_context import context

from reports.template import template_workbook
from reports.template.lists_sheet import lists
from reports.template.wording import acuity_example
from schemas import template
from schemas.codebook import RECORD_KINDS, upload_fields
from schemas.codes import NOTATION, TAMPONADE
from schemas.crosswalk import LANGUAGES, NEEDED_FIELDS
from schemas.template import (
    heading,
    is_needed,
    sheet_title,
    template_fields,
    word_list,
)
from schemas.translation import list_word, translated
from transforms.harmonise.acuity.reader import read_acuity

STUDY = "Tidewrack refractory hole series"


def opened(language="en", notation="logmar"):
    return openpyxl.load_workbook(BytesIO(template_workbook(STUDY, language, notation)))


@pytest.fixture(scope="module")
def english():
    return opened()


def column_of(sheet, text):
    """The heading's cell and the validation of the column below it."""
    cell = next(cell for cell in sheet[1] if cell.value == text)
    below = f"{cell.column_letter}2"
    rules = [rule for rule in sheet.data_validations.dataValidation if below in rule.sqref]
    return cell, rules[0] if rules else None


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("kind", RECORD_KINDS)
def test_every_field_of_an_upload_has_its_column_in_the_templates_order(kind, language):
    sheet = opened(language)[sheet_title(kind, language)]
    titles = [translated(f.spec.title, language) for f in template_fields(kind)]
    shown = [cell.value for cell in sheet[1]]
    assert len(shown) == len(titles)
    assert all(text.startswith(title) for text, title in zip(shown, titles, strict=True))


def test_a_new_field_of_the_codebook_gets_its_column_by_itself(monkeypatch):
    known = upload_fields("operation")
    pattern = known["axial_length"]
    spec = dataclasses.replace(pattern.spec, title="Corneal thickness", unit="um", is_seldom=True)
    added = {**known, "thickness": dataclasses.replace(pattern, name="thickness", spec=spec)}
    monkeypatch.setattr(template, "upload_fields", lambda _: added)
    assert opened()["Operations"].cell(1, len(added)).value == "Corneal thickness (µm)"


def test_what_few_centres_record_stands_last_and_everything_else_in_the_codebooks_order():
    for kind in RECORD_KINDS:
        names = [field.name for field in template_fields(kind)]
        fields = upload_fields(kind)
        often = [name for name in fields if not fields[name].spec.is_seldom]
        assert names == [*often, *(name for name in fields if fields[name].spec.is_seldom)]
    visits = [field.name for field in template_fields("visit")]
    assert visits[:4] == ["patient_id", "eye", "visit_date", "acuity"]
    assert visits.index("iop") < visits.index("perimetry_mean") < visits.index("mferg_ring1_p1")
    assert visits[-2:] == ["visit_time", "acuity_pinhole"]


def test_headings_name_unit_notation_and_form_of_dates(english):
    shown = {cell.value for kind in RECORD_KINDS for cell in english[sheet_title(kind, "en")][1]}
    assert {
        "Minimum hole diameter (µm)", "Duration of the hole (months)", "Visual acuity (logMAR)",
        "Date of operation (yyyy-mm-dd) *", "Multifocal ERG ring 1, P1 (nV/deg²)", "Technique",
    } <= shown  # fmt: skip


@pytest.mark.parametrize(
    ("notation", "language", "expected"),
    [
        ("snellen_feet", "en", "Visual acuity (Snellen, feet)"),
        ("snellen_metres", "fr", "Acuité visuelle (Snellen, mètres)"),
        ("decimal", "de", "Sehschärfe (dezimal)"),
        ("letters", "es", "Agudeza visual (letras, 20/20 = 85)"),
        ("letters_100", "de", "Sehschärfe (Buchstaben, Visus 1,0 = 100)"),
        ("letters_4m", "fr", "Acuité au trou sténopéique (lettres à 4 m + à 1 m)"),
        ("letters_1m", "pt", "Acuidade visual (letras a 1 m)"),
    ],
)
def test_the_acuity_names_the_notation_that_was_asked_for(notation, language, expected):
    sheet = opened(language, notation)[sheet_title("visit", language)]
    assert expected in [cell.value for cell in sheet[1]]


def test_keys_and_what_is_worked_out_have_no_column(english):
    shown = " ".join(cell.value for cell in english["Operations"][1])
    for title in ("Size class", "Oversize", "Random", "Primary closure", "Year of operation"):
        assert title not in shown


def test_needed_columns_have_a_mark_that_is_no_colour(english):
    for kind in RECORD_KINDS:
        marked = [cell.value for cell in english[sheet_title(kind, "en")][1] if "*" in cell.value]
        assert len(marked) == len(NEEDED_FIELDS[kind])


@pytest.mark.parametrize("language", LANGUAGES)
def test_each_coded_column_offers_its_words(language):
    book = opened(language)
    names = {name: defined.attr_text for name, defined in book.defined_names.items()}
    for kind in RECORD_KINDS:
        sheet = book[sheet_title(kind, language)]
        for field in upload_fields(kind).values():
            codes = word_list(field)
            if codes is None:
                continue
            _, rule = column_of(sheet, heading(field, language, "logmar"))
            name, cells = names[rule.formula1].split("!")
            offered = [cell.value for (cell,) in book[name.strip("'")][cells.replace("$", "")]]
            assert offered == [list_word(code, codes, language) for code in codes], field.name
            assert (rule.type, rule.errorStyle) == ("list", "warning")


def test_the_lists_sheet_explains_each_word(english):
    rows = list(english["Lists"].iter_rows(values_only=True))
    assert rows[0] == ("Column", "Word to enter", "Meaning")
    assert (None, "C3F8", "Octafluoropropane") in rows
    assert ("Tamponade", "air", "Air") in rows
    words = [word for _, word, _ in rows[1:] if word]
    assert len(words) == sum(len(codes) for codes, _ in lists("en").values())
    assert list(TAMPONADE) == list(lists("en")["tamponade"][0])


def test_hard_limits_stop_and_usual_ones_are_told(english):
    _, rule = column_of(english["Operations"], "Minimum hole diameter (µm)")
    assert (rule.type, rule.formula1, rule.formula2) == ("decimal", "50", "3000")
    assert rule.operator in (None, "between")
    assert rule.errorStyle in (None, "stop")
    assert rule.prompt == "Possible: 50 to 3000 µm. Usual: 250 to 1600 µm."
    assert rule.error == "Only a number from 50 to 3000 µm is possible, or an empty cell."


def test_every_hard_limit_of_a_number_is_in_its_column(english):
    for kind in RECORD_KINDS:
        for field in upload_fields(kind).values():
            if field.spec.holds_numbers and field.spec.hard:
                _, rule = column_of(
                    english[sheet_title(kind, "en")], heading(field, "en", "logmar")
                )
                limits = (field.spec.hard.low, field.spec.hard.high)
                assert (float(rule.formula1), float(rule.formula2)) == limits, field.name
                whole = field.spec.reads == "integer"
                assert rule.type == ("whole" if whole else "decimal"), field.name


def test_dates_reach_from_the_first_possible_day_to_today(english):
    cell, rule = column_of(english["Operations"], "Date of operation (yyyy-mm-dd) *")
    first = dt.date(1899, 12, 30) + dt.timedelta(days=int(rule.formula1))
    assert (rule.type, first, rule.formula2) == ("date", dt.date(1990, 1, 1), "TODAY()")
    assert english["Operations"].column_dimensions[cell.column_letter].number_format == "yyyy-mm-dd"


@pytest.mark.parametrize(
    ("notation", "rule"),
    [
        ("logmar", "OR(ISTEXT(D2),AND(ISNUMBER(D2),D2>=-0.4,D2<=3))"),
        ("decimal", "OR(ISTEXT(D2),AND(ISNUMBER(D2),D2>=0,D2<=2.5))"),
        ("letters", "OR(ISTEXT(D2),AND(ISNUMBER(D2),D2>=0,D2<=100))"),
        ("letters_100", "OR(ISTEXT(D2),AND(ISNUMBER(D2),D2>=0,D2<=120))"),
        ("letters_4m", "OR(ISTEXT(D2),AND(ISNUMBER(D2),D2>=0,D2<=70))"),
        ("letters_1m", "OR(ISTEXT(D2),AND(ISNUMBER(D2),D2>=0,D2<=30))"),
        ("snellen_metres", "OR(ISTEXT(D2))"),
    ],
)
def test_acuities_are_words_or_numbers_on_the_chart(notation, rule):
    sheet = opened("en", notation)["Visits"]
    (acuity,) = [cell.value for cell in sheet[1] if cell.value.startswith("Visual acuity")]
    assert column_of(sheet, acuity)[1].formula1 == rule


@pytest.mark.parametrize(
    ("sheet", "title", "notation"),
    [
        ("Operations", "Record number *", "logmar"),
        ("Visits", "Record number *", "logmar"),
        ("Visits", "Visual acuity (Snellen, feet)", "snellen_feet"),
        ("Visits", "Acuity through a pinhole (Snellen, metres)", "snellen_metres"),
        ("Visits", "Multifocal ERG rings", "logmar"),
    ],
)
def test_zeros_in_front_and_fractions_stay_as_they_are_typed(sheet, title, notation):
    sheet = opened("en", notation)[sheet]
    cell, _ = column_of(sheet, title)
    assert sheet.column_dimensions[cell.column_letter].number_format == "@"


def test_each_heading_has_a_note_that_says_what_when_and_how(english):
    for kind in RECORD_KINDS:
        assert all(cell.comment for cell in english[sheet_title(kind, "en")][1])
    note = column_of(english["Operations"], "Graft diameter (µm)")[0].comment.text
    assert note.splitlines() == [
        "Trephine or measured diameter of the graft; of an oval one the first of its two "
        "diameters.",
        "Possible: 200 to 8000 µm. Usual: 500 to 4000 µm.",
        "Wanted where 'Technique' is one of: autologous retinal graft.",
    ]


@pytest.mark.parametrize(
    ("sheet", "heading_text", "expected"),
    [
        ("Visits", "Acuity through a pinhole (logMAR)",
         "Distance acuity through a pinhole; it is kept apart from the other."),
        ("Visits", "Central field, mean deviation (dB)",
         "Negative is loss. Where your perimeter gives a mean defect, positive for loss, turn the "
         "sign."),
        ("Visits", "Multifocal ERG rings", "For example 2/5/10/15/25."),
        ("Visits", "Date of visit (yyyy-mm-dd) *",
         "Needed, or else 'Time of visit': a row with neither is not counted."),
        ("Operations", "Days of posture (days)", "Possible: 0 to 120 days. Usual: 0 to 30 days."),
        ("Operations", "Second graft diameter (µm)", "The other diameter of an oval graft."),
    ],
)  # fmt: skip
def test_a_note_says_what_the_one_who_fills_in_must_know(sheet, heading_text, expected, english):
    assert expected in column_of(english[sheet], heading_text)[0].comment.text.splitlines()


@pytest.mark.parametrize(
    ("notation", "logmar"),
    [
        ("snellen_feet", 0.301), ("snellen_metres", 0.301), ("decimal", 0.301), ("logmar", 0.3),
        ("letters", 0.3), ("letters_100", 0.3), ("letters_4m", 0.3), ("letters_1m", 1.3),
    ],
)  # fmt: skip
def test_the_example_of_a_notation_is_an_acuity_in_it(notation, logmar):
    example = acuity_example(notation, "en").split(", ")[0]
    read = read_acuity(pd.Series([example]), context("visit", "acuity", notation=notation))
    assert (read["acuity_logmar"].iat[0], read["problem"].iat[0]) == (
        pytest.approx(logmar, abs=0.001), None,
    )  # fmt: skip


def test_a_language_writes_numbers_with_its_own_mark():
    note = column_of(opened("de")["Untersuchungen"], "Sehschärfe (logMAR)")[0].comment.text
    assert "Zum Beispiel 0,3." in note


def test_record_sheets_are_ready_to_be_filled_and_printed(english):
    for kind in RECORD_KINDS:
        sheet = english[sheet_title(kind, "en")]
        assert sheet.freeze_panes == "C2"
        assert sheet.auto_filter.ref.startswith("A1:")
        assert sheet.print_title_rows == "$1:$1"
        assert (sheet.page_setup.orientation, sheet.max_row) == ("landscape", 1)


def test_the_instructions_say_what_goes_first_and_name_the_study(english):
    sheet = english["Instructions"]
    texts = [cell for row in sheet.iter_rows(values_only=True) for cell in row if cell]
    assert texts[0] == STUDY
    whole = " ".join(texts)
    for part in (
        "Ethics approval, data-sharing agreement and law", "no advice for one patient",
        "Operations: one row for each operation", "random codes", "Leave a cell empty",
        "counting fingers, hand motion, light perception, no light perception",
    ):  # fmt: skip
        assert part in whole


def test_the_study_s_name_is_never_a_formula():
    book = openpyxl.load_workbook(BytesIO(template_workbook("=1+1", "en", "logmar")))
    assert book["Instructions"]["A1"].data_type == "s"


@pytest.mark.parametrize("notation", NOTATION)
@pytest.mark.parametrize("language", LANGUAGES)
def test_messages_are_as_short_as_a_spreadsheet_takes_them(language, notation):
    book = opened(language, notation)
    for kind in RECORD_KINDS:
        sheet = book[sheet_title(kind, language)]
        rules = sheet.data_validations.dataValidation
        any_text = ("identity", "ring_radii", "visit_time")
        without_rule = [f for f in upload_fields(kind).values() if f.spec.reads in any_text]
        assert len(rules) == len(upload_fields(kind)) - len(without_rule)
        assert all(0 < len(rule.error) <= 255 for rule in rules)


def test_the_same_template_has_the_same_bytes():
    first = template_workbook(STUDY, "fr", "decimal")
    time.sleep(1.1)  # times in archives are counted in seconds
    assert template_workbook(STUDY, "fr", "decimal") == first


def test_what_is_needed_is_what_a_crosswalk_needs():
    for kind in RECORD_KINDS:
        needed = {name for name, field in upload_fields(kind).items() if is_needed(field)}
        assert needed == set(NEEDED_FIELDS[kind])
