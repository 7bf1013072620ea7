"""Numbers as people write them: digits and marks of every script, decimal and thousands marks."""

from __future__ import annotations

import math
import re
import unicodedata
from typing import NamedTuple

from schemas.decimal_mark import DecimalMark

SOFT_HYPHEN = "\u00ad"
_NO_BREAK = "\u00a0"
_ARABIC_DECIMAL = "\u066b"
# Signs that are one in meaning, beside the dashes that Unicode counts as such. The spaces are those
# that typesetting puts between thousands; the ordinary space is none of them.
_SIGNS = str.maketrans(
    dict.fromkeys("\u02d7\u2043\u207b\u208b\u2212\u2796", "-")
    | dict.fromkeys("\u00b4\u02bc\u2018\u2019\u2032\u066c", "'")  # the last: Arabic thousands
    | dict.fromkeys("\u2044\u2215", "/")
    | dict.fromkeys("\u2005\u2006\u2007\u2008\u2009\u200a\u202f", _NO_BREAK)
)
_UNCOMMON = re.compile(rf"[^\x00-\x7f{_NO_BREAK}{SOFT_HYPHEN}]")
_THOUSANDS = re.compile(rf"(?<=\d){_NO_BREAK}(?=\d{{3}}(?!\d))")

# A soft hyphen says nothing within a word and behind a number. Before a number it may be a minus or
# a dash, behind a word ("PL-") a minus: there it stays, and the cell cannot be read.
_EMPTY_HYPHEN = re.compile(rf"{SOFT_HYPHEN}(?=[^\W\d])|(?<=\d){SOFT_HYPHEN}(?!\d)")

# UTF-8 that was opened as Windows-1252: "µ" shows as "Âµ", "–" as "â€“". Only the first letters
# that signs of numbers, units and Western European letters come out as.
_LATER_BYTES = bytes(range(0x80, 0xC0)).decode("cp1252", errors="ignore")
_MISREAD = re.compile(f"[ÂÃÎ][{_LATER_BYTES}]|â[{_LATER_BYTES}]{{2}}")

_VULGAR = "¼½¾⅐⅑⅒⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"
_EXPONENT = r"[eE][+-]?\d{1,3}"
_DIGITS = rf"\d+(?:[.,'{_ARABIC_DECIMAL}]\d+)*(?:[.,](?![\d.,]))?"
# Patterns of what may be a number within a plain text, `read_numeral` tells whether it is one.
UNSIGNED = rf"(?:\d* ?[{_VULGAR}]|(?:{_DIGITS}|[.,{_ARABIC_DECIMAL}]\d+)(?:{_EXPONENT})?)"
NUMERAL = rf"(?:[+-] ?)?{UNSIGNED}"

_PARTS = re.compile(rf"([+-]?) ?(?:(\d*) ?([{_VULGAR}])|(.*?)({_EXPONENT})?)")
_MARK = re.compile(rf"[.,'{_ARABIC_DECIMAL}]")
_GROUPS = {mark: re.compile(rf"[1-9]\d{{0,2}}(?:{re.escape(mark)}\d{{3}})+") for mark in ".,'"}
_ONE_GROUP = re.compile(r"[1-9]\d{0,2}")
_DECIMAL_MARKS = frozenset((".", ",", _ARABIC_DECIMAL))
_DECIMAL_SIGN: dict[DecimalMark, str] = {"point": ".", "comma": ","}

# Longer texts are no numbers, acuities or dates, and are not searched for any.
LONGEST_VALUE = 80

UNREADABLE = "number_unreadable"
AMBIGUOUS = "number_ambiguous"
OTHER_MARK = "decimal_mark_differs"


class Numeral(NamedTuple):
    """A number, and the rule that it breaks. Of `OTHER_MARK` the value is certain all the same."""

    value: float | None
    problem: str | None = None


_NO_NUMBER = Numeral(None, UNREADABLE)


def plain_text(text: str) -> str:
    """The text in ASCII digits, with one kind of minus, apostrophe, slash and space.

    What cannot be seen is taken out, and so is an apostrophe that forces a cell to be text. A space
    of typesetting that parts three digits from the ones before becomes an apostrophe. Fractions in
    one character stay; raised digits have a ^ before them, so that 10² does not become 102.
    """
    if not text.isascii():
        text = _MISREAD.sub(_as_meant, text)
        text = _UNCOMMON.sub(_plain_character, text.translate(_SIGNS))
        text = _EMPTY_HYPHEN.sub("", text)
        text = _THOUSANDS.sub("'", text)
    return " ".join(text.split()).removeprefix("'").lstrip()


def _as_meant(misread: re.Match[str]) -> str:
    try:
        return misread[0].encode("cp1252").decode("utf-8")
    except UnicodeDecodeError:
        return misread[0]


def _plain_character(match: re.Match[str]) -> str:
    char = match[0]
    category = unicodedata.category(char)
    if category == "Nd":
        return str(unicodedata.decimal(char))
    if category == "No":  # what is a digit by compatibility alone
        is_raised = unicodedata.decomposition(char).startswith("<super>")
        return f"^{unicodedata.digit(char)}" if is_raised else char
    return _OF_CATEGORY.get(category, unicodedata.normalize("NFKC", char))


_OF_CATEGORY = {"Pd": "-", "Cf": ""}  # dashes; characters of format, which are invisible


def read_numeral(text: str, decimal: DecimalMark) -> Numeral:
    """The number that a plain text is under a centre's decimal mark.

    A mark of the other kind is a decimal mark where it cannot be one of thousands (0,45; 12,5;
    1250,500), and a mark of thousands where it cannot be a decimal one (1,250,000; 1.250,5). With
    exactly three digits behind it, it can be both.
    """
    parts = _PARTS.fullmatch(text)
    if parts is None:
        return _NO_NUMBER
    sign, whole, vulgar, mantissa, exponent = parts.groups(default="")
    if vulgar:
        size = Numeral(float(whole or 0) + unicodedata.numeric(vulgar))
    else:
        size = _magnitude(mantissa, exponent, _DECIMAL_SIGN[decimal])
    if size.value is None:
        return size
    if not math.isfinite(size.value):  # an exponent that no number of ours can have
        return _NO_NUMBER
    return Numeral(-size.value if sign == "-" else size.value, size.problem)


def _magnitude(mantissa: str, exponent: str, declared: str) -> Numeral:
    marks = _MARK.findall(mantissa)
    if not marks:
        return _number(mantissa, "", exponent)
    last = marks[-1]
    head, _, tail = mantissa.rpartition(last)
    if len(marks) == 1 and last != "'":
        return _with_one_mark(head, last, tail, exponent, declared)
    thousands, is_whole = marks[0], len(set(marks)) == 1  # 1.250.000
    whole, decimals = (mantissa, "") if is_whole else (head, tail)
    has_decimals = bool(tail) and last in _DECIMAL_MARKS
    if not (is_whole or has_decimals) or not _is_grouped(whole, thousands):
        return _NO_NUMBER
    as_declared = last != declared if is_whole else last in (declared, _ARABIC_DECIMAL)
    problem = None if as_declared else OTHER_MARK
    return _number(whole.replace(thousands, ""), decimals, exponent, problem)


def _is_grouped(text: str, mark: str) -> bool:
    return mark in _GROUPS and _GROUPS[mark].fullmatch(text) is not None


def _with_one_mark(head: str, mark: str, tail: str, exponent: str, declared: str) -> Numeral:
    if mark in (declared, _ARABIC_DECIMAL) or not tail:
        return _number(head, tail, exponent)
    if len(tail) == 3 and _ONE_GROUP.fullmatch(head):
        return Numeral(None, AMBIGUOUS)
    return _number(head, tail, exponent, OTHER_MARK)


def _number(whole: str, decimals: str, exponent: str, problem: str | None = None) -> Numeral:
    digits = whole + decimals
    if not (digits.isascii() and digits.isdigit()):
        return _NO_NUMBER
    return Numeral(float(f"{whole or 0}.{decimals or 0}{exponent}"), problem)
