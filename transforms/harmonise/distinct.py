"""The distinct values of a column, so that a reader sees each of them once."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd


def distinct_values(values: pd.Series) -> tuple[pd.Series, npt.NDArray[np.intp]]:
    """Distinct values as objects, and for each row the place of its value among them.

    Type is part of what makes values distinct: 1 is neither TRUE nor 1 %, and all three are equal
    to Python. Work per row is hashing alone.
    """
    objects = values.to_numpy(dtype="object")
    if len(set(map(type, objects))) <= 1:
        places, distinct = pd.factorize(objects, use_na_sentinel=False)
        return pd.Series(distinct, dtype="object"), places
    types = np.fromiter(map(type, objects), dtype="object", count=len(objects))
    of_type, kinds = pd.factorize(types)
    places = np.empty(len(objects), dtype=np.intp)
    distinct = np.empty(0, dtype="object")
    for number in range(len(kinds)):
        within, of_kind = pd.factorize(objects[of_type == number], use_na_sentinel=False)
        places[of_type == number] = within + len(distinct)
        distinct = np.concatenate([distinct, of_kind])
    return pd.Series(distinct, dtype="object"), places
