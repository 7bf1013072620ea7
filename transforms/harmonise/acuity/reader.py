"""Visual acuity to logMAR, beside what else the cell says of it.

How a cell is taken apart stands in `marks`, what a text is in `written`, the formulas
and their sources in `notations`, the values of words in `off_chart`.

A partial line such as 20/40-2 has no defined value on Snellen charts (DICOM PS3.17, RR.2.3): the
line counts, unless the crosswalk says that the chart has five letters a line. A letter is then
worth 0.02, and fewer letters than a line has never reach the next.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import reduce

import numpy as np
import pandas as pd

from transforms.harmonise.acuity.marks import NEAR, Cell, read_cell
from transforms.harmonise.acuity.values import Acuities, Texts, filled, valued
from transforms.harmonise.acuity.written import UNREADABLE, Habits
from transforms.harmonise.context import PROBLEM, RULE, Context, rule_of

THROUGH_PINHOLE = "acuity_pinhole"
UNCORRECTED = "acuity_uncorrected"

_PINHOLE_COLUMN = "acuity_pinhole_logmar"


def read_acuity(values: pd.Series, context: Context) -> pd.DataFrame:
    """Distinct acuity cells of a column in logMAR.

    Returns, labelled as `values`, the warehouse's columns that the field fills, `RULE`, by which
    each value was made, and `PROBLEM`. A cell of which a part is refused has no value. An acuity
    through a pinhole asks nothing where it stands beside one without, since that one is used.
    """
    if context.source.correction == "near":
        cells = [Cell(problem=NEAR)] * len(values)
    else:
        habits = Habits.of(context)
        cells = [_in_its_column(read_cell(value, habits), context) for value in values]
    acuity, pinhole = _values(cells, context)
    refused = _first(
        _texts(cell.problem for cell in cells),
        acuity.refusal,
        pinhole.refusal,
    )
    asked = _first(
        _texts(THROUGH_PINHOLE if _asks_for_pinhole(cell, context) else None for cell in cells),
        acuity.problem,
        pinhole.problem,
        _texts(UNCORRECTED if _asks_for_correction(cell, context) else None for cell in cells),
    )
    read = _of_field(cells, acuity, pinhole, context)
    read[RULE] = pd.array(_first(acuity.rule, pinhole.rule), dtype="str")
    read[rule_of(_PINHOLE_COLUMN)] = pd.array(pinhole.rule, dtype="str")
    if (is_refused := pd.Series(filled(refused))).any():
        read = read.mask(is_refused)
    read[PROBLEM] = pd.Series(_first(refused, asked), dtype="object")
    return read.set_axis(values.index)


def _takes_pinhole(context: Context) -> bool:
    return context.column == _PINHOLE_COLUMN or context.source.correction == "pinhole"


def _in_its_column(cell: Cell, context: Context) -> Cell:
    """The cell under its heading, by which an acuity without a mark is through a pinhole, or not.

    In a column of pinholes "no improvement" is no gap, and says no more.
    """
    if cell.problem is not None:
        return cell
    if not _takes_pinhole(context):
        is_empty = cell.acuity is None and cell.pinhole is None
        return Cell(problem=UNREADABLE) if is_empty else cell
    if cell.acuity is None:
        return cell
    if cell.pinhole is None:
        through = cell._replace(acuity=None, pinhole=cell.acuity, correction="pinhole")
        return Cell(problem=UNREADABLE) if cell.no_gain else through
    return cell._replace(acuity=None) if context.column == _PINHOLE_COLUMN else cell


def _values(cells: Sequence[Cell], context: Context) -> tuple[Acuities, Acuities]:
    """Values of the acuities and of those through a pinhole, one place a cell.

    They are read together: the notation of a column is told from all of its cells.
    """
    acuity = {place: cell.acuity for place, cell in enumerate(cells) if cell.acuity is not None}
    pinhole = {place: cell.pinhole for place, cell in enumerate(cells) if cell.pinhole is not None}
    found = valued([*acuity.values(), *pinhole.values()], context)
    return (
        found.at(list(acuity), slice(len(acuity)), len(cells)),
        found.at(list(pinhole), slice(len(acuity), None), len(cells)),
    )


def _of_field(
    cells: Sequence[Cell], acuity: Acuities, pinhole: Acuities, context: Context
) -> pd.DataFrame:
    """The warehouse's columns that the field fills."""
    if context.column == _PINHOLE_COLUMN:
        return pd.DataFrame({_PINHOLE_COLUMN: pinhole.logmar})
    is_word = filled(acuity.off_chart)
    notation = acuity.notation.copy()
    notation[is_word] = context.source.notation
    correction = _texts(_correction(cell, context) for cell in cells)
    is_imputed = pd.arrays.BooleanArray(is_word, np.isnan(acuity.logmar))
    return pd.DataFrame(
        {
            "acuity_logmar": acuity.logmar,
            "acuity_line_logmar": acuity.line,
            "acuity_partial": pd.array(acuity.partial, dtype="str"),
            "acuity_partial_letters": pd.Series(acuity.letters).astype("Int64"),
            "acuity_distance_m": acuity.distance_m,
            "acuity_correction": pd.array(correction, dtype="str"),
            _PINHOLE_COLUMN: pinhole.logmar,
            "acuity_notation": pd.array(notation, dtype="str"),
            "acuity_off_chart": pd.array(acuity.off_chart, dtype="str"),
            "acuity_imputed": is_imputed,
        }
    )


def _correction(cell: Cell, context: Context) -> str | None:
    """As the cell marks it, else as the crosswalk declares it of the column."""
    declared = context.source.correction
    if cell.correction or declared != "pinhole":
        return cell.correction or declared
    return declared if cell.acuity is None and cell.pinhole is not None else None


def _asks_for_pinhole(cell: Cell, context: Context) -> bool:
    return cell.pinhole is not None and cell.acuity is None and not _takes_pinhole(context)


def _asks_for_correction(cell: Cell, context: Context) -> bool:
    if _takes_pinhole(context) or context.source.correction == "uncorrected":
        return False
    return cell.correction == "uncorrected"


def _texts(texts: Iterable[str | None]) -> Texts:
    return np.array(list(texts), dtype="object")


def _first(*said: Texts) -> Texts:
    """At each place what the first says that says anything."""
    return reduce(lambda first, then: np.where(filled(first), first, then), said)
