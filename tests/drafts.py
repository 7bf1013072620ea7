"""Drafts of small workbooks for tests: a proposal, its lines, and a sheet that is certain."""

import datetime as dt

from upload_sheets import sheet

from transforms.draft import USUAL_WINDOWS, draft
from transforms.reading import Workbook

LATEST = dt.date(2026, 11, 22)
ROWS = 12
NONE = frozenset()


def proposal_of(*sheets, **files):
    books = {f"{name}.xlsx": Workbook((each,), "xlsx") for name, each in files.items()}
    books = books or {"file.xlsx": Workbook(sheets, "xlsx")}
    return draft(books, "heron", USUAL_WINDOWS, None, LATEST)


def operations(**more):
    """A sheet of operations that is certain, with more columns by heading."""
    columns = {
        "MRN": [f"H{n}" for n in range(ROWS)],
        "Eye": ["OD", "OS"] * 6,
        "Date of surgery": [dt.date(2024, 3, 1 + n) for n in range(ROWS)],
        **{heading.replace("_", " "): cells for heading, cells in more.items()},
    }
    return sheet(list(columns), *([c[n % len(c)] for c in columns.values()] for n in range(ROWS)))


def lines_of(proposal):
    """Every line by heading."""
    return {each.line.heading: each.line for table in proposal.tables for each in table.placed()}
