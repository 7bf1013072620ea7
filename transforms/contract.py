"""The codebook's contract: frames leave the transforms in a table's columns, types and codes."""

from __future__ import annotations

import pandas as pd
import pandera.pandas as pa

from schemas.codebook import TABLES, table_fields


class ContractBroken(AssertionError):
    """A frame breaks the codebook's model: a fault of the program. Names columns, never values."""


def conformed(frame: pd.DataFrame, table: str) -> pd.DataFrame:
    """`frame` with the table's columns in its order and types; columns not there are missing.

    Raises ContractBroken where the codebook's model does not hold.
    """
    schema = TABLES[table].to_schema()
    columns = {}
    for name in table_fields(table):
        column = frame[name] if name in frame else pd.Series(None, index=frame.index, dtype=object)
        dtype = schema.columns[name].dtype.type
        columns[name] = column.astype(object).where(column.notna(), None).astype(dtype)
    result = pd.DataFrame(columns, index=frame.index).reset_index(drop=True)
    try:
        schema.validate(result, lazy=True)
    except pa.errors.SchemaErrors as broken:
        # The exception's own text holds values; only what was checked is told on.
        checks = sorted({f"{e.schema.name}: {e.reason_code}" for e in broken.schema_errors})
        raise ContractBroken(f"{table}: {'; '.join(checks)}") from None
    return result
