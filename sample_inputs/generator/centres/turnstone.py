"""turnstone: French, acuity in tenths, "f" behind a line hardly read, an OpenDocument sheet. Lens
capsule, free flaps and repeated peels; one row a patient with both eyes under merged headings, and
a separate follow-up sheet: closure in the numbers of a published grading, multifocal ERG in
microvolts, acuities through a pinhole of which no one can tell the notation."""

from __future__ import annotations

import copy
import random
from dataclasses import replace
from datetime import date, timedelta

from sample_inputs.generator.acuities import Chart
from sample_inputs.generator.centres.centre import Centre
from sample_inputs.generator.charting import Hand, operation_record, visit_record
from sample_inputs.generator.course import Practice, Surgery, draw_surgeries
from sample_inputs.generator.defects import (
    Planted,
    footer,
    hide_row,
    spoil,
    without_visits,
)
from sample_inputs.generator.function_tests import add_microvolts, constant
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
from sample_inputs.generator.picking import by_week, numbers, operated_in, seen_at, that_mean
from sample_inputs.generator.records import WEEKS, Cell, Place, Record, Series
from sample_inputs.generator.wording import FRENCH
from sample_inputs.generator.writing import dated

FILE = "registre_trous_maculaires.ods"
PRACTICE = Practice(
    materials={"lens_capsule": 0.4, "ilm_free_flap": 0.3, "none_repeat_peel": 0.3},
    tamponades={("sf6", 20): 0.5, ("c2f6", 16): 0.4, ("air", None): 0.1},
    closure_rate=0.9, cases=24, new_cases=2, oversize=(0.25,),
    surgeons=("Dr Vauxmerle", "Dr Thessandre"), first_week=0.25, both_eyes=4,
)  # fmt: skip
# Grades of the scheme `filling_2020`, which the crosswalk names, and words where it has none.
CLOSURE = {
    **FRENCH.closure,
    "closed_retinal_bridging": ("1", "1A", "type 1"),
    "closed_graft_in_place": ("2", "type 2", "2B"),
    "open_unspecified": ("0", "type 0"),
}
CHART = Chart("tenths", (("", 0), ("", 0), ("", 0), ("", 0), (" f", None)))
HAND = Hand(
    replace(FRENCH, closure=CLOSURE), CHART, gas="{gas} {pct} %", follow_up_dates="%d/%m/%Y"
)

# Square degrees of one hexagon of the inner rings.
HEXAGONS = {1: 4.6, 2: 7.9}
ELECTRODE, ARRAY = constant("mferg_electrode", "skin"), constant("mferg_hexagons", 103)
PATIENT = (
    ("Patient", "Nom", "loose.name"),
    ("Patient", "N° dossier", "all.patient_id"),
    ("Patient", "Né(e) le", "all.birth_date"),
    ("Patient", "Sexe", "all.sex"),
)
OF_EACH_EYE = (
    ("Date", "operation_date"), ("Chirurgien", "surgeon"), ("Technique", "technique"),
    ("Tamponnement", "tamponade"), ("Diamètre min", "hole_min_diameter"),
    ("Base", "hole_base_diameter"), ("Greffon µm", "graft_diameter"), ("Cristallin", "lens_status"),
)  # fmt: skip
FOLLOW_UP = (
    column("N° dossier", "visit.patient_id"),
    column("Œil", "visit.eye"),
    column("Vu le", "visit.visit_date"),
    column("AV", "visit.acuity"),
    column("AV TS", "visit.acuity_pinhole"),
    column("OCT", "visit.closure"),
    column("Gaz en place", "visit.under_tamponade"),
    column("TO", "visit.iop"),
    *(
        column(heading.format(ring), f"visit.mferg_ring{ring}_{name}")
        for ring in HEXAGONS
        for heading, name in (("Anneau {} P1 (µV)", "p1"), ("Anneau {} latence (ms)", "time"))
    ),
    column("Remarques", "loose.remarks"),
)
SEEN, PRESSURE = 3, 8
# In the second week the pressure was moved to the front, right behind the date.
FOLLOW_UP_OF_WEEK = {
    WEEKS[0]: FOLLOW_UP,
    WEEKS[1]: (*FOLLOW_UP[:SEEN], FOLLOW_UP[PRESSURE - 1], *FOLLOW_UP[SEEN : PRESSURE - 1],
               *FOLLOW_UP[PRESSURE:]),
}  # fmt: skip


def _columns() -> list[Column]:
    eyes = [
        (title, heading, f"{eye}.{name}")
        for eye, title in (("right", "Œil droit"), ("left", "Œil gauche"))
        for heading, name in OF_EACH_EYE
    ]
    return [column((upper, lower), key) for upper, lower, key in (*PATIENT, *eyes)]


def _draw() -> Series:
    rng, more = random.Random("turnstone"), random.Random("turnstone, more")
    persons = draw_persons(rng, numbers(rng, "TM.{}.B", 10000, 99000), "05 55 01 {}", 145)
    series = Series([], [])
    for surgery in draw_surgeries(rng, PRACTICE, persons):
        operation = operation_record(surgery, HAND, rng)
        series.operations.append(operation)
        series.visits += _visits(surgery, rng, more)
    series.visits = by_week(series.visits)
    remarked = seen_at(series, "m3", 1)
    remarked.loose["remarks"] = "adressée par le Dr Pylondwick, tél. 05 55 01 8841"
    return series


def _visits(surgery: Surgery, rng: random.Random, more: random.Random) -> list[Record]:
    """Grades that are numbers were typed as such."""
    visits = []
    for seen in surgery.visits:
        visit = visit_record(surgery, seen, HAND, rng)
        grade = visit.cells["closure"]
        if str(grade.written).isdigit():
            visit.cells["closure"] = Cell(int(str(grade.written)), grade.means)
        visit.cells |= {"mferg_electrode": ELECTRODE, "mferg_hexagons": ARRAY}
        if seen.window in ("baseline", "m6") and more.random() < 0.4:
            add_microvolts(visit, seen.logmar, HEXAGONS, more)
        if more.random() < 0.2:
            decimal = more.choice((0.1, 0.2, 0.3, 0.4, 0.5))
            visit.cells["acuity_pinhole"] = Cell(decimal, {"acuity_pinhole_logmar": None})
        visits.append(visit)
    return visits


def _only_operated(series: Series, place: int) -> Record:
    """An operation (by place) of a patient of whom one eye was operated on."""
    numbers_seen = [o.number for o in series.operations]
    single = [o for o in series.operations if numbers_seen.count(o.number) == 1]
    return single[place]


def _plant(week: str, series: Series) -> list[Planted]:
    both = [
        spoil(_only_operated(series, 5), "birth_date", "vers 1950", "date_unreadable",
              "about a year", {"age_years": None}),
        spoil(_only_operated(series, 8), "tamponade", None, "value_missing", "no tamponade"),
        hide_row(seen_at(series, "m3", 2)),
        spoil(seen_at(series, "m6", 1), "acuity", "faible", "acuity_unreadable",
              "word for an acuity"),
        spoil(seen_at(series, "m3", 6), "acuity", "Parinaud 4", "acuity_near", "near acuity"),
        _unnamed(week),
        _open_before(series),
    ]  # fmt: skip
    return both + (_plant_first(series) if week == WEEKS[0] else _plant_second(series))


def _unnamed(week: str) -> Planted:
    """The column of the pinhole holds decimals that may be logMAR, and the crosswalk names none."""
    at = address(1, place_of(FOLLOW_UP_OF_WEEK[week], "acuity_pinhole"))
    return Planted("acuity_notation_unnamed", "decimals without a notation", field="acuity_pinhole",
                   place=Place(FILE, "Suivi", at))  # fmt: skip


def _open_before(series: Series) -> Planted:
    """Two weeks before a scan that shows the hole closed, one of the same window that was open."""
    closed = that_mean(series.visits, closure="closed_graft_in_place")
    later = next(
        visit for visit in closed
        if visit.window == "m3" and visit.since == WEEKS[0]
        and not any(v.window == "m1" and v.is_of_same_eye(visit) for v in closed)
    )  # fmt: skip
    earlier = copy.deepcopy(later)
    earlier.on = later.on - timedelta(14)
    earlier.cells["visit_date"] = dated(earlier.on, str(HAND.follow_up_dates))
    earlier.cells["closure"] = Cell("ouvert", {"closure": "open_unspecified"})
    series.visits.insert(series.visits.index(later), earlier)
    return Planted("gradings_conflict", "open and closed within a window", later, "closure")


def _plant_first(series: Series) -> list[Planted]:
    latest = without_visits(series, operated_in(series, WEEKS[0])[-1])
    return [
        spoil(latest, "operation_date", date(2062, 3, 9), "operation_date_impossible",
              "date far in the future"),
        spoil(_only_operated(series, 3), "hole_min_diameter", "env. 600", "value_estimate",
              "estimate"),
        spoil(seen_at(series, "m1", 3), "iop", 32, "outside_usual", "high pressure",
              {"iop_mmhg": 32.0}),
    ]  # fmt: skip


def _plant_second(series: Series) -> list[Planted]:
    """Date, diameter and pressure are mended; the column of the pressure is moved."""
    latest = without_visits(series, operated_in(series, WEEKS[1])[-1])
    moved = address(1, place_of(FOLLOW_UP_OF_WEEK[WEEKS[1]], "iop"))
    return [
        Planted("heading_moved", "column moved", field="iop", place=Place(FILE, "Suivi", moved)),
        spoil(latest, "operation_date", "31/02/2026", "operation_date_unreadable",
              "day that no month has"),
        spoil(_only_operated(series, 10), "technique", "greffe mystère", "word_unknown",
              "no word for a technique"),
        spoil(seen_at(series, "m12", 2), "visit_date", "lundi dernier", "visit_undated",
              "words for a date"),
        spoil(_only_operated(series, 3), "hole_base_diameter", 65000, "outside_possible",
              "two digits too many"),
    ]  # fmt: skip


def _rows(series: Series) -> list[Row]:
    by_patient: dict[str, dict[str, Record]] = {}
    for operation in series.operations:
        by_patient.setdefault(operation.number, {})[operation.eye] = operation
    return list(by_patient.values())


def _lay_out(week: str, series: Series) -> tuple[list[File], list[Planted]]:
    patients = Grid("Patients")
    patients.put(1, 1, "Registre des trous maculaires réfractaires")
    last = lay_table(patients, FILE, _columns(), _rows(series), 3)
    patients.comments[6, 2] = "Voir aussi Mme Ulfquelby, ulf.quelby@mailbox.invalid"
    follow_up = Grid("Suivi")
    columns = FOLLOW_UP_OF_WEEK[week]
    last_visit = lay_table(follow_up, FILE, columns, [{"visit": v} for v in series.visits])
    planted = [
        footer(patients, FILE, last + 1, {2: "Total", 9: 632}, "total below the table"),
        footer(follow_up, FILE, last_visit + 2, {2: "bleu = gaz en place"}, "colour legend"),
    ]
    file = File(FILE, [patients, follow_up, _contacts(series)], author="Dorvalle Nebbwissel")
    return [file], planted


def _contacts(series: Series) -> Grid:
    contacts = Grid("Contacts", is_hidden=True)
    contacts.put_row(1, ["Nom", "Téléphone", "Courriel"])
    for row, operation in enumerate(series.operations[:6], start=2):
        contacts.put_row(row, [operation.loose[key] for key in ("name", "phone", "email")])
    return contacts


CENTRE = Centre(
    "turnstone", _draw, _plant, _lay_out,
    others=(
        ("name", "Pylondwick"), ("phone", "05 55 01 8841"), ("name", "Ulfquelby"),
        ("email", "ulf.quelby@mailbox.invalid"), ("name", "Dorvalle Nebbwissel"),
    ),
)  # fmt: skip
