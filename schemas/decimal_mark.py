"""The mark between whole numbers and decimals."""

from __future__ import annotations

from typing import Literal

DecimalMark = Literal["point", "comma"]
