"""Translations: every text that centres are shown has one in each language, and none is left over;
the words of lists are words that the vocabularies read."""

import re
from importlib.resources import files
from string import Formatter

import pytest
from babel.messages.pofile import read_po

from reports.template import template_workbook
from schemas import translation
from schemas.codebook import RECORD_KINDS, upload_fields
from schemas.codes import NOTATION, OFF_CHART, TAMPONADE, CodeList
from schemas.crosswalk import LANGUAGES
from schemas.template import heading, headings, sheet_title
from schemas.translation import catalogue, list_word, translated
from schemas.vocabulary import normal_form, vocabulary
from transforms.layout.template import NAMES_DATE_FORM

OTHERS = [language for language in LANGUAGES if language != "en"]


class Listening(dict):
    """A catalogue that remembers what it was asked for."""

    def __init__(self, entries):
        super().__init__(entries)
        self.asked = set()

    def get(self, entry, default=None):
        self.asked.add(entry)
        return super().get(entry, default)


def messages(language):
    path = files("schemas").joinpath("languages", f"{language}.po")
    with path.open("rb") as file:
        return read_po(file, locale=language)


def placeholders(text):
    return {name for _, name, _, _ in Formatter().parse(text) if name is not None}


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_text_of_the_template_has_an_entry_and_no_entry_is_left_over(language, monkeypatch):
    listening = Listening(catalogue(language))
    monkeypatch.setattr(translation, "catalogue", lambda _: listening)
    for notation in NOTATION:
        template_workbook("Tidewrack", language, notation)
    assert listening.asked - set(listening) == set()
    assert set(listening) - listening.asked == set()


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_words_of_lists_are_words_of_the_language_for_their_codes(language):
    for (concept, code), word in catalogue(language).items():
        if concept is not None:
            words = vocabulary(concept)
            assert words.words.get(normal_form(word), {}).get(language) == code, word


@pytest.mark.parametrize("language", OTHERS)
def test_placeholders_agree(language):
    for (_, text), said in catalogue(language).items():
        assert placeholders(said) == placeholders(text), text


@pytest.mark.parametrize("language", OTHERS)
def test_sentences_end_as_the_english_ones_do(language):
    for (_, text), said in catalogue(language).items():
        assert (text[-1] in ".?") == (said[-1] in ".?"), text


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_entry_is_fuzzy_empty_or_doubled(language):
    found = [message for message in messages(language) if message.id]
    assert [message.id for message in found if message.fuzzy or not message.string] == []
    text = files("schemas").joinpath("languages", f"{language}.po").read_text(encoding="utf-8")
    assert len(re.findall(r"^msgid ", text, re.MULTILINE)) == len(found) + 1  # and the header


@pytest.mark.parametrize("language", OTHERS)
def test_the_files_say_that_no_clinician_has_read_them(language):
    text = files("schemas").joinpath("languages", f"{language}.po").read_text(encoding="utf-8")
    assert "No native clinician has read them yet." in text.split("msgid", 1)[0]


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_two_columns_of_a_sheet_and_no_two_sheets_are_named_alike(language):
    for kind in RECORD_KINDS:
        acuities = sum(f.spec.reads == "acuity" for f in upload_fields(kind).values())
        columns = len(upload_fields(kind)) + acuities * (len(NOTATION) - 1)
        assert len({text.casefold() for text in headings(kind, language)}) == columns
    assert len({sheet_title(kind, language).casefold() for kind in RECORD_KINDS}) == 3


@pytest.mark.parametrize("language", LANGUAGES)
def test_headings_of_dates_are_what_templates_are_known_by(language):
    for field in upload_fields("operation").values():
        is_date = field.spec.reads == "date"
        assert bool(NAMES_DATE_FORM.search(heading(field, language, "logmar"))) == is_date


@pytest.mark.parametrize(
    ("language", "expected"),
    [("en", "Tamponade"), ("es", "Taponamiento"), ("fr", "Tamponnement"), ("de", "Endotamponade"),
     ("pt", "Tamponamento")],
)  # fmt: skip
def test_a_title_is_said_in_the_language(language, expected):
    assert translated("Tamponade", language) == expected


def test_a_code_is_said_by_the_word_of_its_own_list():
    assert list_word("none", TAMPONADE, "de") == "keine Tamponade"
    assert list_word("hand_motion", OFF_CHART, "fr") == "voit bouger la main"


def test_what_has_no_entry_is_shown_in_english():
    assert translated("A title of tomorrow", "de") == "A title of tomorrow"
    assert list_word("new_code", CodeList("tamponade", {"new_code": "New"}), "de") == "new code"
