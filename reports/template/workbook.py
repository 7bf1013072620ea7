"""The blank upload workbook: instructions, a sheet for each kind of record, and the lists."""

from __future__ import annotations

import xlsxwriter

from reports.spreadsheet import workbook_bytes
from reports.template.instructions import write_instructions
from reports.template.lists_sheet import write_lists_sheet
from reports.template.record_sheet import looks, write_record_sheet
from schemas.codebook import RECORD_KINDS
from schemas.crosswalk import Language


def template_workbook(study_name: str, language: Language, notation: str) -> bytes:
    """The .xlsx file of the template. The same arguments give the same bytes.

    `notation` is the one of `schemas.codes.NOTATION` in which the centre writes acuities.
    """

    def fill(workbook: xlsxwriter.Workbook) -> None:
        look = looks(workbook)
        write_instructions(workbook, study_name, language, notation, look)
        for kind in RECORD_KINDS:
            write_record_sheet(workbook, kind, language, notation, look)
        write_lists_sheet(workbook, language, look)

    return workbook_bytes(study_name, fill)
