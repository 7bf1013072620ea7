"""Numbers as people write them: decimal marks, signs, and characters that look like digits."""

from __future__ import annotations

import re
import unicodedata

from schemas.decimal_mark import DecimalMark

# Every dash that stands for a minus: hyphens, minus sign, en and em dash.
_MINUS = re.compile("[\u2010\u2011\u2012\u2013\u2014\u2212\ufe63\uff0d]")
NUMBER = {
    "point": re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)"),
    "comma": re.compile(r"[+-]?(\d+(,\d*)?|,\d+)"),
}


def plain_text(text: str) -> str:
    """NFKC with one kind of minus and single spaces, so that patterns need to know one form."""
    return " ".join(_MINUS.sub("-", unicodedata.normalize("NFKC", text)).split())


def to_number(text: str, decimal: DecimalMark) -> float | None:
    """The number that `text` is in the given decimal mark, or None.

    Thousands marks are refused: `1.250` is 1.25 to one reader and 1250 to another.
    """
    if not NUMBER[decimal].fullmatch(text):
        return None
    return float(text.replace(",", "."))
