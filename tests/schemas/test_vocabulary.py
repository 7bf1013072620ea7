"""Vocabularies: the files hold together, and words of five languages are told apart."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from vocabulary_entries import entries

from schemas import codes
from schemas.crosswalk import LANGUAGES
from schemas.vocabulary import normal_form, read_vocabulary, vocabulary

FILES = sorted((Path(codes.__file__).parent / "vocabularies").glob("*.toml"))
CODE_LISTS = {each.name: each for each in vars(codes).values() if isinstance(each, codes.CodeList)}
# Code lists that no cell names: they are worked out, declared in a crosswalk, or the tool's own.
WITHOUT_WORDS = {"size_class", "size_band", "notation", "action", "state", "upload_status"}


def test_every_code_list_that_spreadsheets_use_words_for_has_its_words():
    assert {path.stem for path in FILES} >= CODE_LISTS.keys() - WITHOUT_WORDS


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
class TestEveryFile:
    def test_is_read_so_no_word_of_a_language_stands_for_two_codes(self, path: Path):
        assert vocabulary(path.stem).words

    def test_names_the_codes_of_its_list_and_no_others(self, path: Path):
        if path.stem in CODE_LISTS:
            found = tomllib.loads(path.read_text(encoding="utf-8")).keys()
            assert found == CODE_LISTS[path.stem].keys()

    def test_has_words_in_the_five_languages_and_no_others(self, path: Path):
        assert {language for _, language, _ in entries(path)} == set(LANGUAGES)

    def test_says_at_its_head_where_the_words_come_from(self, path: Path):
        head = path.read_text(encoding="utf-8").split("\n\n")[0].replace("\n# ", " ")
        assert head.startswith("# ")
        assert "no source" in head or "doi" in head

    def test_lists_no_word_twice(self, path: Path):
        forms = [(language, code, normal_form(word)) for code, language, word in entries(path)]
        assert sorted(forms) == sorted(set(forms))

    def test_reads_every_word_as_the_code_that_it_is_listed_under(self, path: Path):
        words = vocabulary(path.stem)
        wrong = [
            (language, word)
            for code, language, word in entries(path)
            if words.code(word, language) != code
        ]
        assert wrong == []


@pytest.mark.parametrize(
    ("text", "form"),
    [
        ("  Œil-Droit ", "œil droit"),
        ("Größe", "grosse"),
        ("AUTÓLOGO", "autologo"),
        ("PL-", "pl-"),
        ("PL\u2212", "pl-"),
        ("PC-IOL", "pc iol"),
        ("closed (type 1)", "closed type 1"),
        ("closed?", "closed?"),
        ("SF₆", "sf6"),
    ],
)
def test_words_are_compared_without_case_accents_and_punctuation(text: str, form: str):
    assert normal_form(text) == form


# What one abbreviation says depends on who writes it.
@pytest.mark.parametrize(
    ("concept", "text", "language", "code"),
    [
        ("graft_material", "AM", "en", "amniotic_membrane"),
        ("graft_material", "AM", "es", None),  # agujero macular
        ("graft_material", "AM", "pt", None),
        ("graft_material", "AM", "de", None),  # a preposition
        ("sex", "M", "en", "male"),
        ("sex", "M", "fr", "male"),
        ("sex", "M", "es", None),  # masculino or mujer
        ("sex", "M", "pt", None),
        ("sex", "H", "es", "male"),
        ("sex", "H", "fr", "male"),
        ("sex", "H", "en", None),
        ("sex", "D", "de", "other"),
        ("sex", "D", "es", None),
        ("off_chart", "CD", "es", "counting_fingers"),
        ("off_chart", "CD", "pt", "counting_fingers"),
        ("off_chart", "CD", "en", None),  # cup-to-disc ratio
        ("off_chart", "MM", "es", "hand_motion"),
        ("off_chart", "MM", "de", None),  # millimetres
        ("off_chart", "NL", "de", "no_light_perception"),
        ("off_chart", "NL", "en", None),  # normal
        ("off_chart", "PL", "en", "light_perception"),
        ("off_chart", "PL", "fr", "light_perception"),
        ("off_chart", "PL+", "fr", "light_perception"),
        ("off_chart", "PL-", "fr", "no_light_perception"),
        ("off_chart", "PL -", "es", "no_light_perception"),
        ("off_chart", "NPL", "en", "no_light_perception"),
        ("off_chart", "SPL", "pt", "no_light_perception"),
        ("eye", "LA", "de", "left"),
        ("eye", "LA", "fr", None),  # an article
        ("eye", "OE", "pt", "left"),
        ("eye", "OE", "en", None),
        ("eye", "OI", "es", "left"),
        ("eye", "OG", "fr", "left"),
        ("eye", "D", "es", "right"),
        ("eye", "D", "en", None),
        ("eye", "R", "de", "right"),
        ("eye", "OU", "en", None),  # both
        ("adjunct", "AS", "en", None),
        ("closure", "zu", "de", "closed_unspecified"),
        ("closure", "zu", "en", None),
    ],
)
def test_abbreviations_count_in_their_own_language_alone(
    concept: str, text: str, language: str, code: str | None
):
    assert vocabulary(concept).code(text, language) == code


@pytest.mark.parametrize(
    ("text", "language", "code"),
    [
        ("geschlossen", "fr", "closed_unspecified"),  # a locum's word
        ("closed", "de", "closed_unspecified"),
        ("Type 1", "en", "closed_retinal_bridging"),
        ("type 2 (bare RPE)", "en", "flat_open"),
        ("closed with filling tissue", "en", "closed_graft_in_place"),
        ("W-type", "en", "flat_open"),
        ("aplanado abierto", "es", "flat_open"),
        ("cerrado con injerto", "es", "closed_graft_in_place"),
        ("cerrado sin injerto", "es", "closed_graft_absent"),
        ("fermé", "fr", "closed_unspecified"),
        ("ouvert à bords surélevés", "fr", "elevated_open"),
        ("flach offen", "de", "flat_open"),
        ("nicht beurteilbar (Gas)", "de", "not_gradable"),
        ("não avaliável", "pt", "not_gradable"),
        ("aberto", "pt", "open_unspecified"),
        ("not gradable (gas)", "en", "not_gradable"),
        ("no OCT", "en", "not_done"),
        ("type 0", "en", None),
        ("type 2", "en", None),  # flat open in one grading, closed with graft in another
        ("closed type 2", "en", None),
        ("flat", "en", None),
        ("closed?", "en", None),
        ("gas", "en", None),
        ("success", "en", None),
    ],
)
def test_closure_words(text: str, language: str, code: str | None):
    assert vocabulary("closure").code(text, language) == code


def test_months_mean_the_same_in_every_language():
    assert all(len(set(codes.values())) == 1 for codes in vocabulary("month").words.values())


@pytest.mark.parametrize("text", ["SD", "N", "DE", "ET", "MW", "NB", "key", "n", "ID", "No"])
def test_letters_that_begin_a_record_number_do_not_end_a_table(text: str):
    assert normal_form(text) not in vocabulary("footer").words


class TestAFileThatCannotBeRight:
    def test_a_word_of_one_language_for_two_codes_is_refused_by_name(self):
        with pytest.raises(ValueError, match=r"eye.toml: 'o\.d\.' \(en\) stands for right and for"):
            read_vocabulary("eye", '[right]\nen = ["OD", "O D"]\n[left]\nen = ["o.d."]')

    def test_a_word_that_is_another_code_s_name_is_refused(self):
        with pytest.raises(ValueError, match="stands for right and for left"):
            read_vocabulary("eye", '[right]\nen = ["OD"]\n[left]\nen = ["Right"]')

    def test_punctuation_is_no_word_as_it_would_be_found_in_every_dash(self):
        with pytest.raises(ValueError, match="nothing but punctuation"):
            read_vocabulary("yes_no", '[yes]\nen = ["✓"]')

    def test_the_same_word_may_differ_between_languages(self):
        words = read_vocabulary("sex", '[male]\nen = ["man"]\n[female]\nde = ["Man"]')
        assert [words.code("man", language) for language in ("en", "de", "fr")] == [
            "male", "female", None
        ]  # fmt: skip
