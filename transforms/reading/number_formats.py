"""Formats of numbers, as .xlsx and .xls store them."""

from __future__ import annotations

import re
from collections.abc import Mapping

# "0%" and "0.00%" (ECMA-376 part 1, 18.8.30; the same in [MS-XLS] 2.4.126).
BUILT_IN_PER_CENT = frozenset({9, 10})

# What a code shows as it stands: quoted text, conditions and colours, and the sign after a mark.
_LITERAL = re.compile(r"""\"[^"]*"?|\[[^\]]*\]?|[\\_*].""", re.DOTALL)


def is_per_cent(code: str) -> bool:
    """Whether numbers of this format are shown a hundred times as large, with a per-cent sign."""
    return "%" in code and "%" in _LITERAL.sub("", code)


def per_cent_formats(custom: Mapping[int, str]) -> frozenset[int]:
    """Numbers of the per-cent formats, given the codes that the workbook declares itself."""
    declared = {number for number, code in custom.items() if is_per_cent(code)}
    return (BUILT_IN_PER_CENT - custom.keys()) | declared
