"""gannet: English, Snellen metres with partial lines and fingers at a distance, a column for the
pinhole, millimetres, oval grafts. No microperimeter: central 10-2 fields with the eye's answers and
multifocal ERG with the laboratory's norm instead. Two files, the second named after a patient;
record numbers are numbers, so that leading zeros are lost; the sheet of complications is hidden."""

from __future__ import annotations

import math
import random
from datetime import date

from sample_inputs.generator import writing
from sample_inputs.generator.acuities import Chart, acuity_cell, pinhole
from sample_inputs.generator.centres.centre import Centre
from sample_inputs.generator.charting import (
    Event,
    Hand,
    completed_years,
    complication_records,
    operation_record,
    visit_record,
)
from sample_inputs.generator.course import Practice, Surgery, draw_surgeries
from sample_inputs.generator.defects import (
    Planted,
    blank_column,
    footer,
    respell,
    spoil,
    without_visits,
)
from sample_inputs.generator.function_tests import (
    add_answers,
    add_central_field,
    add_multifocal_erg,
    add_norm,
    add_outer_times,
    constant,
)
from sample_inputs.generator.grid import (
    HEADING_FILL,
    File,
    Grid,
    Row,
    address,
    column,
    lay_headings,
    lay_table,
    place_of,
)
from sample_inputs.generator.persons import draw_persons
from sample_inputs.generator.picking import by_week, numbers, operated_in, seen_at, that_mean
from sample_inputs.generator.records import (
    WEEKS,
    Cell,
    ErrorValue,
    Formula,
    Place,
    Record,
    Series,
)
from sample_inputs.generator.wording import ENGLISH
from sample_inputs.generator.writing import length, oval

THEATRE = "Theatre log.xlsx"
NEXT_YEAR, TITLE = "Theatre 2027", "Vitreoretinal theatre, macular holes"
CLINIC = "Follow up - Corvin Snodfavrel.xlsx"
PRACTICE = Practice(
    materials={"autologous_retina": 0.55, "amniotic_membrane": 0.45},
    tamponades={("sf6", 20): 0.5, ("c3f8", 15): 0.4, ("air", None): 0.1},
    closure_rate=0.86, cases=34, new_cases=2, oversize=(0.4,),
    surgeons=("Mr Ulvestane", "Ms Pellorvin"), first_week=0.25, both_eyes=2, reoperations=2,
)  # fmt: skip
CHART = Chart(
    "snellen_metres", (("", 0), ("", 0), ("", 0), ("-2", -2), ("+1", 1)),
    fingers_at={"2m": 2.0, "1 m": 1.0, "50 cm": 0.5, "30 cm": 0.3},
)  # fmt: skip
HAND = Hand(
    ENGLISH, CHART, hole_unit="mm", graft_unit="mm", gas="{gas} {pct}%",
    record_number=int, follow_up_dates="%d/%m/%Y",
)  # fmt: skip
RING_RADII = "2/5/10/15/25"
DEVICES = {
    "perimeter_max": constant("perimeter_max_asb", 10000.0),
    "perimetry_points": constant("perimetry_points", 68),
    "mferg_electrode": constant("mferg_electrode", "fibre"),
    "mferg_hexagons": constant("mferg_hexagons", 61),
}
COMPLICATIONS = (
    Event(6, 30, "graft dislocation", "graft_dislocation"),
    Event(9, 200, "cataract", "cataract"),
    Event(14, 12, "raised IOP", "ocular_hypertension"),
    Event(17, 66, "RD", "retinal_detachment"),
)

LOG = (
    column("Hospital no.", "operation.patient_id"),
    column("Surname", "loose.family"),
    column("First name", "loose.given"),
    column("Side", "operation.eye"),
    column("Op date", "operation.operation_date"),
    column("Date of birth", "operation.birth_date"),
    column("M/F", "operation.sex"),
    column("Consultant", "operation.surgeon"),
    column("Why", "operation.indication"),
    column("Previous ops", "operation.prior_repairs"),
    column("Symptoms (months)", "operation.hole_duration"),
    column("Axial length", "operation.axial_length"),
    column("Lens", "operation.lens_status"),
    column("MLD (mm)", "operation.hole_min_diameter"),
    column("Base (mm)", "operation.hole_base_diameter"),
    column("Technique", "operation.technique"),
    column("Graft (mm)", "operation.graft_diameter"),
    column("Tamponade", "operation.tamponade"),
    column("Comments", "loose.notes"),
)
RINGS = tuple(column(f"R{n} nV/deg2", f"visit.mferg_ring{n}_p1") for n in range(1, 6))
RING_TIMES = tuple(column(f"R{n} P1 (ms)", f"visit.mferg_ring{n}_time") for n in range(1, 6))
FOLLOW_UP = (
    column("Hospital no.", "visit.patient_id"),
    column("Side", "visit.eye"),
    column("Clinic date", "visit.visit_date"),
    column("VA", "visit.acuity"),
    column("PH", "visit.acuity_pinhole"),
    column("OCT grade", "visit.closure"),
    column("10-2 mean", "visit.perimetry_mean"),
    column("10-2 MD", "visit.perimetry_md"),
    column("10-2 reliable", "visit.perimetry_reliable"),
    column("10-2 FL %", "visit.perimetry_fixation_loss"),
    column("10-2 FP %", "visit.perimetry_false_positive"),
    column("10-2 FN %", "visit.perimetry_false_negative"),
    *RINGS,
    *RING_TIMES,
    column("Fellow R1", "visit.mferg_fellow_ring1_p1"),
    column("Rings (deg)", "visit.mferg_ring_radii"),
    column("Norm R1", "visit.mferg_norm_ring1_p1"),
    column("Norm R1 SD", "visit.mferg_norm_ring1_sd"),
    column("IOP mmHg", "visit.iop"),
    column("Plan", "loose.plan"),
)
EVENTS = (
    column("Hospital no.", "complication.patient_id"),
    column("Side", "complication.eye"),
    column("Complication", "complication.complication"),
    column("When", "complication.complication_date"),
)


def _draw() -> Series:
    rng, more = random.Random("gannet"), random.Random("gannet, more")
    persons = draw_persons(rng, numbers(rng, "{}", 310_000_000, 790_000_000), "07700 90{}", 40)
    surgeries = draw_surgeries(rng, PRACTICE, persons)
    series = Series([], [])
    for surgery in surgeries:
        operation = operation_record(surgery, HAND, rng)
        if surgery.material == "autologous_retina" and more.random() < 0.4:
            operation.cells["graft_diameter"] = oval(surgery.graft, surgery.narrow_graft, "mm")
        series.operations.append(operation)
        series.visits += [_visit(surgery, i, rng, more) for i in range(len(surgery.visits))]
    series.visits = by_week(series.visits)
    for visit in series.visits[4::9]:
        visit.cells["visit_date"] = writing.dated(visit.on, "%d %b %Y")
        _with_printed_minus(visit)
    seen_at(series, "m3", 1).loose["plan"] = "ring daughter of Mrs Quillzempter on 07700 903318"
    series.operations[5].loose["notes"] = f"e-mail {series.operations[5].loose['email']}"
    series.complications = complication_records(surgeries, COMPLICATIONS, HAND)
    return series


def _with_printed_minus(visit: Record) -> None:
    """The deviation as copied from the perimeter's printout, with the minus sign of typesetting."""
    cell = visit.cells.get("perimetry_md")
    if cell is not None:
        visit.cells["perimetry_md"] = Cell(str(cell.written).replace("-", "\u2212"), cell.means)


def _visit(surgery: Surgery, place: int, rng: random.Random, more: random.Random) -> Record:
    """Fields are done at baseline and from the third month on, multifocal ERG on half of these."""
    seen = surgery.visits[place]
    visit = visit_record(surgery, seen, HAND, rng)
    visit.cells |= DEVICES
    if more.random() < 0.25:
        visit.cells["acuity_pinhole"] = pinhole(seen.logmar - 0.15, CHART)
    if seen.window == "m1":
        return visit
    add_central_field(visit, seen.logmar, rng)
    add_answers(visit, more)
    if rng.random() < 0.5:
        add_multifocal_erg(visit, seen.logmar, rng)
        add_outer_times(visit, more)
        add_norm(visit, completed_years(surgery.person.born, seen.on))
        visit.cells["mferg_ring_radii"] = Cell(RING_RADII, {"mferg_ring_outer_deg": RING_RADII})
    return visit


def _plant(week: str, series: Series) -> list[Planted]:
    operations = series.operations
    blank_column(operations, "axial_length")
    for place in (4, 16):
        _unit_in_cell(operations[place], "hole_min_diameter", "mm")
        _unit_in_cell(operations[place + 1], "graft_diameter", " mm")
    operations[11].cells["hole_min_diameter"] = Cell("585 µm", {"hole_min_diameter_um": 585.0})
    operations[12].cells["hole_duration"] = Cell("2 years", {"hole_duration_months": 24.0})
    both = [
        spoil(seen_at(series, "m3", 3), "acuity", date(2026, 9, 6), "acuity_became_date",
              "6/9 turned into a date"),
        spoil(seen_at(series, "m6", 1), "perimetry_mean", ErrorValue("#N/A"), "error_value",
              "look-up that found nothing"),
        spoil(operations[8], "hole_base_diameter", "112 px", "unit_unknown", "length in pixels"),
        spoil(seen_at(series, "m6", 4), "mferg_ring1_p1", 870.0, "outside_possible",
              "amplitude far above any eye's"),
        spoil(operations[13], "hole_duration", "long", "number_unreadable", "word for a number"),
        spoil(seen_at(series, "m6", 2), "perimetry_md", Formula("=G24-34"), "formula_unstored",
              "formula that was never calculated"),
        respell(series.visits_of(operations[6]), f"0{operations[6].number}"),
        _smaller_than_hole(that_mean(operations, graft_material="autologous_retina")[3]),
        _narrower_than_hole(that_mean(operations, graft_material="autologous_retina")[6]),
        spoil(seen_at(series, "m12", 1), "acuity", "6/14", "acuity_line_unknown",
              "line that no chart has", acuity_cell("", CHART, math.log10(14 / 6)).means),
        _judged_reliable(that_mean(series.visits, perimetry_reliable=True)[7]),
        spoil(that_mean(series.visits, mferg_ring_outer_deg=RING_RADII)[5], "mferg_ring_radii",
              "as usual", "ring_radii_unreadable", "words for radii"),
    ]  # fmt: skip
    return both + (_plant_first(series) if week == WEEKS[0] else _plant_second(series))


def _smaller_than_hole(operation: Record) -> Planted:
    smaller = length("graft_diameter_um", 0.9 * _minimum(operation), "mm")
    return spoil(operation, "graft_diameter", smaller.written, "graft_smaller_than_hole",
                 "graft smaller than the hole", smaller.means)  # fmt: skip


def _narrower_than_hole(operation: Record) -> Planted:
    """Larger than the hole by its area."""
    narrow = oval(1.5 * _minimum(operation), 0.9 * _minimum(operation), "mm")
    return spoil(operation, "graft_diameter", narrow.written, "graft_smaller_than_hole",
                 "oval graft narrower than the hole", narrow.means)  # fmt: skip


def _minimum(operation: Record) -> float:
    minimum = operation.cells["hole_min_diameter"].means["hole_min_diameter_um"]
    assert isinstance(minimum, float)
    return minimum


def _judged_reliable(visit: Record) -> Planted:
    """The eye pressed without a target in two answers of five."""
    visit.cells["perimetry_false_positive"] = Cell(41, {"perimetry_false_positive_pct": 41.0})
    return spoil(visit, "perimetry_reliable", "yes", "reliability_differs",
                 "judged reliable against the answers", {"perimetry_reliable": False})  # fmt: skip


def _unit_in_cell(operation: Record, field: str, unit: str) -> None:
    cell = operation.cells[field]
    if cell.written is not None:
        operation.cells[field] = Cell(f"{cell.written}{unit}", cell.means)


def _plant_first(series: Series) -> list[Planted]:
    operations = series.operations
    latest = without_visits(series, operated_in(series, WEEKS[0])[-1])
    grafted = next(o for o in operations[18:] if _is_retina(o))
    return [
        spoil(latest, "operation_date", date(1926, 10, 14), "operation_date_impossible",
              "year of another century"),
        spoil(grafted, "graft_diameter", None, "value_missing", "graft without diameter"),
        spoil(series.complications[2], "complication", None, "complication_unreadable",
              "no term"),
    ]  # fmt: skip


def _is_retina(operation: Record) -> bool:
    return operation.cells["technique"].means.get("graft_material") == "autologous_retina"


def _plant_second(series: Series) -> list[Planted]:
    """The date, the graft and the complication are mended; the column of plans is gone."""
    return [
        Planted("heading_dropped", "column taken out that was not read",
                place=Place(CLINIC, "Clinic", "")),
        spoil(series.operations[20], "hole_min_diameter", "0.5-0.6", "value_range",
              "range for a number"),
        spoil(seen_at(series, "m3", 8), "acuity", "0.3", "acuity_notation_differs",
              "decimal or logMAR in a Snellen column"),
        spoil(series.operations[15], "sex", "see notes", "word_unknown", "no word for a sex"),
    ]  # fmt: skip


def _rows(series: Series) -> list[Row]:
    """A blank row before each calendar year."""
    rows: list[Row] = []
    for place, operation in enumerate(series.operations):
        if place and operation.on.year != series.operations[place - 1].on.year:
            rows.append(None)
        rows.append({"operation": operation})
    return rows


def _lay_out(week: str, series: Series) -> tuple[list[File], list[Planted]]:
    log = Grid("Theatre")
    last = lay_table(log, THEATRE, LOG, _rows(series), 2)
    log.put(1, 1, TITLE)
    _legend_beside(log)
    events = Grid("Complications", is_hidden=True)
    lay_table(events, THEATRE, EVENTS, [{"complication": c} for c in series.complications])
    clinic = Grid("Clinic")
    follow_up = [c for c in FOLLOW_UP if week == WEEKS[0] or c.field != "plan"]
    lay_table(clinic, CLINIC, follow_up, [{"visit": v} for v in series.visits])
    clinic.comments[3, 4] = "Tested by Ysmene Kelmoorlan, y.kelmoorlan@mailbox.invalid"
    planted = [
        _axial_doubled(log),
        Planted("sheet_hidden", "sheet hidden", place=Place(THEATRE, events.name, "A1")),
        footer(log, THEATRE, last + 1, {10: "Mean", 14: 0.64}, "mean below the table"),
    ]
    sheets = [log, events]
    if week == WEEKS[1]:
        sheets.append(_next_year())
        planted.append(Planted("sheet_not_read", "sheet made ready for next year",
                               place=Place(THEATRE, NEXT_YEAR, address(2, 1))))  # fmt: skip
    files = [
        File(THEATRE, sheets, author="Theatre desk"),
        File(CLINIC, [clinic], author="Wendrick Haspquelby"),
    ]
    return files, planted


def _next_year() -> Grid:
    """Headings alone."""
    grid = Grid(NEXT_YEAR)
    grid.put(1, 1, TITLE)
    lay_headings(grid, LOG, 2)
    return grid


def _legend_beside(log: Grid) -> None:
    for row, text in enumerate(("Colours", "green: closed", "orange: waiting for OCT"), start=3):
        log.put(row, len(LOG) + 3, text)
        log.fills[row, len(LOG) + 3] = "#CFE8CF"


def _axial_doubled(log: Grid) -> Planted:
    """A second column for the axial length was added at the right."""
    place = place_of(LOG, "axial_length")
    log.put(2, len(LOG) + 1, LOG[place - 1].heading[0])
    log.fills[2, len(LOG) + 1] = HEADING_FILL
    return Planted(
        "heading_doubled", "heading stands twice", field="axial_length",
        place=Place(THEATRE, log.name, address(2, place)),
    )  # fmt: skip


CENTRE = Centre(
    "gannet", _draw, _plant, _lay_out,
    others=(
        ("name", "Corvin Snodfavrel"), ("name", "Quillzempter"), ("phone", "07700 903318"),
        ("name", "Ysmene Kelmoorlan"), ("email", "y.kelmoorlan@mailbox.invalid"),
        ("name", "Wendrick Haspquelby"),
    ),
)  # fmt: skip
