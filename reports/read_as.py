"""How a file was read, in words: what was found of a text table is said, not assumed in silence."""

from __future__ import annotations

from schemas.encodings import encoding_name

_KINDS = {
    "xlsx": "workbook (.xlsx)",
    "xls": "old workbook (.xls)",
    "ods": "OpenDocument spreadsheet (.ods)",
    "csv": "text table",
}
_DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars"}


def read_as(kind: str, encoding: object, delimiter: object, decimal_mark: object) -> str:
    """A line such as "text table, Windows-1252, cells parted by semicolons, decimal comma"."""
    said = [_KINDS.get(kind, kind)]
    if isinstance(encoding, str) and isinstance(delimiter, str):
        said.append(encoding_name(encoding))
        said.append(f"cells parted by {_DELIMITERS.get(delimiter, delimiter)}")
        has_mark = isinstance(decimal_mark, str)
        said.append(f"decimal {decimal_mark}" if has_mark else "numbers without one decimal mark")
    return ", ".join(said)
