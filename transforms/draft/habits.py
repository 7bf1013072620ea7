"""How a centre writes dates, numbers and gaps, told from the texts of its sheets."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Generic, TypeVar

from schemas.codebook import RECORD_KINDS
from schemas.crosswalk import LANGUAGES, DateOrder, Language
from schemas.decimal_mark import DecimalMark
from schemas.headings import field_words, heading_words
from schemas.vocabulary import normal_form, vocabulary
from transforms.draft.column_values import MOSTLY
from transforms.draft.heading_parts import ways_to_read

_DATE = re.compile(r"(\d{1,4})([./-])(\d{1,2})\2(\d{1,4})(?:[T ]\d.*)?")
_DECIMAL = {"comma": re.compile(r"[+-]?\d+,\d+( ?[^\d\s,.]+)?"),
            "point": re.compile(r"[+-]?\d+\.\d+( ?[^\d\s,.]+)?")}  # fmt: skip
_LAST_MONTH, _LAST_DAY = 12, 31

# What a language's spreadsheets use where nothing shows it; common practice, no source.
_USUAL_DECIMAL: dict[Language, DecimalMark] = {
    "en": "point", "es": "comma", "fr": "comma", "de": "comma", "pt": "comma"
}  # fmt: skip


Value = TypeVar("Value", bound=str)


@dataclass(frozen=True)
class Told(Generic[Value]):
    """A setting, why, and whether the workbook shows it or it is only usual."""

    value: Value
    reason: str
    is_shown: bool


def language_of(headings: Iterable[str], wanted: Language | None) -> Told[Language]:
    """The language in which most headings are listed; words of many languages count for little."""
    if wanted:
        return Told(wanted, "as asked", True)
    texts = dict.fromkeys(headings)
    listed = [_languages_that_list(text) for text in texts]
    weights = {
        language: sum(1 / len(listing) for listing in listed if language in listing)
        for language in LANGUAGES
    }
    best = max(LANGUAGES, key=lambda language: weights[language])
    if not weights[best]:
        return Told("en", "no heading is listed in any language; please say which it is", False)
    count = sum(best in listing for listing in listed)
    return Told(best, f"{count} of {len(texts)} different headings are listed in it", True)


def _languages_that_list(heading: str) -> set[str]:
    vocabularies = (*(field_words(kind) for kind in RECORD_KINDS), heading_words("unread"))
    return {
        language
        for parts in ways_to_read(heading, None, with_time=True, with_eye=True)
        for words in vocabularies
        for language in words.words.get(parts.core, {})
    }


def date_order(texts: Iterable[str]) -> Told[DateOrder]:
    """The order of dates written as text; typed dates say nothing."""
    votes: Counter[DateOrder] = Counter()
    unclear = 0
    for match in filter(None, map(_DATE.fullmatch, texts)):
        first, second = int(match[1]), int(match[3])
        if len(match[1]) == 4:
            votes["year-first"] += 1
        elif _LAST_MONTH < first <= _LAST_DAY:
            votes["day-first"] += 1
        elif _LAST_MONTH < second <= _LAST_DAY:
            votes["month-first"] += 1
        else:
            unclear += 1
    if votes["year-first"] and len(votes) > 1:
        del votes["year-first"]  # such dates are read year first whatever the order of the others
    if not votes:
        dates = f"{unclear} dates as text fit both orders" if unclear else "no date is text"
        return Told("day-first", f"{dates}: please confirm; it matters for texts alone", False)
    order, count = votes.most_common(1)[0]
    against = f", {votes.total() - count} are not" if votes.total() > count else ""
    return Told(
        order, f"{count} dates written as text can only be {order}{against}",
        count >= MOSTLY * votes.total(),
    )  # fmt: skip


def decimal_mark(
    texts: Iterable[str], known: DecimalMark | None, language: Language
) -> Told[DecimalMark]:
    """The decimal mark of numbers written as text."""
    if known:
        return Told(known, f"numbers of the text file have a decimal {known}", True)
    counts: Counter[DecimalMark] = Counter()
    for text in texts:
        counts["comma"] += bool(_DECIMAL["comma"].fullmatch(text))
        counts["point"] += bool(_DECIMAL["point"].fullmatch(text))
    mark, count = counts.most_common(1)[0] if counts else ("point", 0)
    if not count:
        usual = _USUAL_DECIMAL[language]
        return Told(usual, f"no number is text; usual in '{language}': please confirm", False)
    return Told(
        mark, f"{count} of {counts.total()} decimal numbers written as text have a {mark}",
        count >= MOSTLY * counts.total(),
    )  # fmt: skip


def missing_words(texts: Iterable[str], language: Language) -> dict[str, int]:
    """Texts of the sheets that say that nothing is known, and how often each stands there."""
    words = vocabulary("missing")
    counts = Counter(text.strip() for text in texts)
    return {
        text: count
        for text, count in counts.items()
        if normal_form(text) and words.code(text, language)
    }
