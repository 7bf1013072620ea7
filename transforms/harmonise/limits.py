"""The codebook's limits over the harmonised values.

The same limits stand in the codebook's pandera models, which hold every frame that goes into the
warehouse (`transforms.contract`). Here one comparison a column serves: it says which rows are
outside, and `foveapool check` need not wait for pandera's checks to be imported.
"""

from __future__ import annotations

from typing import Literal

import pandas as pd

from schemas.codebook import RECORD_TABLE, RecordKind, table_fields

Kind = Literal["hard", "soft"]


def outside(
    values: pd.DataFrame, kind: RecordKind, which: Kind, *, worked_out: bool
) -> dict[str, pd.Index]:
    """Labels of the rows in which each column lies outside its hard or soft limits.

    `worked_out` chooses between columns read from a cell and columns worked out from others.
    """
    found = {}
    for name, spec in table_fields(RECORD_TABLE[kind]).items():
        limits = spec.hard if which == "hard" else spec.soft
        if limits is None or name not in values or (spec.reads is None) != worked_out:
            continue
        numbers = values[name].astype("float64")
        wrong = (numbers < limits.low) | (numbers > limits.high)
        if wrong.any():
            found[name] = values.index[wrong]
    return found
