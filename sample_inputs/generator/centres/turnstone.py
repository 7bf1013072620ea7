"""turnstone: French, acuity in tenths, an OpenDocument sheet. Lens capsule, free flaps and repeated
peels; one row a patient with both eyes under merged headings, and a separate follow-up sheet."""

from __future__ import annotations

import random
from datetime import date

from sample_inputs.generator.centres.centre import Centre
from sample_inputs.generator.charting import Hand, operation_record, visit_records
from sample_inputs.generator.course import Practice, draw_surgeries
from sample_inputs.generator.defects import (
    Planted,
    footer,
    hide_row,
    spoil,
    without_visits,
)
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
from sample_inputs.generator.picking import by_week, numbers, operated_in, seen_at
from sample_inputs.generator.records import WEEKS, Place, Record, Series
from sample_inputs.generator.wording import FRENCH

FILE = "registre_trous_maculaires.ods"
PRACTICE = Practice(
    materials={"lens_capsule": 0.4, "ilm_free_flap": 0.3, "none_repeat_peel": 0.3},
    tamponades={("sf6", 20): 0.5, ("c2f6", 16): 0.4, ("air", None): 0.1},
    closure_rate=0.9, cases=24, new_cases=2, oversize=(0.25,),
    surgeons=("Dr Vauxmerle", "Dr Thessandre"), first_week=0.25, both_eyes=4,
)  # fmt: skip
HAND = Hand(FRENCH, "tenths", gas="{gas} {pct} %", follow_up_dates="%d/%m/%Y")

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
    column("OCT", "visit.closure"),
    column("Gaz en place", "visit.under_tamponade"),
    column("TO", "visit.iop"),
    column("Remarques", "loose.remarks"),
)
SEEN, PRESSURE = 3, 7
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
    rng = random.Random("turnstone")
    persons = draw_persons(rng, numbers(rng, "TM.{}.B", 10000, 99000), "05 55 01 {}", 145)
    series = Series([], [])
    for surgery in draw_surgeries(rng, PRACTICE, persons):
        operation = operation_record(surgery, HAND, rng)
        series.operations.append(operation)
        series.visits += visit_records(surgery, HAND, rng)
    series.visits = by_week(series.visits)
    remarked = seen_at(series, "m3", 1)
    remarked.loose["remarks"] = "adressée par le Dr Pylondwick, tél. 05 55 01 8841"
    return series


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
    ]  # fmt: skip
    return both + (_plant_first(series) if week == WEEKS[0] else _plant_second(series))


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
