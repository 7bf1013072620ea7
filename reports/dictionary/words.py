"""Words that are understood: every vocabulary, with the fields that are read by it."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from markupsafe import Markup, escape

from schemas.codebook import RECORD_KINDS, RECORD_TABLE, table_fields, upload_fields
from schemas.codes import OFF_CHART
from schemas.conversions import Conversion, conversions, words_rule
from schemas.field import FieldSpec, Reading
from schemas.word_lists import WordList, word_list, word_list_names

# Lists by which cells are read whose field has no code list of their name.
_BY_READING: Mapping[Reading | None, str] = MappingProxyType(
    {"acuity": "off_chart", "visit_time": "headings/visit_time", "yes_no": "yes_no"}
)
_HEADINGS = "headings"


@dataclass(frozen=True)
class Link:
    """The name of a field or a list of words, with the anchor of its entry on the page."""

    name: str
    anchor: str


@dataclass(frozen=True)
class WordsEntry:
    """A vocabulary: its words, what its codes mean where a code list says it, who is read by it.

    `rule` is the rule that the table `cells` names where one cell is one word of the list.
    """

    words: WordList
    anchor: str
    title: str
    note: Markup
    meanings: Mapping[str, str]
    fields: tuple[Link, ...]
    rule: Conversion | None


def words_of(spec: FieldSpec) -> Link | None:
    """The vocabulary that a field is read by, or whose codes it holds; None without one."""
    named = spec.codes.name if spec.codes is not None else ""
    name = named if named in word_list_names() else _BY_READING.get(spec.reads)
    return Link(name, words_anchor(name)) if name else None


def words_anchor(name: str) -> str:
    """The anchor of a vocabulary's entry."""
    return f"words-{name.rpartition('/')[2]}"


def words_of_fields() -> list[WordsEntry]:
    """The vocabularies of the fields, in the order of the codebook."""
    read: dict[str, dict[Link, str]] = defaultdict(dict)
    meanings: dict[str, Mapping[str, str]] = {"off_chart": OFF_CHART}
    for link, spec in _fields():
        words = words_of(spec)
        if words is None:
            continue
        read[words.name][link] = spec.title
        if spec.codes is not None and spec.codes.name == words.name:
            meanings[words.name] = spec.codes
    return [_entry(word_list(name), read[name], meanings.get(name, {})) for name in read]


def words_of_texts() -> list[WordsEntry]:
    """Every other vocabulary: words by which texts, sheets and headings are read."""
    known = {entry.words.name for entry in words_of_fields()}
    of_kinds = {f"{_HEADINGS}/{name}" for name in ("case", *RECORD_KINDS)}
    names = (*word_list_names(), *word_list_names(_HEADINGS))
    return [_entry(word_list(name), {}, {}) for name in names if name not in known | of_kinds]


def _entry(words: WordList, fields: Mapping[Link, str], meanings: Mapping[str, str]) -> WordsEntry:
    titles = dict.fromkeys(fields.values())
    return WordsEntry(
        words=words,
        anchor=words_anchor(words.name),
        title=", ".join(titles) or words.name.rpartition("/")[2].replace("_", " ").capitalize(),
        note=with_code_marks(words.note),
        meanings=meanings,
        fields=tuple(fields),
        rule=conversions().get(words_rule(words.name)),
    )


def with_code_marks(note: str) -> Markup:
    """A note with what stands between backquotes set as code."""
    return Markup(re.sub(r"`([^`]+)`", r"<code>\1</code>", str(escape(note))))


def _fields() -> Iterator[tuple[Link, FieldSpec]]:
    """Fields of uploads that are no column, and columns, each with the place where it is told."""
    for kind, table in RECORD_TABLE.items():
        for name, upload in upload_fields(kind).items():
            if upload.column is None:
                yield Link(name, f"identifier-{name}"), upload.spec
        for column, spec in table_fields(table).items():
            yield Link(f"{table}.{column}", f"{table}.{column}"), spec
