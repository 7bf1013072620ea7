"""dictionary.html: what every value of the study means, where it comes from and by which rule."""

from __future__ import annotations

from reports.dictionary.columns import table_entries
from reports.dictionary.conventions import convention_tables
from reports.dictionary.rules import conversion_entries, finding_rules, unit_entries
from reports.dictionary.uploads import detail_entries, identifier_entries, upload_entries
from reports.dictionary.words import words_of_fields, words_of_texts
from reports.page import render
from reports.run_view import RunView
from schemas import codes
from schemas.codebook import RECORD_KINDS, RECORD_TABLE, VERSION
from schemas.crosswalk import LANGUAGES
from schemas.field import Identifier
from schemas.vocabulary import LONGEST_OF_ONE_LANGUAGE
from schemas.word_lists import word_list

IDENTIFIERS: dict[Identifier, str] = {
    "direct": "names a person by itself; it never reaches the warehouse as it stands",
    "indirect": "can single out a person together with others; it is kept, and never released "
    "row by row",
    "none": "neither",
}


def dictionary_page(view: RunView) -> str:
    """The page dictionary.html."""
    return render(
        "dictionary.html",
        title="Dictionary",
        study_name=view.study.study.name,
        week=view.week,
        code_version=view.code_version,
        here="dictionary.html",
        codebook_version=VERSION,
        tables=table_entries(),
        record_tables=RECORD_TABLE,
        uploads={kind: upload_entries(kind) for kind in RECORD_KINDS},
        heading_notes={
            name: word_list(f"headings/{name}").note for name in ("case", *RECORD_KINDS)
        },
        details=detail_entries(),
        identifiers=identifier_entries(),
        identifier_classes=IDENTIFIERS,
        words=words_of_fields(),
        text_words=words_of_texts(),
        languages=LANGUAGES,
        shortest_shared=LONGEST_OF_ONE_LANGUAGE + 1,
        conversions=conversion_entries(),
        units=unit_entries(),
        conventions=convention_tables(),
        in_use={view.study.acuity.off_chart, view.study.hole.size_classes},
        findings={action: finding_rules(action) for action in codes.ACTION},
        actions=codes.ACTION,
        states=codes.STATE,
    )
