"""Names of the encodings of text tables, as spreadsheet programs offer them."""

from __future__ import annotations

_NAMES = {
    "utf-8": "UTF-8",
    "utf-8-sig": "UTF-8 with a mark",
    "cp1252": "Windows-1252",
    "mac_roman": "Mac Roman",
}


def encoding_name(encoding: str) -> str:
    """ "cp1252" to "Windows-1252"."""
    return _NAMES.get(encoding, encoding.upper())
