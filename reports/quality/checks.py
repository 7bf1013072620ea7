"""The quality checks, derived from the codebook: what is expected of which column, and why."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from reports.labels import field_title
from reports.quality.expected import EXPECTED, NEVER_EMPTY, REQUIRED, USUAL
from schemas.codebook import TABLES, table_fields
from schemas.field import FieldSpec, Limits
from schemas.study import Study
from schemas.units import unit_sign
from schemas.visit_names import BASELINE, UNSCHEDULED

QUALITY_TABLES = ("operations", "visits", "complications")

Kind = Literal[
    "volume", "unique", "linked", "present", "codes", "possible", "complete", "usual"
]  # fmt: skip

# The column that says whether the operation of a row is in the store; made for the check alone.
OPERATION_KNOWN = "operation_known"

OWN_ERROR = (
    "An error of foveapool, not of a centre: the store should never hold it. Rebuild the store "
    "from the uploads; if it stays, report the field."
)
_BY_KIND: Mapping[Kind, str] = {
    "volume": "Look at the centre's upload on the run page, and at the tables its crosswalk names.",
    "complete": "Ask the centre to fill it in, or name its column in the crosswalk.",
    "usual": "Check the column's unit in the centre's crosswalk first, then the cells that its "
    "return marks.",
}
NOTHING_AT_ALL = (
    "No row has it. If the centre records it, name its column in the crosswalk; if not, the "
    "methods must say so."
)


@dataclass(frozen=True)
class Condition:
    """Rows that a check is about: those where `column` has one of `codes`, or any value at all."""

    column: str
    codes: tuple[str, ...]

    @property
    def words(self) -> str:
        return f" where {self.column} is {' or '.join(self.codes) or 'filled in'}"


@dataclass(frozen=True)
class Check:
    """One expectation about one column of a table (or, for volume, about the table).

    `share` is the least share of tested values that must pass. `by_site` checks, about what
    centres send, run for each centre; the others, about what foveapool itself guarantees, run
    once for the whole table.
    """

    table: str
    column: str
    kind: Kind
    share: float = 1.0
    by_site: bool = False
    codes: tuple[str, ...] = ()
    limits: Limits | None = None
    unit: str = ""
    condition: Condition | None = None

    @property
    def expected(self) -> str:
        """What is expected, in words."""
        if self.limits:
            within = f"{self.limits.low:g} to {self.limits.high:g} {self.unit}".strip()
            return within if self.share == 1 else f"{self.share:.0%} within {within}"
        if self.kind == "complete":
            rows = self.condition.words if self.condition else ""
            return f"in {self.share:.0%} of rows{rows}"
        if self.kind == "codes":
            return f"one of {len(self.codes)} codes"
        return {"volume": "at least one row", "unique": "no two alike", "present": "in every row",
                "linked": "an operation of the store"}[self.kind]  # fmt: skip

    def what_to_do(self, tested: int, unexpected: int) -> str:
        """What whoever sees this check fail should do, given its counts."""
        if not self.by_site:
            return OWN_ERROR
        advice = NOTHING_AT_ALL if self._is_nowhere(tested, unexpected) else _BY_KIND[self.kind]
        return f"{advice} {self._origin}".strip()

    def _is_nowhere(self, tested: int, unexpected: int) -> bool:
        return self.kind == "complete" and unexpected == tested

    @property
    def _origin(self) -> str:
        """For a field that no cell holds as it stands: what it is worked out from."""
        spec = table_fields(self.table).get(self.column)
        if self.kind != "complete" or spec is None or spec.reads:
            return ""
        titles = dict.fromkeys(field_title(name) for name in spec.upload)
        return f"It is worked out from: {', '.join(titles)}."


def checks(table: str, study: Study) -> tuple[Check, ...]:
    """Every check of a table, in the order of the codebook's columns."""
    return tuple(_checks(table, study))


def _checks(table: str, study: Study) -> Iterator[Check]:
    declared = TABLES[table].to_schema().columns
    if table in NEVER_EMPTY:
        yield Check(table, "", "volume", by_site=True)
    for name, spec in table_fields(table).items():
        if declared[name].unique:
            yield Check(table, name, "unique")
        if not declared[name].nullable:
            yield Check(table, name, "present")
        elif (share := expected_share(table, spec)) is not None:
            yield Check(table, name, "complete", share, by_site=True, condition=condition_of(spec))
        if codes := _codes_of(table, spec, study):
            yield Check(table, name, "codes", codes=codes)
        if spec.hard:
            yield Check(table, name, "possible", limits=spec.hard, unit=unit_sign(spec.unit))
        if spec.soft:
            yield Check(
                table,
                name,
                "usual",
                USUAL,
                by_site=True,
                limits=spec.soft,
                unit=unit_sign(spec.unit),
            )
    if table != "operations":
        yield Check(table, OPERATION_KNOWN, "linked")


def expected_share(table: str, spec: FieldSpec) -> float | None:
    """Share of rows in which a field should be filled in; None where nothing is expected."""
    return REQUIRED[spec.required.without] if spec.required else EXPECTED[table].get(spec.name)


def condition_of(spec: FieldSpec) -> Condition | None:
    """The rows that call for a field, where not all do."""
    required = spec.required
    return Condition(required.when, required.codes) if required and required.when else None


def _codes_of(table: str, spec: FieldSpec, study: Study) -> tuple[str, ...]:
    from_study: Mapping[tuple[str, str], tuple[str, ...]] = {
        ("operations", "site"): study.sites,
        ("visits", "visit"): (BASELINE, *study.visits, UNSCHEDULED),
    }
    return tuple(spec.codes or from_study.get((table, spec.name), ()))
