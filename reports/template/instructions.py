"""The first sheet of the template: what to do, in the centre's language."""

from __future__ import annotations

from textwrap import wrap

import xlsxwriter
from xlsxwriter.worksheet import Worksheet

from reports.caution import CAUTION_SHORT
from reports.template.record_sheet import A4_PAPER, LINE_HEIGHT, Looks
from reports.template.wording import (
    NEEDED,
    OPTIONAL,
    SECTIONS,
    WANTED,
    called_for,
    paragraph,
)
from schemas.codebook import upload_fields
from schemas.crosswalk import Language
from schemas.template import heading
from schemas.translation import translated

_LABEL_WIDTH, _PROSE_WIDTH = 36, 92
_LINE_LENGTH = 104  # letters are narrower than the digits in which a column's width is given


def write_instructions(
    workbook: xlsxwriter.Workbook, study_name: str, language: Language, notation: str, look: Looks
) -> None:
    """Adds the sheet, with the name of the study above."""
    sheet = workbook.add_worksheet(translated("Instructions", language))
    sheet.hide_gridlines(2)
    sheet.set_column(0, 0, _LABEL_WIDTH)
    sheet.set_column(1, 1, _PROSE_WIDTH)
    sheet.set_row(0, 30)
    sheet.write_string(0, 0, study_name, look.title)
    sheet.write_string(1, 0, translated("Upload workbook", language), look.label)
    sheet.write_string(1, 1, translated(CAUTION_SHORT, language), look.prose)
    row = 3
    for label, paragraphs in SECTIONS:
        sheet.write_string(row, 0, translated(label, language), look.label)
        for text in paragraphs:
            _write_prose(sheet, row, paragraph(text, language, notation), look)
            row += 1
        if label == "Headings":
            row = _write_legend(sheet, row, language, notation, look)
        row += 1
    sheet.set_paper(A4_PAPER)
    sheet.fit_to_pages(1, 0)


def _write_prose(sheet: Worksheet, row: int, text: str, look: Looks) -> None:
    """Writes a paragraph. Not every program fits the height of a row to it, so it is set."""
    sheet.write_string(row, 1, text, look.prose)
    sheet.set_row(row, LINE_HEIGHT * len(wrap(text, _LINE_LENGTH)))


def _write_legend(
    sheet: Worksheet, row: int, language: Language, notation: str, look: Looks
) -> int:
    """One heading of each look, and what the look says. Returns the row below."""
    fields = upload_fields("operation").values()
    for text in (NEEDED, WANTED, OPTIONAL):
        said = translated(text, language)
        field = next((f for f in fields if called_for(f, language) == said), None)
        if field is not None:
            name = heading(field, language, notation)
            sheet.write_string(row, 0, name, look.of_heading(field))
            _write_prose(sheet, row, said, look)
            row += 1
    return row
