"""The sheet from which the template's lists are drawn, and which explains each of their words."""

from __future__ import annotations

import xlsxwriter
from xlsxwriter.worksheet import Worksheet

from reports.template.record_sheet import A4_PAPER, Looks
from reports.template.validation import list_name
from schemas.codebook import RECORD_KINDS
from schemas.codes import OFF_CHART, CodeList
from schemas.crosswalk import Language
from schemas.template import template_fields, word_list
from schemas.translation import list_word, translated

_HEADINGS = ("Column", "Word to enter", "Meaning")


def lists(language: Language) -> dict[str, tuple[CodeList, list[str]]]:
    """Every list by its name, with the titles of the fields that choose from it."""
    found: dict[str, tuple[CodeList, list[str]]] = {}
    for kind in RECORD_KINDS:
        for field in template_fields(kind):
            codes = OFF_CHART if field.spec.reads == "acuity" else word_list(field)
            if codes is None:
                continue
            title = translated(field.spec.title, language)
            _, titles = found.setdefault(codes.name, (codes, []))
            if title not in titles:
                titles.append(title)
    return found


def write_lists_sheet(workbook: xlsxwriter.Workbook, language: Language, look: Looks) -> None:
    """Adds the sheet: field, word, meaning; and a name for the words of each list."""
    name = translated("Lists", language)
    sheet = workbook.add_worksheet(name)
    table = [[translated(text, language) for text in _HEADINGS]]
    for codes, titles in lists(language).values():
        first, last = len(table) + 1, len(table) + len(codes)
        workbook.define_name(list_name(codes.name), f"='{name}'!$B${first}:$B${last}")
        words = [[list_word(code, codes, language), codes[code]] for code in codes]
        of_fields = [", ".join(titles), *[""] * (len(codes) - 1)]
        table += [
            [field, word, translated(meaning, language)]
            for field, (word, meaning) in zip(of_fields, words, strict=True)
        ]
        table.append([""] * len(_HEADINGS))
    for row, texts in enumerate(table):
        for column, text in enumerate(texts):
            look_of_column = look.label if column == 0 else look.prose
            sheet.write(row, column, text, look.needed if row == 0 else look_of_column)
    for column in range(len(_HEADINGS)):
        sheet.set_column(column, column, max(len(texts[column]) for texts in table) + 2)
    _set_up_print(sheet)


def _set_up_print(sheet: Worksheet) -> None:
    sheet.freeze_panes(1, 0)
    sheet.set_landscape()
    sheet.set_paper(A4_PAPER)
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)
    sheet.set_footer("&R&9&A  &P/&N")
