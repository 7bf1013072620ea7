"""A crosswalk proposed from workbooks alone."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence

from schemas.conventions import OFF_CHART_SETS
from schemas.crosswalk import Language
from schemas.study import AcuitySettings
from schemas.visit_names import Windows
from transforms.draft.column_values import Writing
from transforms.draft.file_patterns import file_patterns
from transforms.draft.found_tables import FoundTable, find_tables
from transforms.draft.habits import date_order, decimal_mark, language_of, missing_words
from transforms.draft.proposal import Proposal, TableProposal
from transforms.draft.table_proposals import ReadTable, read_table, stand_ins, table_proposal
from transforms.reading import Workbook

# Windows for which a centre without a study is drafted. Project choice: those that series of
# macular holes report most, as the sample study has them.
USUAL_WINDOWS: Windows = {
    "m1": (14, 30, 59), "m3": (60, 90, 135), "m6": (136, 180, 270), "m12": (271, 365, 545)
}  # fmt: skip


def draft(
    workbooks: Mapping[str, Workbook], site: str, windows: Windows, language: Language | None,
    latest: dt.date,
) -> Proposal:  # fmt: skip
    """Proposes a crosswalk from the files of a centre, by file name.

    `windows` are the study's, in days after the operation; `language` is found where it is None;
    `latest` is the last day that a date can be. Nothing in the proposal is a cell's value: reasons
    name headings, counts, rounded ranges of measures, and patterns.
    """
    tables, others = _tables(workbooks)
    told = language_of([t for table in tables for t in table.heading.texts.values()], language)
    texts = [text for table in tables for text in _texts(table)]
    known_decimal = next((book.decimal for book in workbooks.values() if book.decimal), None)
    dates, decimal = date_order(texts), decimal_mark(texts, known_decimal, told.value)
    off_chart = OFF_CHART_SETS[AcuitySettings().off_chart]
    writing = Writing(told.value, dates.value, decimal.value, off_chart, latest)
    missing = missing_words(texts, told.value)
    no_values = frozenset(word.casefold() for word in missing)
    read = {id(table): read_table(table, writing, no_values) for table in tables}
    others += [
        (table.sheet.name, "hardly a column of it is certain")
        for table in tables if read[id(table)] is None
    ]  # fmt: skip
    found = [each for each in read.values() if each is not None]
    return Proposal(
        site, told, dates, decimal, {**missing, **stand_ins(found)},
        _proposals(found, list(workbooks), windows), others,
    )  # fmt: skip


def _proposals(
    found: Sequence[ReadTable], files: Sequence[str], windows: Windows
) -> list[TableProposal]:
    patterns = file_patterns(files, {each.table.file for each in found})
    return [
        table_proposal(
            each, windows, patterns.get(each.table.file),
            is_file_known=len(files) == 1 or each.table.file in patterns,
        )
        for each in found
    ]  # fmt: skip


def _tables(workbooks: Mapping[str, Workbook]) -> tuple[list[FoundTable], list[tuple[str, str]]]:
    """Tables of all sheets, and the sheets without one."""
    found: list[FoundTable] = []
    others: list[tuple[str, str]] = []
    for name, workbook in workbooks.items():
        for sheet in workbook.sheets:
            tables = find_tables(name, sheet, is_text_file=workbook.kind == "csv")
            found += tables
            if not tables and not sheet.values.empty:
                others.append((sheet.name, "no row has three headings that are known"))
    return found, others


def _texts(table: FoundTable) -> list[str]:
    """Every text cell of the table's records."""
    cells = table.sheet.values.loc[table.rows, list(table.heading.texts)].to_numpy().ravel()
    return [cell.strip() for cell in cells if isinstance(cell, str)]
