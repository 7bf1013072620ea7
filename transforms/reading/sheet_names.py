"""Names of sheets: what no spreadsheet program lets anyone enter is refused."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence

from transforms.reading.workbook import Kind, UnreadableUpload, sheet_number

# The signs that spreadsheet programs refuse in a name ("Rename a worksheet", support.microsoft.com,
# from memory; LibreOffice refuses the same).
_NEVER = frozenset("\\/:*?[]")
# Both kinds of file hold 31 characters (ECMA-376 part 1, 18.2.19; [MS-XLS] 2.4.28); .ods sets none.
_LONGEST = {"xlsx": 31, "xls": 31}
_MEND = "rename the sheet, save and send it again"


def refuse_names(names: Sequence[str], kind: Kind) -> None:
    """Raise UnreadableUpload for a name that no program allows; the reason does not repeat it."""
    seen: set[str] = set()
    for place, name in enumerate(names, start=1):
        fault = _fault(name, _LONGEST.get(kind))
        if name.casefold() in seen:
            fault = "has the name of a sheet before it"
        if fault:
            raise UnreadableUpload(f"{sheet_number(place)} {fault}; {_MEND}")
        seen.add(name.casefold())


def _fault(name: str, longest: int | None) -> str | None:
    if not name.strip():
        return "has no name"
    if not _NEVER.isdisjoint(name) or any(unicodedata.category(sign) == "Cc" for sign in name):
        return "has a sign in its name that no spreadsheet program allows"
    if longest and len(name.encode("utf-16-le")) // 2 > longest:
        return f"has a name of more than {longest} characters"
    return None
