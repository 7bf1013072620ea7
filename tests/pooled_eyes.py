"""Six eyes, small enough to work their pooled tables out by hand, as the warehouse holds them.

Acuity change at m3 is -0.3, -0.3, 0, +0.3, -1.0 and -0.2 (mean -0.25, median -0.25).
"""

from __future__ import annotations

import pandas as pd

from schemas.pooled_tables import MAIN
from transforms.contract import conformed

BASE = {"baseline": -7, "m1": 30, "m3": 90, "m6": 180}

# key, centre, technique, size class, strict and broad closure, logMAR at baseline and m3
_EYES = (
    ("e1", "heron", "autologous_retina", "large_over_400", True, True, 1.0, 0.7),
    ("e2", "heron", "autologous_retina", "large_over_400", True, True, 1.2, 0.9),
    ("e3", "heron", "amniotic_membrane", "medium_251_400", False, True, 0.5, 0.5),
    ("e4", "heron", "amniotic_membrane", "large_over_400", True, True, 0.9, 1.2),
    ("e5", "ibis", "autologous_retina", None, None, None, 1.98, 0.98),
    ("e6", "ibis", None, "large_over_400", True, True, 0.8, 0.6),
)

# The second operation of the first eye: it closed, and sees much better.
_AGAIN = ("e7", "heron", "lens_capsule", "large_over_400", True, True, 1.0, 0.0)


def operations() -> pd.DataFrame:
    """The six index operations and one re-operation, which is no further eye."""
    rows = []
    for key, site, technique, size, strict, broad, *_ in (*_EYES, _AGAIN):
        closure = {
            f"{moment}_closure_{suffix}": closed
            for moment in ("primary", "final")
            for suffix, closed in (("strict", strict), ("broad", broad))
        }
        rows.append(
            {
                "operation_key": key, "patient_key": f"p-{key}", "site": site, "eye": "right",
                "eye_operation_number": 2 if key == "e7" else 1, "operation_year": 2025,
                "graft_material": technique, "hole_size_class": size, **closure,
            }
        )  # fmt: skip
    return conformed(pd.DataFrame(rows), "operations")


def visit(key: str, window: str, logmar: float | None, **facts: object) -> dict[str, object]:
    """A visit on its window's target day, or on `day`."""
    row = {
        "operation_key": key, "visit": window, "day": BASE.get(window), "acuity_logmar": logmar,
    } | facts  # fmt: skip
    return row | {"visit_key": f"{key}.{window}.{row['day']}"}


def visits_of(*rows: dict[str, object]) -> pd.DataFrame:
    """The table of these visits."""
    return conformed(pd.DataFrame(rows), "visits")


def visits(*further: dict[str, object]) -> pd.DataFrame:
    """Baseline and m3 of every operation, and `further` visits."""
    rows = [
        visit(key, window, logmar)
        for key, *_, baseline, at_m3 in (*_EYES, _AGAIN)
        for window, logmar in (("baseline", baseline), ("m3", at_m3))
    ]
    return visits_of(*rows, *further)


def row(
    table: pd.DataFrame, outcome: str, statistic: str, group: str = "all", level: str = "all",
    visit: str = "m3", analysis: str = MAIN,
) -> pd.Series:  # fmt: skip
    """The one row of an estimate."""
    wanted = {
        "outcome": outcome, "statistic": statistic, "group": group, "level": level, "visit": visit,
        "analysis": analysis,
    }  # fmt: skip
    found = table[(table[list(wanted)] == pd.Series(wanted)).all(axis=1)]
    assert len(found) == 1
    return found.iloc[0]


def index_eyes(count: int, **facts: object) -> pd.DataFrame:
    """Operations e1, e2, ... at one centre, each the first of its eye."""
    return conformed(
        pd.DataFrame(
            {
                "operation_key": f"e{number}", "patient_key": f"p{number}", "site": "heron",
                "eye": "left", "eye_operation_number": 1, "operation_year": 2025,
                "graft_material": "autologous_retina",
            } | facts
            for number in range(1, count + 1)
        ),
        "operations",
    )  # fmt: skip


def at_baseline_and_m3(*eyes: tuple[dict[str, object], dict[str, object]]) -> pd.DataFrame:
    """Visits of e1, e2, ...: what was measured at baseline and at m3 of each."""
    rows = [
        visit(f"e{number}", window, None, **measured)
        for number, pair in enumerate(eyes, 1)
        for window, measured in zip(("baseline", "m3"), pair, strict=True)
    ]
    return visits_of(*rows)
