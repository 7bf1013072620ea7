"""Bare numbers in columns of dates: the spreadsheet's own count of days, where that is certain.

A workbook counts days from 30 December 1899 or, as old Macintosh programs did, from 1 January 1904
(ECMA-376 part 1, 18.17.4.1).
"""

from __future__ import annotations

import datetime as dt

import pandas as pd

from transforms.reading import PerCent
from transforms.reading.workbook import Epoch

_DAY_ZERO: dict[Epoch, dt.datetime] = {
    1900: dt.datetime(1899, 12, 30),
    1904: dt.datetime(1904, 1, 1),
}
# Smaller numbers may be years, larger ones days written without marks, as 270524.
EARLIEST, LATEST = dt.datetime(1910, 1, 1), dt.datetime(2100, 1, 1)


def dates_of_numbers(values: pd.Series, epoch: Epoch | None) -> tuple[pd.Series, pd.Series]:
    """The cells of a column of dates with numbers read as days, and which cells were such numbers.

    Where one number of the column is no day of the last hundred years or so, none is read: they
    are then written in a way of the centre's own. Of text the epoch is not known: nothing is read.
    """
    is_number = values.map(_is_plain_number).astype(bool)
    if epoch is None or not is_number.any():
        return values, pd.Series(False, index=values.index)
    zero = _DAY_ZERO[epoch]
    numbers = values[is_number].astype("float64")
    low, high = (EARLIEST - zero).days, (LATEST - zero).days
    if not numbers.between(low, high).all():
        return values, pd.Series(False, index=values.index)
    days = numbers.map(lambda number: zero + dt.timedelta(days=int(number)))
    return values.where(~is_number, days.reindex(values.index).astype("object")), is_number


def _is_plain_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool | PerCent)
