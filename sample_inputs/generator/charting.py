"""A centre's hand: turns the clinical course into records with cells written its way."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, timedelta

from sample_inputs.generator import writing
from sample_inputs.generator.acuities import Chart, acuity
from sample_inputs.generator.course import Examination, Surgery
from sample_inputs.generator.records import Cell, Record, Written
from sample_inputs.generator.wording import TechniquePart, Wording

AGE_TOP = 90


@dataclass(frozen=True)
class Hand:
    """How one centre writes.

    `dates` is "cell" or a strftime style; `gas` puts a gas and its per cent into one cell, or is
    None where the per cent has its own column; `record_number` gives the cell of a number.
    """

    wording: Wording
    chart: Chart
    dates: str = "cell"
    hole_unit: str = "um"
    graft_unit: str = "um"
    gas: str | None = None
    record_number: Callable[[str], Written] = field(default=lambda number: number)
    follow_up_number: Callable[[str], Written] = field(default=lambda number: number)
    follow_up_dates: str | None = None


def completed_years(born: date, on: date) -> int:
    """Age on a day."""
    return on.year - born.year - ((on.month, on.day) < (born.month, born.day))


def operation_record(surgery: Surgery, hand: Hand, rng: random.Random) -> Record:
    """The operation with every cell that some centre has a column for."""
    words, person = hand.wording, surgery.person
    years = completed_years(person.born, surgery.on)
    age = {"age_years": min(years, AGE_TOP)}
    record = Record("operation", person.number, surgery.eye, surgery.on, surgery.since)
    record.cells = {
        "patient_id": Cell(hand.record_number(person.number)),
        "eye": Cell(rng.choice(words.eye[surgery.eye])),
        "operation_date": writing.dated(surgery.on, hand.dates),
        "age": Cell(years, age),
        "birth_date": Cell(writing.dated(person.born, hand.dates).written, age),
        "surgeon": Cell(surgery.surgeon, {"surgeon": surgery.surgeon}),
        "sex": writing.coded("sex", person.sex, words.sex, rng),
        "indication": writing.coded("indication", surgery.indication, words.indication, rng),
        "prior_repairs": writing.number("prior_repairs", surgery.prior_repairs),
        "hole_duration": writing.number("hole_duration_months", surgery.duration),
        "axial_length": writing.number("axial_length_mm", surgery.axial_length),
        "lens_status": writing.coded("lens_status", surgery.lens, words.lens, rng),
        "hole_min_diameter": writing.length(
            "hole_min_diameter_um", surgery.minimum, hand.hole_unit
        ),
        "hole_base_diameter": writing.length("hole_base_diameter_um", surgery.base, hand.hole_unit),
        "hole_height": writing.length("hole_height_um", surgery.height, "um"),
        "graft_diameter": writing.length("graft_diameter_um", surgery.graft, hand.graft_unit),
        "technique": _technique(surgery, words, rng),
        **_tamponade(surgery, hand, rng),
    }
    record.loose = {
        "name": person.name, "given": person.given, "family": person.family,
        "phone": person.phone, "email": person.email, "born": person.born,
    }  # fmt: skip
    return record


def say(operation: Record, part: TechniquePart, joint: str) -> None:
    """Adds a piece to the operation's technique text."""
    cell = operation.cells["technique"]
    operation.cells["technique"] = Cell(
        f"{cell.written}{joint}{part.text}", {**cell.means, **part.means}
    )


def _technique(surgery: Surgery, words: Wording, rng: random.Random) -> Cell:
    means: dict[str, object] = {"graft_material": surgery.material}
    pieces = [rng.choice(words.technique[surgery.material])]
    for part in words.parts.get(surgery.material, ()):
        if rng.random() < 0.5 and not set(part.means) & set(means):
            pieces.append(part.text)
            means |= part.means
    return Cell(words.joint.join(pieces), means)


def _tamponade(surgery: Surgery, hand: Hand, rng: random.Random) -> dict[str, Cell]:
    word = rng.choice(hand.wording.tamponade[surgery.tamponade])
    means = {"tamponade": surgery.tamponade}
    share = {"tamponade_pct": float(surgery.gas_pct) if surgery.gas_pct else None}
    if hand.gas is None:
        return {"tamponade": Cell(word, means), "tamponade_pct": Cell(surgery.gas_pct, share)}
    text = hand.gas.format(gas=word, pct=surgery.gas_pct) if surgery.gas_pct else word
    return {"tamponade": Cell(text, {**means, **share})}


def visit_record(surgery: Surgery, seen: Examination, hand: Hand, rng: random.Random) -> Record:
    """One examination with every cell that some centre has a column for."""
    words, closed = hand.wording, seen.is_closed
    style = hand.follow_up_dates or hand.dates
    record = Record(
        "visit", surgery.person.number, surgery.eye, seen.on, seen.since, window=seen.window
    )
    band = rng.choice(("disrupted", "continuous")) if closed else "absent"
    pressure = min(max(round(rng.gauss(15, 3)), 8), 25)
    record.cells = {
        "patient_id": Cell(hand.follow_up_number(surgery.person.number)),
        "eye": Cell(rng.choice(words.eye[surgery.eye])),
        "visit_date": writing.dated(seen.on, style),
        "acuity": acuity(seen.logmar, hand.chart, words.off_chart, rng),
        "closure": writing.coded("closure", seen.closure, words.closure, rng),
        "under_tamponade": writing.yes_no("under_tamponade", seen.is_under_tamponade, words.yes_no),
        "iop": writing.number("iop_mmhg", pressure),
    }
    if words.bands:
        record.cells["elm"] = writing.coded("elm", band, words.bands, rng)
        record.cells["ellipsoid_zone"] = writing.coded("ellipsoid_zone", band, words.bands, rng)
    gap = rng.randint(150, 620) if closed else rng.randint(700, 1500)
    gap = 0 if band == "continuous" else gap
    record.cells["ez_defect"] = writing.number("ez_defect_um", gap)
    return record


def visit_records(surgery: Surgery, hand: Hand, rng: random.Random) -> list[Record]:
    """All examinations of one operation."""
    return [visit_record(surgery, seen, hand, rng) for seen in surgery.visits]


@dataclass(frozen=True)
class Event:
    """A complication of the operation at a place (from 0) among first operations, by days after."""

    place: int
    day: int
    word: str
    code: str
    needed_surgery: bool = False


def complication_records(
    surgeries: list[Surgery], events: tuple[Event, ...], hand: Hand
) -> list[Record]:
    """The centre's complications."""
    first = [surgery for surgery in surgeries if not surgery.is_reoperation]
    return [_complication(first[event.place], event, hand) for event in events]


def _complication(surgery: Surgery, event: Event, hand: Hand) -> Record:
    on = surgery.on + timedelta(event.day)
    record = Record("complication", surgery.person.number, surgery.eye, on, surgery.since)
    record.cells = {
        "patient_id": Cell(hand.follow_up_number(surgery.person.number)),
        "eye": Cell(hand.wording.eye[surgery.eye][0]),
        "complication": Cell(event.word, {"term": event.code}),
        "complication_date": writing.dated(on, hand.follow_up_dates or hand.dates),
        "needed_surgery": writing.yes_no(
            "needed_surgery", event.needed_surgery, hand.wording.yes_no
        ),
    }
    return record
