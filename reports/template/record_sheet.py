"""A sheet of the template in which a centre enters one kind of record."""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import wrap

import xlsxwriter
from xlsxwriter.format import Format
from xlsxwriter.utility import xl_rowcol_to_cell
from xlsxwriter.worksheet import Worksheet

from reports.caution import CAUTION_SHORT
from reports.template.validation import cell_rule
from reports.template.wording import heading_note, is_wanted
from schemas.codebook import RecordKind, UploadField
from schemas.crosswalk import Language
from schemas.template import (
    heading,
    is_needed,
    sheet_title,
    template_fields,
    word_list,
)
from schemas.translation import list_word, translated

# Rows for which cells have their rules and lists; zero-based, the headings are row 0.
FIRST_ROW, LAST_ROW = 1, 5000

LINE_HEIGHT = 15.5
_NARROWEST, _WIDEST = 12, 34
_FILTER_BUTTON = 3  # characters of a heading that the button of the filter covers
# Characters across a page of A4, landscape, at the smallest size that still reads well.
_PAGE_WIDTH = 210
# Number of the paper size A4 in workbooks (ECMA-376 part 1, 18.3.1.63).
A4_PAPER = 9
# Columns that say whose eye a row is about stay in sight, and on every page.
_IDENTITY_COLUMNS = 2


@dataclass(frozen=True)
class Looks:
    """Formats of the sheets: headings by how much they are wanted, and the paragraphs beside."""

    needed: Format
    wanted: Format
    optional: Format
    title: Format
    label: Format
    prose: Format

    def of_heading(self, field: UploadField) -> Format:
        """How the heading of a field looks."""
        if is_needed(field):
            return self.needed
        return self.wanted if is_wanted(field) else self.optional


def looks(workbook: xlsxwriter.Workbook) -> Looks:
    """The formats of a new workbook."""
    line = {"text_wrap": True, "valign": "top", "border": 1, "border_color": "#D5DADE"}
    pale = {**line, "bg_color": "#EDF1F4", "font_color": "#1B2126"}
    strong = {"bold": True, "font_color": "#FFFFFF", "bg_color": "#145A7C"}
    return Looks(
        needed=workbook.add_format({**line, **strong}),
        wanted=workbook.add_format({**pale, "bold": True}),
        optional=workbook.add_format(pale),
        title=workbook.add_format({"bold": True, "font_size": 16, "valign": "vcenter"}),
        label=workbook.add_format({"bold": True, "valign": "top", "text_wrap": True}),
        prose=workbook.add_format({"text_wrap": True, "valign": "top"}),
    )


def write_record_sheet(
    workbook: xlsxwriter.Workbook, kind: RecordKind, language: Language, notation: str, look: Looks
) -> None:
    """Adds the sheet of one kind of record: a column for each field that an upload may hold."""
    sheet = workbook.add_worksheet(sheet_title(kind, language))
    widths, lines = [], 1
    for column, field in enumerate(template_fields(kind)):
        text = heading(field, language, notation)
        width = _width(field, text, language)
        widths.append(width)
        lines = max(lines, len(wrap(text, width - _FILTER_BUTTON)))
        sheet.set_column(column, column, width, _cell_format(workbook, field, notation))
        sheet.write_string(0, column, text, look.of_heading(field))
        note = heading_note(field, language, notation)
        sheet.write_comment(0, column, note, _note_box(note))
        first = xl_rowcol_to_cell(FIRST_ROW, column)
        rule = cell_rule(field, language, notation, first)
        if rule is not None:
            sheet.data_validation(FIRST_ROW, column, LAST_ROW, column, rule)
    sheet.set_row(0, LINE_HEIGHT * lines)
    sheet.autofilter(0, 0, LAST_ROW, len(widths) - 1)
    sheet.freeze_panes(FIRST_ROW, _IDENTITY_COLUMNS)
    _set_up_print(sheet, sum(widths), language)


def _width(field: UploadField, text: str, language: Language) -> int:
    """Characters across: the longest word of the heading, and the longest of the list, must fit."""
    needs = [_NARROWEST, *(len(word) + _FILTER_BUTTON for word in text.split())]
    codes = word_list(field)
    if codes is not None:
        needs += [len(list_word(code, codes, language)) + 2 for code in codes]
    return min(max(needs), _WIDEST)


def _cell_format(workbook: xlsxwriter.Workbook, field: UploadField, notation: str) -> Format | None:
    """Record numbers keep their zeros; Snellen fractions and radii parted by slashes do not become
    dates: all of these are text.

    Words stand a little off the numbers at their left.
    """
    reads = field.spec.reads
    if field.spec.holds_numbers or (reads == "acuity" and _is_number(notation)):
        return None
    is_text = reads in ("identity", "acuity", "ring_radii")
    form = "yyyy-mm-dd" if reads == "date" else "@" if is_text else "General"
    return workbook.add_format({"num_format": form, "align": "left", "indent": 1})


def _is_number(notation: str) -> bool:
    return not notation.startswith("snellen")


def _note_box(note: str) -> dict[str, object]:
    lines = sum(1 + len(line) // 42 for line in note.split("\n"))
    return {"author": "foveapool", "width": 300, "height": 17 * lines + 14, "font_size": 9}


def _set_up_print(sheet: Worksheet, width: int, language: Language) -> None:
    sheet.set_landscape()
    sheet.set_paper(A4_PAPER)
    sheet.set_margins(left=0.4, right=0.4, top=0.6, bottom=0.6)
    sheet.fit_to_pages(-(-width // _PAGE_WIDTH), 0)
    sheet.repeat_rows(0)
    sheet.repeat_columns(0, _IDENTITY_COLUMNS - 1)
    sheet.hide_gridlines(0)  # print them: the sheet is filled in by hand as well
    sheet.set_footer(f"&L&9{translated(CAUTION_SHORT, language)}&R&9&A  &P/&N")
