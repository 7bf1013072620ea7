"""tern: Portuguese, Snellen feet in a column whose notation no crosswalk names, disc diameters, the
time of a visit in words, here and there without a date; two semicolon files in UTF-8 with a byte
order mark; in week two the follow-up comes from another desk, with notes, in Windows-1252. Free
flaps of the limiting membrane and repeated peels under gas."""

from __future__ import annotations

import random

from sample_inputs.generator.acuities import LIGHT, Chart, off_chart
from sample_inputs.generator.centres.centre import Centre
from sample_inputs.generator.charting import Hand, operation_record, visit_records
from sample_inputs.generator.course import Practice, draw_surgeries
from sample_inputs.generator.defects import (
    Planted,
    double,
    footer,
    hold_row,
    spoil,
    without_visits,
)
from sample_inputs.generator.grid import File, Grid, address, column, lay_table, place_of
from sample_inputs.generator.persons import draw_persons
from sample_inputs.generator.picking import by_week, numbers, operated_in, seen_at
from sample_inputs.generator.records import WEEKS, Cell, Place, Record, Series
from sample_inputs.generator.wording import PORTUGUESE

LOG_FILE, FOLLOW_UP_FILE = "operacoes.csv", "seguimento.csv"
PRACTICE = Practice(
    materials={"ilm_free_flap": 0.6, "none_repeat_peel": 0.4},
    tamponades={("sf6", 20): 0.8, ("c3f8", 12): 0.2},
    closure_rate=0.78, cases=27, new_cases=2,
    surgeons=("Dra. Quintarrela", "Dr. Velmoura"), both_eyes=1, reoperations=2,
)  # fmt: skip
HAND = Hand(PORTUGUESE, Chart("snellen_feet", is_named=False), dates="%d/%m/%Y", hole_unit="dd")
# Typed without accents.
TIMES = {
    "baseline": ("pre-op", "inicial"), "m1": ("1 mes", "1M"), "m3": ("3 meses", "3M"),
    "m6": ("6 meses",), "m12": ("12 meses", "1 ano"),
}  # fmt: skip
GONE = 9
# Two patients whose record numbers differ in a zero alone.
ALIKE = (14, 17)

LOG = (
    column("Processo", "operation.patient_id"),
    column("Nome", "loose.name"),
    column("Idade", "operation.age"),
    column("Sexo", "operation.sex"),
    column("Olho", "operation.eye"),
    column("Data da cirurgia", "operation.operation_date"),
    column("Cirurgião", "operation.surgeon"),
    column("Indicação", "operation.indication"),
    column("Cirurgias prévias", "operation.prior_repairs"),
    column("Cristalino", "operation.lens_status"),
    column("Diâmetro mínimo (DD)", "operation.hole_min_diameter"),
    column("Base (DD)", "operation.hole_base_diameter"),
    column("Técnica", "operation.technique"),
    column("Tamponamento", "operation.tamponade"),
    column("Gás (%)", "operation.tamponade_pct"),
    column("Telefone", "loose.phone"),
    column("Observações", "loose.notes"),
)
FOLLOW_UP = (
    column("Processo", "visit.patient_id"),
    column("Olho", "visit.eye"),
    column("Data", "visit.visit_date"),
    column("Tempo", "visit.visit_time"),
    column("AV", "visit.acuity"),
    column("OCT", "visit.closure"),
    column("PIO", "visit.iop"),
)
NOTES = column("Notas", "loose.notes")


def _draw() -> Series:
    rng, more = random.Random("tern"), random.Random("tern, more")
    persons = draw_persons(rng, numbers(rng, "P{}-Z", 100000, 990000), "255 501 {}", 170)
    series = Series([], [])
    for surgery in draw_surgeries(rng, PRACTICE, persons):
        series.operations.append(operation_record(surgery, HAND, rng))
        series.visits += visit_records(surgery, HAND, rng)
    one, other = (series.operations[place] for place in ALIKE)
    _renumber(series, other.number, one.number.replace("P", "P0"))
    series.visits = by_week(series.visits)
    _tell_times(series, more)
    third = series.operations[3]
    before = next(v for v in series.visits_of(third) if v.window == "baseline")
    before.cells["acuity"] = off_chart(LIGHT, HAND.chart, PORTUGUESE.off_chart)
    third.loose["notes"] = f"ligar a {third.loose['given']}; {third.loose['email']}"
    return series


def _tell_times(series: Series, rng: random.Random) -> None:
    """The time of each visit in words, where the eye was operated on once; some have no date."""
    for visit in series.visits:
        operations = [o for o in series.operations if o.is_of_same_eye(visit)]
        if visit.window is None or len(operations) > 1:
            continue
        visit.cells["visit_time"] = Cell(rng.choice(TIMES[visit.window]))
        if rng.random() < 0.08:
            visit.cells["visit_date"], visit.is_dated = Cell(None), False


def _renumber(series: Series, old: str, new: str) -> None:
    """Gives one patient another record number, everywhere."""
    for record in series.records:
        if record.number == old:
            record.number = new
            record.cells["patient_id"] = Cell(new)


def _plant(week: str, series: Series) -> list[Planted]:
    operations = series.operations
    both = [
        spoil(operations[6], "hole_base_diameter", "grande", "number_unreadable",
              "word for a number"),
        spoil(operations[11], "indication", "sei lá", "word_unknown",
              "no word for an indication"),
        spoil(seen_at(series, "m6", 2), "iop", 3, "outside_usual", "low pressure",
              {"iop_mmhg": 3.0}),
        Planted("record_number_alike", "record number of another patient but for a zero",
                operations[ALIKE[1]]),
        _after_either(series),
    ]  # fmt: skip
    return both + (_plant_first(series) if week == WEEKS[0] else _plant_second(series))


def _after_either(series: Series) -> Planted:
    """Half a year after one of the eye's two operations, which is not said."""
    again = [o for o in series.operations if _is_second(series, o)][-1]
    visit = next(v for v in series.visits_of(again) if v.window == "m6" and v.since == WEEKS[0])
    visit.cells["visit_date"], visit.cells["visit_time"] = Cell(None), Cell("6 meses")
    return hold_row(visit, "visit_operation_unclear", "time after one of two operations")


def _is_second(series: Series, operation: Record) -> bool:
    return any(o.is_of_same_eye(operation) and o.on < operation.on for o in series.operations)


def _plant_first(series: Series) -> list[Planted]:
    operations, latest = series.operations, operated_in(series, WEEKS[0])[-1]
    emptied = operations[13]
    return [
        double(operations, latest, "operation_doubled", "operation entered twice"),
        spoil(emptied, "hole_min_diameter", None, "value_missing", "no minimum diameter"),
        _unknown(seen_at(series, "m3", 5)),
        _untimed(seen_at(series, "m1", 4)),
        _of_either(series.visits_of(operations[ALIKE[0]])[0]),
    ]  # fmt: skip


def _untimed(visit: Record) -> Planted:
    visit.cells["visit_time"] = Cell(None)
    return spoil(visit, "visit_date", "sem data", "visit_undated", "words for a date")


def _of_either(visit: Record) -> Planted:
    """The number has more zeros than either of the two patients'."""
    visit.cells["patient_id"] = Cell(visit.number.replace("P", "P00"))
    return hold_row(visit, "record_number_ambiguous", "record number like those of two patients")


def _unknown(visit: Record) -> Planted:
    visit.cells["patient_id"] = Cell("P047711-Z")
    return hold_row(visit, "operation_unknown", "mistyped record number")


def _split(series: Series) -> Record:
    """The operation whose notes fall into two cells in week two."""
    return operated_in(series, WEEKS[1])[0]


def _plant_second(series: Series) -> list[Planted]:
    """The doubled operation, the diameter and three visits are mended; one case is gone."""
    gone = without_visits(series, series.operations[GONE])
    series.operations.remove(gone)
    latest = without_visits(series, operated_in(series, WEEKS[1])[-1])
    without_visits(series, _split(series))
    for place in (2, 9):
        seen_at(series, "m1", place).loose["notes"] = "faltou – remarcado"
    notes = address(1, len(FOLLOW_UP) + 1)
    return [
        Planted("encoding_uncertain", "dashes alone tell the encoding",
                place=Place(FOLLOW_UP_FILE, "csv", "")),
        Planted("heading_added", "column added that no field is read from",
                place=Place(FOLLOW_UP_FILE, "csv", notes)),
        Planted("case_gone", "case dropped from the files"),
        spoil(latest, "eye", "AO", "eye_unreadable", "both eyes in one row"),
        spoil(series.operations[16], "tamponade_pct", 55, "gas_concentration_unusual",
              "expansile concentration", {"tamponade_pct": 55.0}),
        double(series.visits, seen_at(series, "m3", 7), "visit_doubled", "visit entered twice"),
    ]  # fmt: skip


def _lay_out(week: str, series: Series) -> tuple[list[File], list[Planted]]:
    log, follow_up = Grid("csv"), Grid("csv")
    last = lay_table(log, LOG_FILE, LOG, [{"operation": o} for o in series.operations])
    columns = FOLLOW_UP if week == WEEKS[0] else (*FOLLOW_UP, NOTES)
    lay_table(follow_up, FOLLOW_UP_FILE, columns, [{"visit": v} for v in series.visits])
    planted = [footer(log, LOG_FILE, last + 2, {1: "Média", 11: "0,43"}, "mean below the table")]
    if week == WEEKS[1]:
        planted.append(_split_notes(log, _split(series)))
    files = [
        File(LOG_FILE, [log], encoding="utf-8-sig"),
        File(FOLLOW_UP_FILE, [follow_up], encoding="utf-8-sig" if week == WEEKS[0] else "cp1252"),
    ]
    return files, planted


def _split_notes(log: Grid, operation: Record) -> Planted:
    """Notes with a semicolon but no quotation marks: what follows it stands in a cell of its own,
    beyond the last heading."""
    row = int(operation.places["patient_id"].cell[1:])
    log.put_row(row, ("primeira revisão marcada", " confirmar por carta"), place_of(LOG, "notes"))
    operation.is_held = True
    return Planted("row_overflows", "semicolon without quotation marks",
                   place=Place(LOG_FILE, log.name, address(row, len(LOG) + 1)))  # fmt: skip


CENTRE = Centre("tern", _draw, _plant, _lay_out)
