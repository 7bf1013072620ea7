"""Names of visits beside the windows that a study declares."""

from __future__ import annotations

from collections.abc import Mapping

# A study's windows by name: (from, target, to) in days after the operation.
Windows = Mapping[str, tuple[int, int, int]]

# The visit before the operation, in days from it. Common practice, no source: series take the
# examination of the last three months.
BASELINE = "baseline"
BASELINE_DAYS = (-90, 0)

UNSCHEDULED = "unscheduled"
