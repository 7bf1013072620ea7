"""Expectation suites of great_expectations, made from the checks."""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from reports.quality.checks import Check

if TYPE_CHECKING:
    from great_expectations import ExpectationSuite

# Of the checks' kinds, those whose failure only asks for a look.
_WARNINGS = ("complete", "usual")


def silence_telemetry() -> None:
    """Must run before great_expectations is first imported."""
    os.environ["GX_ANALYTICS_ENABLED"] = "false"


def suite_of(table: str, checks: Sequence[Check]) -> ExpectationSuite:
    """The suite of a table; each expectation's meta names the check by its place."""
    silence_telemetry()
    from great_expectations import ExpectationSuite

    expectations = [_expectation(check, place) for place, check in enumerate(checks)]
    return ExpectationSuite(name=table, expectations=expectations)


def _expectation(check: Check, place: int) -> Any:
    from great_expectations import expectations

    gxe: Any = expectations  # the library re-exports these without saying so in its types
    common: dict[str, Any] = {
        "meta": {"check": check.kind, "column": check.column, "place": place},
        "severity": "warning" if check.kind in _WARNINGS else "critical",
    }
    if check.kind == "volume":
        return gxe.ExpectTableRowCountToBeBetween(min_value=1, **common)
    common |= {"column": check.column, "mostly": check.share}
    if check.kind == "unique":
        return gxe.ExpectColumnValuesToBeUnique(**common)
    if check.kind == "linked":
        return gxe.ExpectColumnValuesToBeInSet(value_set=[True], **common)
    if check.kind == "codes":
        return gxe.ExpectColumnValuesToBeInSet(value_set=list(check.codes), **common)
    if check.limits:
        return gxe.ExpectColumnValuesToBeBetween(
            min_value=check.limits.low, max_value=check.limits.high, **common
        )
    return gxe.ExpectColumnValuesToNotBeNull(**common, **_row_condition(check))


def _row_condition(check: Check) -> dict[str, Any]:
    from great_expectations.expectations.row_conditions import Column

    if check.condition is None:
        return {}
    column = Column(check.condition.column)
    codes = list(check.condition.codes)
    return {"row_condition": column.is_in(codes) if codes else column.is_not_null()}
