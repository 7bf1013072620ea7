"""avocet: Spanish, decimal acuities with a comma on a chart with five letters a line, millimetres,
semicolon files in Windows-1252. Amniotic membrane under gas, some of it oval, the posture in the
technique; visits laid out in columns that carry no dates. The complications come from an old
Macintosh in the first week, as "Unicode text" in the second."""

from __future__ import annotations

import math
import random

from sample_inputs.generator.acuities import HAND as HAND_MOTION
from sample_inputs.generator.acuities import LIGHT, Chart, acuity_cell, off_chart
from sample_inputs.generator.centres.centre import Centre
from sample_inputs.generator.charting import (
    Event,
    Hand,
    complication_records,
    operation_record,
    say,
    visit_records,
)
from sample_inputs.generator.course import Practice, Surgery, draw_surgeries, reopen_one
from sample_inputs.generator.defects import (
    Planted,
    blank_column,
    footer,
    leave_out,
    spoil,
)
from sample_inputs.generator.grid import (
    Column,
    File,
    Grid,
    address,
    column,
    lay_table,
    place_of,
)
from sample_inputs.generator.persons import draw_persons
from sample_inputs.generator.picking import numbers, operated_in, seen_at, with_visits
from sample_inputs.generator.records import WEEKS, Cell, Place, Record, Series
from sample_inputs.generator.wording import SPANISH, part
from sample_inputs.generator.writing import length

FILE, EVENTS_FILE = "cirugias.csv", "complicaciones.csv"
PRACTICE = Practice(
    materials={"amniotic_membrane": 0.8, "ilm_free_flap": 0.2},
    tamponades={("sf6", 20): 0.7, ("c3f8", 14): 0.3},
    closure_rate=0.93, cases=24, new_cases=2, oversize=(0.5,),
    surgeons=("Dra. Bruvelasco", "Dr. Ibbarrenza"),
)  # fmt: skip
CHART = Chart(
    "decimal", (("", 0), ("", 0), ("", 0), ("-1", -1), ("+2", 2), ("-2", -2)), letters_a_line=5
)
HAND = Hand(SPANISH, CHART, dates="%d/%m/%Y", hole_unit="mm", graft_unit="mm",
            gas="{gas} {pct}%")  # fmt: skip
CAUSES = (("idiopático", "idiopathic"), ("idiopático", "idiopathic"), ("miópico", "myopic"),
          ("traumático", "traumatic"))  # fmt: skip
POSTURES = (
    part("boca abajo 5 días", posture="face_down", posture_days=5),
    part("boca abajo 7 días", posture="face_down", posture_days=7),
)
WINDOWS = {"baseline": "pre", "m1": "1m", "m3": "3m", "m6": "6m", "m12": "12m"}
# What an eye sees whose retina detaches two weeks after the operation.
DETACHED = 2
SEEN_BY_DETACHED = {
    "baseline": HAND_MOTION, "m1": LIGHT, "m3": LIGHT, "m6": HAND_MOTION, "m12": HAND_MOTION,
}  # fmt: skip
COMPLICATIONS = (
    Event(DETACHED, 14, "desprendimiento de retina", "retinal_detachment", needed_surgery=True),
    Event(6, 35, "hipertensión ocular", "ocular_hypertension"),
    Event(11, 150, "catarata", "cataract", needed_surgery=True),
)

COLUMNS = (
    column("Nº historia", "operation.patient_id"),
    column("Nombre y apellidos", "loose.name"),
    column("Teléfono", "loose.phone"),
    column("Edad", "operation.age"),
    column("Sexo", "operation.sex"),
    column("Ojo", "operation.eye"),
    column("Fecha cirugía", "operation.operation_date"),
    column("Cirujano", "operation.surgeon"),
    column("Indicación", "operation.indication"),
    column("Etiología", "operation.hole_cause"),
    column("Cirugías previas", "operation.prior_repairs"),
    column("Evolución (meses)", "operation.hole_duration"),
    column("Cristalino", "operation.lens_status"),
    column("Diámetro mínimo (mm)", "operation.hole_min_diameter"),
    column("Base (mm)", "operation.hole_base_diameter"),
    column("Técnica", "operation.technique"),
    column("Injerto (mm)", "operation.graft_diameter"),
    column("Injerto 2º diámetro (mm)", "operation.graft_second_diameter"),
    column("Taponamiento", "operation.tamponade"),
    *(
        column(f"{title} {suffix}", f"{window}.{name}")
        for window, suffix in WINDOWS.items()
        for title, name in (("AV", "acuity"), ("OCT", "closure"))
    ),
    column("DM campo 12m", "m12.perimetry_md"),
    column("Observaciones", "loose.notes"),
)
EVENTS = (
    column("Nº historia", "complication.patient_id"),
    column("Ojo", "complication.eye"),
    column("Complicación", "complication.complication"),
    column("Fecha", "complication.complication_date"),
    column("Reintervención", "complication.needed_surgery"),
)


def _draw() -> Series:
    rng, more = random.Random("avocet"), random.Random("avocet, more")
    persons = draw_persons(rng, numbers(rng, "HC-{}-V", 10000, 99000), "955 010 {}", 112)
    surgeries = draw_surgeries(rng, PRACTICE, persons)
    reopen_one(surgeries)
    series = Series([], [])
    for surgery in surgeries:
        operation = operation_record(surgery, HAND, rng)
        cause, code = more.choice(CAUSES)
        operation.cells["hole_cause"] = Cell(cause, {"hole_cause": code})
        _cut_oval(operation, surgery, more)
        if more.random() < 0.5:
            say(operation, more.choice(POSTURES), SPANISH.joint)
        series.operations.append(operation)
        for visit in visit_records(surgery, HAND, rng):
            visit.is_dated = False
            loss = round(more.uniform(1.2, 9.8), 1) if visit.window == "m12" else None
            visit.cells["perimetry_md"] = Cell(loss, {"perimetry_md_db": None})
            series.visits.append(visit)
    for visit in series.visits_of(series.operations[DETACHED]):
        code = SEEN_BY_DETACHED[str(visit.window)]
        visit.cells["acuity"] = off_chart(code, CHART, SPANISH.off_chart)
    series.operations[1].loose["notes"] = "llamar a la hija, Sra. Yarthraxen, 955 010 7742"
    series.operations[8].loose["notes"] = f"correo {series.operations[8].loose['email']}"
    series.complications = complication_records(surgeries, COMPLICATIONS, HAND)
    return series


def _cut_oval(operation: Record, surgery: Surgery, rng: random.Random) -> None:
    """Of some grafts the second diameter is written too; of round ones it is left empty."""
    second = surgery.narrow_graft if rng.random() < 0.3 else None
    operation.cells["graft_second_diameter"] = length("graft_second_diameter_um", second, "mm")


def _plant(week: str, series: Series) -> list[Planted]:
    operations = series.operations
    for place in (2, 13):
        leave_out(operations[place], "hole_duration", "999")
    leave_out(seen_at(series, "m3", 3), "acuity", "s/d")
    operations[5].cells["hole_duration"] = Cell("2 años", {"hole_duration_months": 24.0})
    blank_column(operations, "prior_repairs")
    both = [
        spoil(operations[4], "tamponade", "SF6 / C3F8", "word_ambiguous", "two gases"),
        spoil(operations[7], "hole_base_diameter", "<1,1", "value_bound", "bound"),
        spoil(operations[9], "lens_status", "raro", "word_unknown", "no word for a lens"),
        spoil(operations[17], "hole_min_diameter",
              str(operations[17].cells["hole_min_diameter"].written), "decimal_mark_differs",
              "decimal point among commas"),
        _uncorrected(seen_at(series, "m3", 4)),
    ]  # fmt: skip
    return both + (_plant_first(series) if week == WEEKS[0] else _plant_second(series))


def _uncorrected(visit: Record) -> Planted:
    uncorrected = {"acuity_correction": "uncorrected"}
    means = acuity_cell("", CHART, -math.log10(0.4), uncorrected).means
    return spoil(visit, "acuity", "0,4 s/c", "acuity_uncorrected", "without correction", means)


def _plant_first(series: Series) -> list[Planted]:
    operations, latest = series.operations, operated_in(series, WEEKS[0])[-1]
    return [
        spoil(latest, "eye", None, "eye_missing", "no eye"),
        spoil(operations[10], "technique", None, "value_missing", "no technique"),
        spoil(operations[16], "hole_base_diameter", "1.105", "number_ambiguous",
              "point that may mark decimals or thousands"),
        spoil(seen_at(series, "m6", 3), "acuity", "0,3 mejor", "acuity_unreadable",
              "remark beside an acuity"),
    ]  # fmt: skip


def _plant_second(series: Series) -> list[Planted]:
    """Eye, technique, base and acuity are mended; the column of the duration is gone."""
    latest = operated_in(series, WEEKS[1])[-1]
    return [
        Planted("heading_missing", "column taken out", field="hole_duration",
                place=Place(FILE, "csv", "")),
        spoil(latest, "operation_date", None, "operation_date_missing", "no date of operation"),
        spoil(series.operations[14], "graft_diameter", "1,2 kg", "unit_unknown",
              "weight for a length"),
        spoil(seen_at(series, "m1", 3), "acuity", "4,0", "acuity_notation_differs",
              "number that no decimal acuity can be"),
        spoil(seen_at(series, "baseline", 9), "acuity", "0,01", "acuity_beyond_charts",
              "number for counting fingers", acuity_cell("", CHART, -math.log10(0.01)).means),
    ]  # fmt: skip


def _lay_out(week: str, series: Series) -> tuple[list[File], list[Planted]]:
    log = Grid("csv")
    log.put(1, 1, "Registro de agujeros maculares refractarios")
    rows = [with_visits(operation, series) for operation in series.operations]
    columns = [c for c in COLUMNS if week == WEEKS[0] or c.field != "hole_duration"]
    last = lay_table(log, FILE, columns, rows, 3)
    events = Grid("csv")
    lay_table(events, EVENTS_FILE, EVENTS, [{"complication": c} for c in series.complications])
    planted = [
        _previous_doubled(log, columns),
        Planted(
            "loss_sign_unclear",
            "loss or not is not said",
            field="perimetry_md",
            place=Place(FILE, log.name, address(3, place_of(columns, "perimetry_md"))),
        ),
        footer(log, FILE, last + 1, {1: "Total", 6: len(series.operations)}, "total below"),
        footer(log, FILE, last + 3, {1: "Leyenda: AV sin corrección si falta la gafa"}, "legend"),
    ]
    files = [
        File(FILE, [log], encoding="cp1252"),
        File(EVENTS_FILE, [events], encoding="mac_roman" if week == WEEKS[0] else "utf-16-le"),
    ]
    return files, planted


def _previous_doubled(log: Grid, columns: list[Column]) -> Planted:
    """The column of earlier operations stands once more, empty, at the end."""
    place = place_of(columns, "prior_repairs")
    log.put(3, len(columns) + 1, columns[place - 1].heading[0])
    return Planted(
        "heading_doubled", "heading stands twice", field="prior_repairs",
        place=Place(FILE, log.name, address(3, place)),
    )  # fmt: skip


CENTRE = Centre(
    "avocet", _draw, _plant, _lay_out,
    others=(("name", "Yarthraxen"), ("phone", "955 010 7742")),
)  # fmt: skip
