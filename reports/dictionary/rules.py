"""Rules: those by which values are made of cells, and those by which findings are made."""

from __future__ import annotations

import re
from dataclasses import dataclass

from reports.dictionary.conventions import entry_anchor
from reports.dictionary.words import words_anchor
from schemas.conventions import CLOSURE_GRADINGS, OFF_CHART_SETS
from schemas.conversions import (
    Conversion,
    conversion_groups,
    conversions,
    grading_rule,
    off_chart_rule,
    unit_rule,
    words_rule,
)
from schemas.rules import RULES
from schemas.units import UNITS, unit_sign
from schemas.word_lists import word_list_names

_UNITS = "Units"


@dataclass(frozen=True)
class ConversionEntry:
    """A rule by which values are made; `told_at` is the anchor of its numbers or words."""

    rule: Conversion
    anchor: str
    told_at: str | None


@dataclass(frozen=True)
class UnitEntry:
    """A unit in which a quantity may be given, and the rule that makes it the codebook's.

    Numbers in the codebook's own unit, which `is_base`, are taken as they stand.
    """

    name: str
    is_base: bool
    spellings: tuple[str, ...]
    conversion: ConversionEntry


@dataclass(frozen=True)
class FindingEntry:
    """A rule with its words, where ‹…› stands for what a finding fills in."""

    name: str
    message: str
    mend: str


def conversion_entries() -> dict[str, list[ConversionEntry]]:
    """Rules by which values are made, by what they are about; `unit_entries` has those of units."""
    return {
        title: [_conversion(rule) for rule in rules]
        for title, rules in conversion_groups().items()
        if title != _UNITS
    }


def unit_entries() -> dict[str, list[UnitEntry]]:
    """The units of each quantity, by the codebook's unit as it is printed."""
    return {
        unit_sign(base): [
            UnitEntry(
                name,
                name == base,
                unit.spellings,
                _conversion(conversions()[unit_rule(name, base)]),
            )
            for name, unit in units.items()
        ]
        for base, units in UNITS.items()
    }


def finding_rules(action: str) -> list[FindingEntry]:
    """The rules of findings with one action."""
    return [
        FindingEntry(rule.name, _open_words(rule.message), _open_words(rule.mend))
        for rule in RULES.values()
        if rule.action == action
    ]


def _conversion(rule: Conversion) -> ConversionEntry:
    """Its anchor has no sign that an address would need to escape: `fraction_to_%`."""
    anchor = f"conversion-{re.sub(r'[^A-Za-z0-9_]', '-', rule.name)}"
    return ConversionEntry(rule, anchor, _places().get(rule.name))


def _places() -> dict[str, str]:
    return {
        **{words_rule(name): words_anchor(name) for name in word_list_names()},
        **{off_chart_rule(name): entry_anchor(name) for name in OFF_CHART_SETS},
        **{grading_rule(name): entry_anchor(name) for name in CLOSURE_GRADINGS},
    }


def _open_words(words: str) -> str:
    return re.sub(r"\{(\w+)\}", lambda name: f"‹{name[1]}›", words.replace("{title}", "{field}"))
