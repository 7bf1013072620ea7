"""All pooled tables of a study."""

from __future__ import annotations

import pandas as pd

from schemas.study import Study
from transforms.pooling.acuity_table import acuity_rows
from transforms.pooling.closure_table import closure_rows
from transforms.pooling.electroretinogram_table import electroretinogram_rows
from transforms.pooling.estimates import as_table
from transforms.pooling.groups import index_operations
from transforms.pooling.masking import masked
from transforms.pooling.perimetry_table import perimetry_rows


def pooled_tables(
    operations: pd.DataFrame, visits: pd.DataFrame, study: Study, smallest_cell: int
) -> dict[str, pd.DataFrame]:
    """The pooled tables by name, from the warehouse's operations and visits as of one week.

    Nothing in them depends on random codes or on the order of rows.
    """
    first = index_operations(operations).set_index("operation_key")
    function = [
        row
        for rows_of in (acuity_rows, perimetry_rows, electroretinogram_rows)
        for row in rows_of(first, visits, study)
    ]
    tables = {"closure": closure_rows(first, study), "function": function}
    return {name: masked(as_table(rows), smallest_cell) for name, rows in tables.items()}
