"""Words over columns: the files hold together, and every field has some."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from vocabulary_entries import entries

from schemas import headings
from schemas.codebook import IDENTITY_FIELDS, RECORD_KINDS, upload_fields
from schemas.crosswalk import LANGUAGES
from schemas.headings import field_words, heading_words
from schemas.translation import translated
from schemas.vocabulary import normal_form

FOLDER = Path(headings.__file__).parent / "vocabularies" / "headings"
FILES = sorted(FOLDER.glob("*.toml"))


def test_there_is_a_file_for_every_kind_of_record():
    assert {path.stem for path in FILES} >= {"case", *RECORD_KINDS}


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
class TestEveryFile:
    def test_is_read_so_no_word_of_a_language_stands_for_two_things(self, path: Path):
        assert heading_words(path.stem).words

    def test_has_every_code_in_the_five_languages(self, path: Path):
        for by_language in tomllib.loads(path.read_text(encoding="utf-8")).values():
            assert tuple(by_language) == LANGUAGES

    def test_says_at_its_head_where_the_words_come_from(self, path: Path):
        head = path.read_text(encoding="utf-8").split("\n\n")[0].replace("\n# ", " ")
        assert head.startswith("# ")
        assert "no source" in head

    def test_lists_no_word_twice(self, path: Path):
        forms = [(language, code, normal_form(word)) for code, language, word in entries(path)]
        assert sorted(forms) == sorted(set(forms))


@pytest.mark.parametrize("kind", RECORD_KINDS)
def test_the_file_of_a_kind_lists_words_for_all_its_fields_beside_those_of_every_case(kind):
    listed = {code for code, _, _ in entries(FOLDER / f"{kind}.toml")}
    assert listed == upload_fields(kind).keys() - set(IDENTITY_FIELDS)
    assert {code for code, _, _ in entries(FOLDER / "case.toml")} == set(IDENTITY_FIELDS)


@pytest.mark.parametrize("kind", RECORD_KINDS)
def test_the_codebooks_titles_and_names_are_words_in_every_language(kind):
    words = field_words(kind)
    for name, field in upload_fields(kind).items():
        assert words.code(normal_form(name), "en") == name
        for language in LANGUAGES:
            assert words.code(translated(field.spec.title, language), language) == name
