"""The data-quality page: dataset-level checks by great_expectations, completeness, open findings.

Nothing else imports great_expectations, and nothing here does so before it is needed: the import
takes six seconds.
"""

from reports.quality.page import write_quality

__all__ = ["write_quality"]
