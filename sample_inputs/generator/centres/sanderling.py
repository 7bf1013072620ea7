"""sanderling: English, letter scores, later ones as read at 4 m and 1 m. Oil where others use gas,
with its viscosity and the plan to take it out; grafts cut to the hole's own size. Visits laid out
in dated columns without a window; a workbook that counts its days from 1904; its file of week two
is cut short."""

from __future__ import annotations

import random
from datetime import date

from sample_inputs.generator.acuities import Chart, acuity_cell, letter_score
from sample_inputs.generator.centres.centre import Centre
from sample_inputs.generator.charting import Hand, operation_record, say, visit_records
from sample_inputs.generator.course import Practice, draw_surgeries
from sample_inputs.generator.defects import Planted, footer, hide_row, spoil
from sample_inputs.generator.grid import File, Grid, Row, address, column, lay_table, place_of
from sample_inputs.generator.persons import draw_persons
from sample_inputs.generator.picking import numbers, seen_at
from sample_inputs.generator.records import WEEKS, Cell, Place, Record, Series
from sample_inputs.generator.wording import ENGLISH, part

FILE = "Oil and graft list.xlsx"
PRACTICE = Practice(
    materials={"autologous_retina": 1.0},
    tamponades={("silicone_oil", None): 0.85, ("c3f8", 14): 0.15},
    closure_rate=0.8, cases=18, new_cases=0, oversize=(0.0,),
    surgeons=("Prof Zandringham-Vole",), under_tamponade={"m1": 0.9, "m3": 0.35},
)  # fmt: skip
HAND = Hand(ENGLISH, Chart("letters"), graft_unit="mm", gas="{pct}% {gas}")
DAY_ZERO = date(1904, 1, 1)
VISITS = ("v1", "v2", "v3", "v4", "v5")
# From the fourth visit on the letters are written as they are read.
READ_AT_4_M = ("v4", "v5")
AT_4_M = Chart("letters_4m")
DISPERSIVE = part("dispersive viscoelastic", viscoelastic="dispersive")
PLANS = (
    None,
    part("silicone oil, oil out at 3 months", stages=2),
    part(
        "PFCL left in for 1 week, exchanged for silicone oil, oil out at 3 months",
        pfcl_use="short_term", stages=3,
    ),
)  # fmt: skip

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
        column(f"{block.upper()} {title}", f"{block}.{name}")
        for block in VISITS
        for title, name in (
            ("date", "visit_date"),
            ("letters 4 m" if block in READ_AT_4_M else "letters", "acuity"),
            ("OCT", "closure"), ("oil in", "under_tamponade"),
        )
    ),
    column("Free text", "loose.notes"),
)  # fmt: skip


def _draw() -> Series:
    rng, more = random.Random("sanderling"), random.Random("sanderling, more")
    persons = draw_persons(rng, numbers(rng, "{}SN", 1000000, 9900000), "555 012 {}", 196)
    series = Series([], [])
    for surgery in draw_surgeries(rng, PRACTICE, persons):
        operation = operation_record(surgery, HAND, rng)
        if surgery.tamponade == "silicone_oil":
            _fill_with_oil(operation, more)
        series.operations.append(operation)
        series.visits += visit_records(surgery, HAND, rng)
    for place in (0, 7):
        loose = series.operations[place].loose
        loose["notes"] = f"{loose['given']} {loose['family']}: {loose['phone']}"
    return series


def _fill_with_oil(operation: Record, rng: random.Random) -> None:
    """The oil's viscosity beside it, and when it is to come out in the text of the operation."""
    oil = operation.cells["tamponade"]
    viscosity = rng.choice((1300, 5000, 5000, None))
    operation.cells["tamponade"] = Cell(
        f"{oil.written} {viscosity} cSt" if viscosity else oil.written,
        {**oil.means, "tamponade_viscosity_cst": viscosity},
    )
    if rng.random() < 0.3:
        say(operation, DISPERSIVE, ENGLISH.joint)
    plan = rng.choice(PLANS)
    if plan is not None and not set(plan.means) & set(operation.cells["technique"].means):
        say(operation, plan, ENGLISH.joint)


def _read_at_4_m(operation: Record, series: Series) -> None:
    """The letters of the operation's later visits, as they are read."""
    visits = sorted(series.visits_of(operation), key=lambda visit: visit.on)
    for visit in visits[VISITS.index(READ_AT_4_M[0]) :]:
        cell = visit.cells["acuity"]
        visit.cells["acuity"] = (
            letter_score(cell.written, AT_4_M)
            if isinstance(cell.written, int)
            else Cell(cell.written, {**cell.means, "acuity_notation": AT_4_M.notation})
        )


def _at_4_m_alone(visit: Record) -> Planted:
    means = acuity_cell(14, AT_4_M, 1.1 - 0.02 * 14).means
    return spoil(visit, "acuity", 14, "acuity_letters_at_4m", "letters at 1 m left out", means)


def _plant(week: str, series: Series) -> list[Planted]:
    operations = series.operations
    for operation in operations:
        _read_at_4_m(operation, series)
    if week != WEEKS[0]:
        return []
    return [
        spoil(_without_plan(operations), "tamponade", None, "value_missing", "no tamponade"),
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
        spoil(seen_at(series, "m1", 5), "acuity", 0, "acuity_no_letters", "no letter read"),
        _at_4_m_alone(seen_at(series, "m12", 3)),
    ]  # fmt: skip


def _without_plan(operations: list[Record]) -> Record:
    """The first operation whose text names no oil, seen from the sixth on."""
    return next(o for o in operations[5:] if "stages" not in o.cells["technique"].means)


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
