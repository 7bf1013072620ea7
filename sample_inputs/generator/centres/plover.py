"""plover: German, logMAR with a decimal comma. Headings in two rows with merged cells, visits laid
out in dated columns; free flaps of the limiting membrane and amniotic membrane under gas or air.
The arms of the hole's edge are measured; the perimeter, of 4000 asb, gives loss as positive."""

from __future__ import annotations

import random
from datetime import timedelta

from sample_inputs.generator.acuities import Chart, acuity_cell
from sample_inputs.generator.centres.centre import Centre
from sample_inputs.generator.charting import Hand, operation_record, say, visit_record
from sample_inputs.generator.course import Practice, Surgery, draw_surgeries, reopen_one
from sample_inputs.generator.defects import (
    Planted,
    blank_column,
    footer,
    leave_out,
    spoil,
)
from sample_inputs.generator.function_tests import add_mean_defect, constant
from sample_inputs.generator.grid import (
    Column,
    File,
    Grid,
    Row,
    address,
    column,
    lay_table,
    place_of,
)
from sample_inputs.generator.persons import draw_persons
from sample_inputs.generator.picking import numbers, operated_in, seen_at, with_visits
from sample_inputs.generator.records import WEEKS, Cell, Place, Record, Series
from sample_inputs.generator.wording import GERMAN, part
from sample_inputs.generator.writing import as_text, length, number, with_comma

FILE = "Netzhaut_Register.xlsx"
SHEET = "OP-Liste"
PRACTICE = Practice(
    materials={"ilm_free_flap": 0.65, "amniotic_membrane": 0.35},
    tamponades={("sf6", 20): 0.5, ("c3f8", 14): 0.3, ("air", None): 0.2},
    closure_rate=0.84, cases=29, new_cases=2, oversize=(0.3,),
    surgeons=("Dr. Thalbruck", "Dr. Ostermoor"),
)  # fmt: skip
HAND = Hand(GERMAN, Chart("logmar"), dates="%d.%m.%Y", gas="{gas} {pct} %")
WINDOWS = {"baseline": "präoperativ", "m1": "1 Monat", "m3": "3 Monate", "m6": "6 Monate",
           "m12": "12 Monate"}  # fmt: skip
# A field is examined at these visits; the crosswalk names the perimeter for them alone.
FIELDS_AT = ("baseline", "m6", "m12")
BRIGHTEST_ASB = constant("perimeter_max_asb", 4000.0)
AXIAL_HEADING = {WEEKS[0]: "Achslänge", WEEKS[1]: "AL (IOL-Gerät)"}
OF_EACH_VISIT = (
    ("Datum", "visit_date"), ("Visus logMAR", "acuity"), ("OCT", "closure"), ("Tensio", "iop"),
)  # fmt: skip
OF_A_FIELD = (("GF MS", "perimetry_mean"), ("GF MD", "perimetry_md"))
# The headings stand in this row and the one above.
HEADING_ROW = 4


def _columns(axial_heading: str) -> list[Column]:
    fixed = [
        ("Patient", "Name", "loose.name"),
        ("Patient", "Fallnummer", "operation.patient_id"),
        ("Patient", "Geb.-Datum", "operation.birth_date"),
        ("Patient", "Alter", "operation.age"),
        ("Patient", "Geschlecht", "operation.sex"),
        ("Patient", "Auge", "operation.eye"),
        ("Operation", "Datum", "operation.operation_date"),
        ("Operation", "Operateur", "operation.surgeon"),
        ("Operation", "Technik", "operation.technique"),
        ("Operation", "Ø Amnion µm", "operation.graft_diameter"),
        ("Operation", "Endotamponade", "operation.tamponade"),
        ("Operation", "Lagerung", "operation.posture"),
        ("Operation", "Lagerung Tage", "operation.posture_days"),
        ("Foramen", "Minimum", "operation.hole_min_diameter"),
        ("Foramen", "Basis", "operation.hole_base_diameter"),
        ("Foramen", "Höhe", "operation.hole_height"),
        ("Foramen", "Arm c", "operation.hole_arm_one"),
        ("Foramen", "Arm d", "operation.hole_arm_two"),
        ("Auge", axial_heading, "operation.axial_length"),
        ("Auge", "Linse", "operation.lens_status"),
    ]
    visits = [
        (title, lower, f"{window}.{name}")
        for window, title in WINDOWS.items()
        for lower, name in (*OF_EACH_VISIT, *(OF_A_FIELD if window in FIELDS_AT else ()))
    ]
    note = [("Sonstiges", "Bemerkung", "loose.notes")]
    return [column((upper, lower), key) for upper, lower, key in (*fixed, *visits, *note)]


def _draw() -> Series:
    rng, more = random.Random("plover"), random.Random("plover, more")
    persons = draw_persons(rng, numbers(rng, "F{}/R", 10000, 99000), "0555 0104-{}", 76)
    series = Series([], [])
    surgeries = draw_surgeries(rng, PRACTICE, persons)
    reopen_one(surgeries)
    for place, surgery in enumerate(surgeries):
        operation = operation_record(surgery, HAND, rng)
        if place % 2:
            operation.cells["axial_length"] = as_text(operation.cells["axial_length"])
        if place % 3 == 0:
            minimum = operation.cells["hole_min_diameter"]
            operation.cells["hole_min_diameter"] = Cell(f"{minimum.written}\u00a0µm", minimum.means)
        if place % 4 == 1:
            operation.cells["hole_base_diameter"] = _spaced(operation.cells["hole_base_diameter"])
        _measure_arms(operation, surgery, more)
        _after_operation(operation, surgery, more)
        series.operations.append(operation)
        series.visits += _visits(surgery, rng, more)
    series.operations[2].loose["notes"] = "Tochter: 0555 0104-8830, Frau Velquelby"
    series.operations[9].loose["notes"] = str(series.operations[9].loose["email"])
    return series


def _spaced(cell: Cell) -> Cell:
    """The number as text, thousands parted by a narrow space as typesetting has it."""
    return Cell(f"{cell.written:,}".replace(",", "\u202f"), cell.means)


def _measure_arms(operation: Record, surgery: Surgery, rng: random.Random) -> None:
    """The arms of the hole's edge, on most scans."""
    is_measured = rng.random() < 0.8
    for name in ("hole_arm_one", "hole_arm_two"):
        size = surgery.base * rng.uniform(0.25, 0.5) if is_measured else None
        operation.cells[name] = length(f"{name}_um", size, "um")


def _after_operation(operation: Record, surgery: Surgery, rng: random.Random) -> None:
    """Free flaps were put in without heavy liquid; how the head was held is known of most."""
    if surgery.material == "ilm_free_flap" and "pfcl_use" not in operation.cells["technique"].means:
        say(operation, part("ohne PFCL", pfcl_use="none"), GERMAN.joint)
    word, code, days = rng.choice(
        (("Bauchlage", "face_down", 5), ("Bauchlage", "face_down", 7), ("keine", "none", None),
         (None, None, None))
    )  # fmt: skip
    operation.cells["posture"] = Cell(word, {"posture": code})
    operation.cells["posture_days"] = number("posture_days", days)


def _visits(surgery: Surgery, rng: random.Random, more: random.Random) -> list[Record]:
    """Every other acuity was typed as text with a decimal comma."""
    visits = []
    for place, seen in enumerate(surgery.visits):
        visit = visit_record(surgery, seen, HAND, rng)
        if place % 2:
            visit.cells["acuity"] = as_text(visit.cells["acuity"])
        if seen.window in FIELDS_AT:
            visit.cells["perimeter_max"] = BRIGHTEST_ASB
            if more.random() < 0.7:
                add_mean_defect(visit, seen.logmar, more)
        visits.append(visit)
    return visits


def _plant(week: str, series: Series) -> list[Planted]:
    operations = series.operations
    undated = seen_at(series, "m3", 5)
    undated.cells["visit_date"], undated.is_dated = Cell(None), False
    leave_out(operations[6], "axial_length", "k.A.")
    both = [
        spoil(operations[3], "age", int(str(operations[3].cells["age"].written)) - 12,
              "age_differs", "age does not fit the dates", {}),
        spoil(operations[10], "hole_height", "~450", "value_estimate", "estimate"),
        spoil(seen_at(series, "m1", 4), "iop", "normal", "number_unreadable",
              "word for a number"),
        spoil(seen_at(series, "m6", 3), "acuity", "20/40", "acuity_notation_differs",
              "Snellen fraction in a logMAR column"),
        spoil(seen_at(series, "m3", 10), "acuity", "3,4", "outside_possible",
              "beyond the worst that the scale knows"),
        spoil(seen_at(series, "baseline", 7), "acuity", "2,3", "acuity_beyond_charts",
              "number for hand motion", acuity_cell("", HAND.chart, 2.3).means),
        _late_half_year(series),
    ]  # fmt: skip
    return both + (_plant_first(series) if week == WEEKS[0] else _plant_second(series))


def _late_half_year(series: Series) -> Planted:
    """The visit of the half-year columns took place in the tenth month."""
    visit = next(
        v for v in series.visits
        if v.window == "m6" and v.since == WEEKS[0] and v is not seen_at(series, "m6", 3)
        and not any(o.window == "m12" for o in series.visits if o.number == v.number)
        and v.on.year < 2026
    )  # fmt: skip
    operation = next(o for o in series.operations if o.number == visit.number)
    visit.on = operation.on + timedelta(301)
    return spoil(visit, "visit_date", visit.on.strftime("%d.%m.%Y"), "visit_window_differs",
                 "date outside the window of its columns")  # fmt: skip


def _plant_first(series: Series) -> list[Planted]:
    operations, latest = series.operations, operated_in(series, WEEKS[0])[-1]
    return [
        spoil(latest, "eye", "beide", "eye_unreadable", "both eyes in one row"),
        _words_over(operations[12], "freier ILM-Flap, Quaxelbort", "ilm_free_flap"),
        spoil(operations[15], "axial_length", "35,2", "outside_usual", "very long eye",
              {"axial_length_mm": 35.2}),
    ]  # fmt: skip


def _words_over(operation: Record, text: str, material: str) -> Planted:
    operation.cells["graft_diameter"] = Cell(None, {"graft_diameter_um": None})
    means = {"graft_material": material}
    return spoil(operation, "technique", text, "words_left_over", "word that no one knows", means)


def _plant_second(series: Series) -> list[Planted]:
    """Eye, technique and axial length are mended; the latter's heading is renamed for all, and the
    grafts are entered in millimetres below a heading that says micrometres."""
    blank_column(series.operations, "axial_length")
    _in_millimetres(series.operations, "graft_diameter")
    latest = operated_in(series, WEEKS[1])[-1]
    return [
        _at_heading("heading_renamed", "heading renamed", "axial_length"),
        _at_heading("unit_changed", "column goes over to another unit", "graft_diameter"),
        spoil(latest, "operation_date", "Anfang November", "operation_date_unreadable",
              "words for a date"),
        spoil(seen_at(series, "m1", 7), "acuity", "s. Akte", "acuity_unreadable",
              "words for an acuity"),
        spoil(seen_at(series, "m3", 8), "closure", "na ja", "word_unknown",
              "no word for a state"),
    ]  # fmt: skip


def _in_millimetres(operations: list[Record], name: str) -> None:
    """A thousandth of every number of a field; nothing of it can be used."""
    for operation in operations:
        written = operation.cells[name].written
        if isinstance(written, int | float):
            operation.cells[name] = Cell(written / 1000, operation.cells[name].means)
    blank_column(operations, name)


def _at_heading(rule: str, what: str, name: str) -> Planted:
    """A defect of a whole column of the second week."""
    cell = address(HEADING_ROW, place_of(_columns(AXIAL_HEADING[WEEKS[1]]), name))
    return Planted(rule, what, field=name, place=Place(FILE, SHEET, cell))


def _rows(series: Series) -> list[Row]:
    rows: list[Row] = []
    for place, operation in enumerate(series.operations):
        if place and operation.on.year != series.operations[place - 1].on.year:
            rows.append(None)
        rows.append(with_visits(operation, series))
    return rows


def _lay_out(week: str, series: Series) -> tuple[list[File], list[Planted]]:
    log = Grid(SHEET, date_format="dd.mm.yyyy")
    log.put(1, 1, "Register refraktäre Makulaforamina")
    columns = _columns(AXIAL_HEADING[week])
    last = lay_table(log, FILE, columns, _rows(series), HEADING_ROW - 1)
    colours = Grid("Farben")
    colours.put_row(1, ["Farbe", "Bedeutung"])
    colours.put_row(2, ["gelb", "OCT fehlt"])
    colours.put_row(3, ["rot", "Rückruf, bitte Frau Morthraxen anrufen"])
    planted = [
        footer(log, FILE, last + 2, {2: "Mittelwert", 12: with_comma(641.5)}, "mean below"),
        footer(log, FILE, last + 3, {2: "Anzahl", 6: len(series.operations)}, "count below"),
    ]
    return [File(FILE, [log, colours], author="Sylvadine Morthraxen")], planted


CENTRE = Centre(
    "plover", _draw, _plant, _lay_out,
    others=(
        ("name", "Velquelby"), ("phone", "0555 0104-8830"), ("name", "Morthraxen"),
        ("name", "Sylvadine Morthraxen"),
    ),
)  # fmt: skip
