"""Spreadsheets that are written: reproducible bytes, valid sheet names, text that stays text."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterable
from io import BytesIO

import xlsxwriter

# Excel stamps a workbook with the time it was made; a fixed one keeps the bytes the same.
_CREATED = dt.datetime(2020, 1, 1)
_OPTIONS = {
    "in_memory": True,
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
    "default_date_format": "yyyy-mm-dd",
}

SHEET_NAME_LENGTH = 31
_NOT_IN_SHEET_NAMES = re.compile(r"[\[\]:*?/\\\x00-\x1f]")
# Excel keeps this name for itself.
_RESERVED_NAMES = ("history",)

# What makes a spreadsheet run a text cell of a .csv file as a formula (OWASP, CSV injection).
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠")


def workbook_bytes(title: str, fill: Callable[[xlsxwriter.Workbook], None]) -> bytes:
    """The .xlsx file that `fill` writes into an open workbook: the same content, the same bytes."""
    target = BytesIO()
    with xlsxwriter.Workbook(target, _OPTIONS) as workbook:
        workbook.set_properties({"title": title, "author": "foveapool", "created": _CREATED})
        fill(workbook)
    return target.getvalue()


def sheet_names(wanted: Iterable[str], taken: Iterable[str] = ()) -> list[str]:
    """Names that a workbook accepts, one for each wanted one, in its order.

    At most 31 characters, none of []:*?/\\, no apostrophe at either end, and no two alike but for
    their case; `taken` names are in use already. Of equal names the later ones get a number.
    """
    used = {name.casefold() for name in (*taken, *_RESERVED_NAMES)}
    names = []
    for name in wanted:
        stem = _NOT_IN_SHEET_NAMES.sub("_", name)[:SHEET_NAME_LENGTH].strip("'") or "Sheet"
        accepted, number = stem, 2
        while accepted.casefold() in used:
            suffix = f" ({number})"
            accepted, number = stem[: SHEET_NAME_LENGTH - len(suffix)] + suffix, number + 1
        used.add(accepted.casefold())
        names.append(accepted)
    return names


def neutralised(value: object) -> object:
    """Text that a spreadsheet would run as a formula gets a leading apostrophe; the rest stays."""
    if isinstance(value, str) and value.startswith(_FORMULA_STARTS):
        return f"'{value}"
    return value
