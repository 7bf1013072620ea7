"""The clinical model: how holes of one centre look, are operated on, and do afterwards."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta

from sample_inputs.generator.persons import Person
from sample_inputs.generator.records import CLOSES, WEEKS

# Days to a second operation: before the window m3, within it but before the visit, and after it.
WAITS = (45, 75, 160)
SMALLEST_PUNCH = 500  # micrometres
VISIT_DAYS = {"m1": (30, 6), "m3": (91, 9), "m6": (182, 14), "m12": (364, 25)}
CUT_TO_SIZE = ("autologous_retina", "amniotic_membrane", "lens_capsule")


@dataclass(frozen=True)
class Practice:
    """How one centre works. Rates are shares; `oversize` gives the graft's linear excess over the
    hole's minimum diameter by case number, from 1; `first_week` is the share seen about day 7, in
    no window."""

    materials: dict[str, float]
    tamponades: dict[tuple[str, int | None], float]
    closure_rate: float
    cases: int
    new_cases: int
    oversize: tuple[float, ...] = (0.5,)
    surgeons: tuple[str, ...] = ()
    both_eyes: int = 0
    reoperations: int = 0
    under_tamponade: dict[str, float] = field(default_factory=lambda: {"m1": 0.3})
    first_week: float = 0.0
    first_year: int = 2024


@dataclass
class Examination:
    """One visit; lengths in micrometres, `logmar` before it is rounded to a chart line."""

    on: date
    since: str
    window: str | None
    logmar: float
    closure: str
    is_under_tamponade: bool
    is_closed: bool


@dataclass
class Surgery:
    """One operation with the visits up to the next one; lengths in micrometres."""

    person: Person
    eye: str
    on: date
    since: str
    case_number: int
    surgeon: str | None
    material: str
    tamponade: str
    gas_pct: int | None
    minimum: int
    base: int
    height: int
    graft: int | None
    prior_repairs: int
    duration: int
    axial_length: float
    lens: str
    indication: str
    is_reoperation: bool = False
    visits: list[Examination] = field(default_factory=list)

    @property
    def narrow_graft(self) -> float | None:
        """The second diameter of the graft where it is cut oval; small ones are round."""
        second = 0.8 * self.graft if self.graft is not None else 0.0
        return second if second >= SMALLEST_PUNCH else None


def draw_surgeries(
    rng: random.Random, practice: Practice, persons: Iterator[Person]
) -> list[Surgery]:
    """The centre's operations by date, those of week two last."""
    start, end = date(practice.first_year, 2, 1), date(2026, 10, 20)
    days = sorted(
        rng.sample(range((end - start).days), practice.cases - practice.both_eyes
                   - practice.reoperations)
    )  # fmt: skip
    found: list[Surgery] = []
    for place, day in enumerate(days):
        person = next(persons)
        first = _draw_surgery(rng, practice, person, rng.choice(("right", "left")),
                              start + timedelta(day), WEEKS[0], 0)  # fmt: skip
        found.append(first)
        if place < practice.both_eyes:
            fellow = "left" if first.eye == "right" else "right"
            later = first.on + timedelta(rng.randint(120, 300))
            found.append(_draw_surgery(rng, practice, person, fellow, later, WEEKS[0], 0))
        elif place < practice.both_eyes + practice.reoperations:
            found.append(_reoperated(rng, practice, first, wait=WAITS[place % len(WAITS)]))
    for place in range(practice.new_cases):
        day_of_week_two = CLOSES[WEEKS[0]] - timedelta(practice.new_cases - place)
        person = next(persons)
        found.append(_draw_surgery(rng, practice, person, rng.choice(("right", "left")),
                                   day_of_week_two, WEEKS[1], 0))  # fmt: skip
    found.sort(key=lambda surgery: (surgery.since, surgery.on))
    for number, surgery in enumerate(found, start=1):
        surgery.case_number = number
        _cut_graft(rng, practice, surgery)
    return found


def _draw_surgery(
    rng: random.Random, practice: Practice, person: Person, eye: str, on: date, since: str,
    case_number: int,
) -> Surgery:  # fmt: skip
    minimum = min(max(round(rng.gauss(640, 150)), 340), 1150)
    agents = practice.tamponades
    tamponade, gas_pct = rng.choices(list(agents), weights=list(agents.values()))[0]
    surgery = Surgery(
        person=person, eye=eye, on=on, since=since, case_number=case_number,
        surgeon=rng.choice(practice.surgeons) if practice.surgeons else None,
        material=rng.choices(list(practice.materials), list(practice.materials.values()))[0],
        tamponade=tamponade, gas_pct=gas_pct, minimum=minimum,
        base=minimum + rng.randint(320, 760), height=rng.randint(320, 620), graft=None,
        prior_repairs=rng.choice((1, 1, 1, 2, 2, 3)), duration=rng.randint(3, 48),
        axial_length=round(rng.uniform(22.2, 29.4), 1),
        lens=rng.choice(("pseudophakic", "pseudophakic", "phakic")),
        indication=rng.choice(("persistent", "persistent", "recurrent")),
    )  # fmt: skip
    surgery.visits = _draw_visits(rng, practice, surgery)
    return surgery


def _cut_graft(rng: random.Random, practice: Practice, surgery: Surgery) -> None:
    """Sizes the graft by the centre's habit, upwards to the next 50 micrometres."""
    if surgery.material not in CUT_TO_SIZE:
        return
    habit = practice.oversize[min(surgery.case_number, len(practice.oversize)) - 1]
    wanted = surgery.minimum * (1 + habit)
    surgery.graft = max(int(-(-wanted // 50) * 50), SMALLEST_PUNCH)


def _draw_visits(rng: random.Random, practice: Practice, surgery: Surgery) -> list[Examination]:
    """Baseline, then the windows as far as the calendar goes, some of them missed."""
    baseline = min(max(rng.gauss(1.3, 0.28), 0.8), 2.05)
    gain = min(max(rng.gauss(0.5, 0.17), 0.2), 0.9)
    is_closed = rng.random() < practice.closure_rate
    loses = rng.random() < 0.06
    visits = [Examination(surgery.on - timedelta(rng.randint(2, 45)), surgery.since, "baseline",
                          baseline, "elevated_open", False, False)]  # fmt: skip
    if rng.random() < practice.first_week:
        day_7 = surgery.on + timedelta(rng.randint(5, 7))
        since = WEEKS[1] if day_7 > CLOSES[WEEKS[0]] else surgery.since
        visits.append(Examination(day_7, since, None, 2.2, "not_gradable", True, False))
    closed_as = _closed_state(rng, surgery.material)
    open_as = rng.choice(("flat_open", "elevated_open", "open_unspecified"))
    for window, (day, spread) in VISIT_DAYS.items():
        on = surgery.on + timedelta(day + rng.randint(-spread, spread))
        is_missed, is_filled = rng.random() < 0.1, rng.random()
        step = {"m1": 0.45, "m3": 0.75, "m6": 0.95, "m12": 1.0}[window]
        change = step * (-0.45 if loses else gain if is_closed else 0.08)
        logmar = baseline - change + rng.gauss(0, 0.04)
        is_entered_late = rng.random() < 0.15
        if is_missed or on > CLOSES[WEEKS[1]]:
            continue
        is_new = on > CLOSES[WEEKS[0]] or (is_entered_late and on > date(2026, 9, 25))
        is_under = is_filled < practice.under_tamponade.get(window, 0.0)
        state = "not_gradable" if is_under else closed_as if is_closed else open_as
        since = WEEKS[1] if is_new else surgery.since
        visits.append(Examination(on, since, window, max(logmar, 0.1), state, is_under, is_closed))
    return visits


def _closed_state(rng: random.Random, material: str) -> str:
    if material in CUT_TO_SIZE:
        return rng.choice(("closed_graft_in_place", "closed_graft_in_place", "closed_unspecified"))
    return rng.choice(("closed_retinal_bridging", "closed_unspecified"))


def reopen_one(surgeries: list[Surgery]) -> None:
    """The last hole that is closed after a year opens again before that visit."""
    last_visits = [surgery.visits[-1] for surgery in surgeries]
    last = [visit for visit in last_visits if visit.window == "m12" and visit.is_closed][-1]
    last.closure, last.is_closed = "elevated_open", False


def _reoperated(rng: random.Random, practice: Practice, first: Surgery, wait: int) -> Surgery:
    """The first operation failed; a second one follows after `wait` days."""
    on = first.on + timedelta(wait)
    open_state = "elevated_open"
    kept = []
    for visit in first.visits:
        if visit.on >= on - timedelta(1) and visit.window != "baseline":
            continue
        if visit.window != "baseline" and visit.closure != "not_gradable":
            visit.closure, visit.is_closed = open_state, False
        kept.append(visit)
    m3 = Examination(
        first.on + timedelta(92), WEEKS[0], "m3", 1.2, "closed_unspecified", False, True
    )
    if wait < 92:
        first.visits = [v for v in kept if v.window != "m3"]
    else:
        m3.closure, m3.is_closed = open_state, False
        first.visits = [*[v for v in kept if v.window != "m3"], m3]
    second = _draw_surgery(rng, practice, first.person, first.eye, on, WEEKS[0], 0)
    second.is_reoperation, second.indication = True, "persistent"
    second.prior_repairs = first.prior_repairs + 1
    second.minimum, second.base, second.height = first.minimum, first.base, first.height
    second.axial_length, second.lens = first.axial_length, "pseudophakic"
    later = [v for v in second.visits if v.window in ("m3", "m6", "m12")]
    if wait < 92 and later:
        m3.closure, m3.is_closed = later[0].closure, later[0].is_closed
    second.visits = [m3, *later] if wait < 92 else later
    return second
