"""sanderling: English, letter scores, oil where others use gas, grafts cut to the hole's own size.
Visits laid out in dated columns without a window; a workbook that counts its days from 1904; its
file of week two is cut short."""

from __future__ import annotations

import random
from datetime import date

from sample_inputs.generator.centres.centre import Centre
from sample_inputs.generator.charting import Hand, operation_record, visit_records
from sample_inputs.generator.course import Practice, draw_surgeries
from sample_inputs.generator.defects import Planted, footer, hide_row, spoil
from sample_inputs.generator.grid import File, Grid, Row, address, column, lay_table, place_of
from sample_inputs.generator.persons import draw_persons
from sample_inputs.generator.picking import numbers, seen_at
from sample_inputs.generator.records import WEEKS, Place, Record, Series
from sample_inputs.generator.wording import ENGLISH

FILE = "Oil and graft list.xlsx"
PRACTICE = Practice(
    materials={"autologous_retina": 1.0},
    tamponades={("silicone_oil", None): 0.85, ("c3f8", 14): 0.15},
    closure_rate=0.8, cases=18, new_cases=0, oversize=(0.0,),
    surgeons=("Prof Zandringham-Vole",), under_tamponade={"m1": 0.9, "m3": 0.35},
)  # fmt: skip
HAND = Hand(ENGLISH, "letters", graft_unit="mm", gas="{pct}% {gas}")
DAY_ZERO = date(1904, 1, 1)
VISITS = ("v1", "v2", "v3", "v4", "v5")

COLUMNS = (
    column("Unit number", "operation.patient_id"),
    column("Name", "loose.name"),
    column("Age", "operation.age"),
    column("Sex", "operation.sex"),
    column("Eye", "operation.eye"),
    column("Date of operation", "operation.operation_date"),
    column("Surgeon", "operation.surgeon"),
    column("Axial length", "operation.axial_length"),
    column("Hole min (um)", "operation.hole_min_diameter"),
    column("Hole base (um)", "operation.hole_base_diameter"),
    column("Operation", "operation.technique"),
    column("Graft punch (mm)", "operation.graft_diameter"),
    column("Tamponade", "operation.tamponade"),
    *(
        column(f"{part.upper()} {title}", f"{part}.{name}")
        for part in VISITS
        for title, name in (("date", "visit_date"), ("letters", "acuity"), ("OCT", "closure"),
                            ("oil in", "under_tamponade"))
    ),
    column("Free text", "loose.notes"),
)  # fmt: skip


def _draw() -> Series:
    rng = random.Random("sanderling")
    persons = draw_persons(rng, numbers(rng, "{}SN", 1000000, 9900000), "555 012 {}", 196)
    series = Series([], [])
    for surgery in draw_surgeries(rng, PRACTICE, persons):
        series.operations.append(operation_record(surgery, HAND, rng))
        series.visits += visit_records(surgery, HAND, rng)
    for place in (0, 7):
        loose = series.operations[place].loose
        loose["notes"] = f"{loose['given']} {loose['family']}: {loose['phone']}"
    return series


def _plant(week: str, series: Series) -> list[Planted]:
    if week != WEEKS[0]:
        return []
    operations = series.operations
    return [
        spoil(operations[5], "tamponade", None, "value_missing", "no tamponade"),
        spoil(operations[8], "graft_diameter", None, "value_missing", "graft without diameter"),
        spoil(operations[3], "hole_min_diameter", "400-450", "value_range",
              "range for a number"),
        spoil(operations[11], "axial_length", 35.1, "outside_usual", "very long eye",
              {"axial_length_mm": 35.1}),
        hide_row(operations[13]),
        spoil(seen_at(series, "m6", 2), "acuity", 130, "acuity_notation_differs",
              "more letters than a chart has"),
        spoil(operations[15], "hole_base_diameter", 12, "outside_possible",
              "far too small for any hole"),
        spoil(seen_at(series, "m6", 4), "visit_date", None, "visit_undated",
              "visit without date"),
        _bare_day(seen_at(series, "m3", 6)),
    ]  # fmt: skip


def _bare_day(visit: Record) -> Planted:
    """The date was pasted without its format: the workbook's own number of the day is left."""
    return spoil(visit, "visit_date", (visit.on - DAY_ZERO).days, "day_number",
                 "date without its format")  # fmt: skip


def _row(operation: Record, series: Series) -> Row:
    visits = sorted(series.visits_of(operation), key=lambda visit: visit.on)
    return {"operation": operation, **dict(zip(VISITS, visits, strict=False))}


def _lay_out(week: str, series: Series) -> tuple[list[File], list[Planted]]:
    listed = Grid("List")
    rows = [_row(operation, series) for operation in series.operations]
    last = lay_table(listed, FILE, COLUMNS, rows)
    wards = Grid("Ward", is_hidden=True)
    wards.put_row(1, ["Name", "Phone"])
    for row, operation in enumerate(series.operations[:5], start=2):
        wards.put_row(row, [operation.loose["name"], operation.loose["phone"]])
    surgeon = place_of(COLUMNS, "surgeon")
    listed.hidden_columns.add(surgeon)
    planted = [
        Planted("column_hidden", "column hidden", place=Place(FILE, "List", address(1, surgeon))),
        footer(listed, FILE, last + 2, {1: "Average", 9: 640}, "mean below the table"),
    ]
    file = File(FILE, [listed, wards], author="Quenby Drabulvane", counts_from_1904=True)
    return [file], planted


CENTRE = Centre(
    "sanderling", _draw, _plant, _lay_out, others=(("name", "Quenby Drabulvane"),),
    breaks_in=WEEKS[1],
)  # fmt: skip
