"""A centre's workbook with its findings: a first sheet that lists them, then the sheets marked."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

import xlsxwriter
from xlsxwriter.worksheet import Worksheet

from reports.caution import CAUTION_SHORT
from reports.numerals import plural
from reports.returns.listing import Item, ReturnSource
from reports.returns.marks import MARKS, CellFormats
from reports.returns.sheet_copy import Position, write_sheet
from reports.spreadsheet import sheet_names, workbook_bytes
from schemas.codes import ACTION

FINDINGS_SHEET = "Findings"
ANSWER_HEADING = "Your answer"
# Heading and width of the columns of the first sheet.
_COLUMNS = (
    ("No.", 6), ("Cell", 26), ("Field", 24), ("What is wrong", 46), ("What was done", 38),
    ("How to mend it", 46), (ANSWER_HEADING, 34), ("Reference", 16),
)  # fmt: skip
_MOST_LINKS = 60_000  # a sheet holds 65,530

_HOW_TO = (
    "Mend the cells in your own spreadsheet and send the whole of it again; this copy is for "
    "reading. Flagged cells are filled and carry a comment that begins with one of these words:"
)


def marked_workbook(title: str, source: ReturnSource, items: Sequence[Item]) -> bytes:
    """The .xlsx file of one upload, `items` being the findings to list in it.

    `title` is the centre's. Cells are marked where a finding stands in this file; the others are
    listed alone.
    """
    sheets = source.workbook.sheets
    names = dict(
        zip(
            (sheet.name for sheet in sheets),
            sheet_names((sheet.name for sheet in sheets), [FINDINGS_SHEET]),
            strict=True,
        )
    )

    def fill(workbook: xlsxwriter.Workbook) -> None:
        formats = CellFormats(workbook)
        headline = f"{title}: {plural(len(items), 'finding')} in {source.file_name}"
        _write_findings(workbook, headline, items, names, formats)
        for sheet in sheets:
            worksheet = workbook.add_worksheet(names[sheet.name])
            write_sheet(worksheet, sheet, _flagged(items, sheet.name), formats)

    return workbook_bytes(f"Findings, {title}", fill)


def _flagged(items: Sequence[Item], sheet_name: str) -> dict[Position, list[Item]]:
    flagged: dict[Position, list[Item]] = defaultdict(list)
    for item in items:
        if item.place.is_here and item.place.sheet == sheet_name and item.place.position:
            flagged[item.place.position].append(item)
    return dict(flagged)


def _write_findings(
    workbook: xlsxwriter.Workbook,
    headline: str,
    items: Sequence[Item],
    names: Mapping[str, str],
    formats: CellFormats,
) -> None:
    sheet = workbook.add_worksheet(FINDINGS_SHEET)
    head = _write_preface(workbook, sheet, headline, formats)
    header = workbook.add_format(
        {"bold": True, "bottom": 1, "bg_color": "#EDF1F4", "valign": "top", "text_wrap": True}
    )
    for column, (heading, width) in enumerate(_COLUMNS):
        sheet.set_column(column, column, width)
        sheet.write_string(head, column, heading, header)
    _write_items(workbook, sheet, items, names, first_row=head + 1)
    sheet.autofilter(head, 0, head + len(items), len(_COLUMNS) - 1)
    sheet.freeze_panes(head + 1, 0)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(head)


def _write_preface(
    workbook: xlsxwriter.Workbook, sheet: Worksheet, headline: str, formats: CellFormats
) -> int:
    """Title, how to use it, and the key to the marks. Returns the row of the table, from 0."""
    sheet.hide_gridlines(2)
    sheet.write_string(0, 0, headline, workbook.add_format({"bold": True, "font_size": 14}))
    sheet.write_string(1, 0, CAUTION_SHORT)
    sheet.write_string(2, 0, _HOW_TO)
    for row, (action, mark) in enumerate(MARKS.items(), start=3):
        sheet.write_string(row, 1, mark.word, formats.of(action))
        sheet.write_string(row, 2, ACTION[action])
    return 4 + len(MARKS)


def _write_items(
    workbook: xlsxwriter.Workbook,
    sheet: Worksheet,
    items: Sequence[Item],
    names: Mapping[str, str],
    *,
    first_row: int,
) -> None:
    line = {"text_wrap": True, "valign": "top", "bottom": 1, "bottom_color": "#D5DADE"}
    prose = workbook.add_format(line)
    link = workbook.add_format({**line, "font_color": "#145A7C", "underline": 1})
    answer = workbook.add_format({**line, "border": 1, "border_color": "#56606A"})
    for row, item in enumerate(items, start=first_row):
        sheet.write_number(row, 0, item.number, prose)
        target = _target(item, names) if row < _MOST_LINKS else None
        if target:
            sheet.write_url(row, 1, target, link, string=item.place.words[:255])
        else:
            sheet.write_string(row, 1, item.place.words, prose)
        done = f"{MARKS[item.action].word}: {item.done}"
        texts = (item.field, item.message, done, item.mend)
        for column, text in enumerate(texts, start=2):
            sheet.write_string(row, column, text, prose)
        sheet.write_blank(row, 6, None, answer)
        sheet.write_string(row, 7, item.finding_key, prose)
        sheet.set_row(row, _height((item.place.words, *texts)))


def _height(texts: Sequence[str]) -> float:
    """Height of a row, in points, that shows wrapped texts whole; they start in column 1."""
    widths = (width for _, width in _COLUMNS[1:])
    lines = max(-(-len(text) // (width - 2)) for text, width in zip(texts, widths, strict=False))
    return 15.0 * max(lines, 1)


def _target(item: Item, names: Mapping[str, str]) -> str | None:
    """The link to a finding's cell inside the workbook, where it has one."""
    place = item.place
    if not (place.is_here and place.position and place.sheet in names):
        return None
    quoted = names[place.sheet].replace("'", "''")
    return f"internal:'{quoted}'!{place.cell}"
