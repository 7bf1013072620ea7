"""All pooled tables of a study."""

from __future__ import annotations

import pandas as pd

from schemas.study import Study
from transforms.pooling.acuity_table import acuity_table
from transforms.pooling.closure_table import closure_table
from transforms.pooling.masking import masked


def pooled_tables(
    operations: pd.DataFrame, visits: pd.DataFrame, study: Study, smallest_cell: int
) -> dict[str, pd.DataFrame]:
    """The pooled tables by name, from the warehouse's operations and visits as of one week.

    Nothing in them depends on random codes or on the order of rows.
    """
    tables = {
        "closure": closure_table(operations, study),
        "function": acuity_table(operations, visits, study),
    }
    return {name: masked(table, smallest_cell) for name, table in tables.items()}
