"""Formats of numbers, as .xlsx and .xls store them."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

# "0%" and "0.00%" (ECMA-376 part 1, 18.8.30; the same in [MS-XLS] 2.4.126).
BUILT_IN_PER_CENT = frozenset({9, 10})
# "mmm-yy" (ECMA-376 part 1, 18.8.30).
BUILT_IN_DAYLESS = frozenset({17})

# What a code shows as it stands: quoted text, conditions and colours, and the sign after a mark.
_LITERAL = re.compile(r"""\"[^"]*"?|\[[^\]]*\]?|[\\_*].""", re.DOTALL)


def is_per_cent(code: str) -> bool:
    """Whether numbers of this format are shown a hundred times as large, with a per-cent sign."""
    return "%" in code and "%" in _LITERAL.sub("", code)


def is_dayless(code: str) -> bool:
    """Whether dates of this format show a year or a month's name and no day."""
    shown = _LITERAL.sub("", code).lower()
    return "d" not in shown and ("y" in shown or "mmm" in shown)


def per_cent_formats(custom: Mapping[int, str]) -> frozenset[int]:
    """Numbers of the per-cent formats, given the codes that the workbook declares itself."""
    return _formats(custom, BUILT_IN_PER_CENT, is_per_cent)


def dayless_formats(custom: Mapping[int, str]) -> frozenset[int]:
    """Numbers of the formats of dates without a day, given the codes that the workbook declares."""
    return _formats(custom, BUILT_IN_DAYLESS, is_dayless)


def _formats(
    custom: Mapping[int, str], built_in: frozenset[int], is_such: Callable[[str], bool]
) -> frozenset[int]:
    declared = {number for number, code in custom.items() if is_such(code)}
    return (built_in - custom.keys()) | declared


@dataclass(frozen=True)
class CellStyles:
    """Numbers of the cell styles that show numbers as per cent, and dates without a day."""

    per_cent: frozenset[int] = frozenset()
    dayless: frozenset[int] = frozenset()

    @classmethod
    def of(cls, formats: Sequence[int | None], custom: Mapping[int, str]) -> CellStyles:
        """The styles, given the format of each and the codes that the workbook declares itself."""

        def with_format(wanted: frozenset[int]) -> frozenset[int]:
            return frozenset(style for style, number in enumerate(formats) if number in wanted)

        return cls(with_format(per_cent_formats(custom)), with_format(dayless_formats(custom)))
