"""Runs the suites on a study's tables and keeps counts alone."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pandas as pd

from reports.quality.checks import OPERATION_KNOWN, QUALITY_TABLES, Check, checks
from reports.quality.suite import silence_telemetry, suite_of
from schemas.study import Study

if TYPE_CHECKING:
    from great_expectations import ExpectationSuite
    from great_expectations.core import ExpectationValidationResult
    from great_expectations.datasource.fluent.pandas_datasource import PandasDatasource

ALL_SITES = "all"
RESULT_COLUMNS = (
    "table", "site", "column", "check", "expected", "tested", "unexpected", "percent", "success",
    "what_to_do",
)  # fmt: skip

# Counts only: no list of values, no index of rows.
_RESULT_FORMAT = {"result_format": "BASIC", "partial_unexpected_count": 0}


class QualityCheckError(RuntimeError):
    """An expectation could not be evaluated: an error of the checks, not of the data."""


@dataclass(frozen=True)
class QualityRun:
    """`suites`: each suite's definition, by name, as plain JSON values without ids.

    `results`: one row a check and batch, in RESULT_COLUMNS. `site` is a centre's code, or 'all'
    for a check of the whole table; `tested` counts the values (for 'volume' and 'complete' the
    rows) that were looked at, `unexpected` those that failed, `percent` is of `tested`.
    """

    suites: dict[str, list[dict[str, Any]]]
    results: pd.DataFrame


def run_checks(study: Study, tables: Mapping[str, pd.DataFrame]) -> QualityRun:
    """Run every check on `tables`: operations, visits and complications as in the codebook.

    Raises QualityCheckError where an expectation raises, as it does when its column is missing.
    """
    datasource = _datasource()
    suites: dict[str, list[dict[str, Any]]] = {}
    rows: list[dict[str, object]] = []
    for table in QUALITY_TABLES:
        frame = with_origin(table, tables)
        declared = checks(table, study)
        for scope, batches in (
            ("", [(ALL_SITES, frame)]),
            (" by centre", [(site, frame[frame["site"] == site]) for site in study.sites]),
        ):
            chosen = [check for check in declared if check.by_site == bool(scope)]
            suite = suite_of(table + scope, chosen)
            suites[suite.name] = _definition(suite)
            for site, batch in batches:
                rows += _validate(datasource, suite, chosen, site, batch)
    return QualityRun(suites, pd.DataFrame(rows, columns=list(RESULT_COLUMNS)))


def _datasource() -> PandasDatasource:
    silence_telemetry()
    import great_expectations as gx
    from great_expectations.data_context.types.base import (
        DataContextConfig,
        InMemoryStoreBackendDefaults,
        ProgressBarsConfig,
    )

    # The library's default would make a folder for pages of its own, and leave it behind.
    stores = InMemoryStoreBackendDefaults(init_temp_docs_sites=False)
    context = gx.get_context(
        mode="ephemeral", project_config=DataContextConfig(store_backend_defaults=stores)
    )
    context.variables.progress_bars = ProgressBarsConfig(globally=False, metric_calculations=False)
    return context.data_sources.add_pandas("store")


def with_origin(table: str, tables: Mapping[str, pd.DataFrame]) -> pd.DataFrame:
    """The table, with the centre of each row and whether its operation is known."""
    if table == "operations":
        return tables[table]
    site_of = tables["operations"].drop_duplicates("operation_key").set_index("operation_key")
    keys = tables[table]["operation_key"]
    return tables[table].assign(
        site=keys.map(site_of["site"]), **{OPERATION_KNOWN: keys.isin(site_of.index)}
    )


def _definition(suite: ExpectationSuite) -> list[dict[str, Any]]:
    # A suite that no context keeps has no ids, which would differ from run to run.
    definition: Any = suite.to_json_dict()
    return list(definition["expectations"])


def _validate(
    datasource: PandasDatasource,
    suite: ExpectationSuite,
    declared: Sequence[Check],
    site: str,
    frame: pd.DataFrame,
) -> Iterator[dict[str, object]]:
    name = f"{suite.name}, {site}"
    definition = datasource.add_dataframe_asset(name).add_batch_definition_whole_dataframe("whole")
    batch = definition.get_batch(batch_parameters={"dataframe": frame.reset_index(drop=True)})
    results = batch.validate(suite, result_format=_RESULT_FORMAT).results
    # The library returns them in an order of its own.
    for result in sorted(results, key=_place):
        check = declared[_place(result)]
        _refuse_raised(result, check)
        yield _counted(check, site, bool(result.success), result.result)


def _place(result: ExpectationValidationResult) -> int:
    config: Any = result.expectation_config
    return int(config.meta["place"])


def _refuse_raised(result: ExpectationValidationResult, check: Check) -> None:
    """An expectation that raised looks like a failed one. Its text may hold values: not told."""
    info = result.exception_info
    raised = info.get("raised_exception") or any(
        isinstance(entry, dict) and entry.get("raised_exception") for entry in info.values()
    )
    if raised:
        raise QualityCheckError(
            f"check '{check.kind}' of {check.table}.{check.column} could not be evaluated; "
            "see that the table has this column, in the type that the codebook declares"
        )


def _counted(
    check: Check, site: str, success: bool, counts: Mapping[str, Any]
) -> dict[str, object]:
    if check.kind == "volume":
        tested, unexpected = int(counts["observed_value"]), int(not success)
    else:
        tested = int(counts["element_count"]) - int(counts.get("missing_count", 0))
        unexpected = int(counts["unexpected_count"])
    return {
        "table": check.table, "site": site, "column": check.column, "check": check.kind,
        "expected": check.expected, "tested": tested, "unexpected": unexpected,
        "percent": 100 * unexpected / tested if tested else float("nan"), "success": success,
        "what_to_do": "" if success else check.what_to_do(tested, unexpected),
    }  # fmt: skip
