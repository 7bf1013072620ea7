"""The decimal mark that the numbers of a text table show."""

from __future__ import annotations

import re
from collections.abc import Iterable

from schemas.decimal_mark import DecimalMark

_MARKS: dict[str, DecimalMark] = {".": "point", ",": "comma"}
_BEFORE = r"\s*[<>≤≥~≈±]?\s*[-+\u2212]?"
_AFTER = r"\s*(?:[a-zA-Zµμ%°²/]{1,8}\s*)?"
# "1.250,5" and "1 250,5": groups of three, then another mark.
_GROUPED = re.compile(
    rf"{_BEFORE}\d{{1,3}}(?:(?P<group>[.,'’\u00a0\u202f ])\d{{3}})+"
    rf"(?!(?P=group))(?P<mark>[.,])\d+{_AFTER}"
)
_PLAIN = re.compile(rf"{_BEFORE}(?P<whole>\d+)(?P<mark>[.,])(?P<rest>\d+){_AFTER}")
_GROUP = 3


def decimal_mark(texts: Iterable[str]) -> DecimalMark | None:
    """The mark of these texts' numbers, None where they show none or both.

    "1.250" may be a number with a mark of thousands and shows none; "0.250" cannot. What has two
    marks alike is a date or a number in groups.
    """
    shown = {_shown(text) for text in set(texts)} - {None}
    return shown.pop() if len(shown) == 1 else None


def _shown(text: str) -> DecimalMark | None:
    found = _GROUPED.fullmatch(text)
    if found is None:
        found = _PLAIN.fullmatch(text)
        if found is None or _may_be_grouped(found["whole"], found["rest"]):
            return None
    return _MARKS[found["mark"]]


def _may_be_grouped(whole: str, rest: str) -> bool:
    return len(rest) == _GROUP and len(whole) <= _GROUP and not whole.startswith("0")
