"""dunlin: English, feet with partial lines, month first. Retinal grafts under gas, cut 15 % larger
than the hole since early grafts were lost; a log with a row of units, a follow-up sheet whose
headings stand again on its second page, the complications below it; microperimetry."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping
from datetime import date, timedelta

from sample_inputs.generator.acuities import Chart, acuity_cell
from sample_inputs.generator.centres.centre import Centre
from sample_inputs.generator.charting import (
    Event,
    Hand,
    complication_records,
    operation_record,
    say,
    visit_record,
)
from sample_inputs.generator.course import Practice, Surgery, draw_surgeries
from sample_inputs.generator.defects import (
    Planted,
    blank_column,
    double,
    footer,
    hide_row,
    hold_row,
    leave_out,
    spoil,
    without_visits,
)
from sample_inputs.generator.function_tests import add_microperimetry
from sample_inputs.generator.grid import (
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
from sample_inputs.generator.records import WEEKS, Cell, ErrorValue, Place, Record, Series
from sample_inputs.generator.wording import ENGLISH, part

FILE = "Macular hole log.xlsx"
SURGEONS = ("Dr. Hesperlund", "Dr. Yarrowick")
PRACTICE = Practice(
    materials={"autologous_retina": 0.9, "none_repeat_peel": 0.1},
    tamponades={("c3f8", 14): 0.7, ("sf6", 20): 0.3},
    closure_rate=0.9, cases=38, new_cases=3, oversize=(0.0,) * 5 + (0.15,),
    surgeons=SURGEONS, first_week=0.25, both_eyes=2, reoperations=3,
)  # fmt: skip
# Letters of a partial line are written, and their worth on this chart is not known.
CHART = Chart("snellen_feet", (("", 0), ("", 0), ("", 0), ("-1", -1), ("+2", 2)),
              correction="corrected")  # fmt: skip
HAND = Hand(ENGLISH, CHART, follow_up_dates="%m/%d/%Y")
GRAFT_LOST = (0, 2)
EVENTS = (
    Event(0, 21, "graft lost", "graft_loss", needed_surgery=True),
    Event(2, 16, "graft lost", "graft_loss", needed_surgery=True),
    Event(9, 40, "retinal detachment", "retinal_detachment", needed_surgery=True),
    Event(12, 3, "ocular hypertension", "ocular_hypertension"),
    Event(15, 120, "cataract", "cataract", needed_surgery=True),
    Event(18, 95, "CMO", "cystoid_oedema"),
    Event(20, 33, "vitreous haemorrhage", "vitreous_haemorrhage"),
)

LOG = (
    column("Patient", "loose.name"),
    column("MRN", "operation.patient_id"),
    column("DOB", "operation.birth_date"),
    column("Phone", "loose.phone"),
    column("Sex", "operation.sex"),
    column("Eye", "operation.eye"),
    column("Date of surgery", "operation.operation_date"),
    column("Surgeon", "operation.surgeon"),
    column("Indication", "operation.indication"),
    column("Prior PPV", "operation.prior_repairs"),
    column("Duration (mo)", "operation.hole_duration"),
    column("AL (mm)", "operation.axial_length"),
    column("Lens", "operation.lens_status"),
    column("MLD", "operation.hole_min_diameter"),
    column("Base", "operation.hole_base_diameter"),
    column("Height", "operation.hole_height"),
    column("Procedure", "operation.technique"),
    column("Donor site", "operation.donor_region"),
    column("Graft", "operation.graft_diameter"),
    column("Tamponade", "operation.tamponade"),
    column("Gas %", "operation.tamponade_pct"),
    column("Notes", "loose.notes"),
)
FOLLOW_UP = (
    column("MRN", "visit.patient_id"),
    column("Eye", "visit.eye"),
    column("Seen on", "visit.visit_date"),
    column("BCVA", "visit.acuity"),
    column("OCT", "visit.closure"),
    column("Gas in eye", "visit.under_tamponade"),
    column("ELM", "visit.elm"),
    column("EZ", "visit.ellipsoid_zone"),
    column("EZ gap", "visit.ez_defect"),
    column("Graft position", "visit.graft_position"),
    column("MP mean (dB)", "visit.microperimetry_mean"),
    column("Microperimeter 0 dB (asb)", "visit.microperimeter_max"),
    column("P1 (%)", "visit.fixation_p1"),
    column("P2 (%)", "visit.fixation_p2"),
    column("BCEA", "visit.fixation_bcea"),
    column("Lens", "visit.lens_status"),
    column("IOP", "visit.iop"),
    column("Remarks", "loose.remarks"),
)
LOG_HEADING, ROWS_OF_A_PAGE = 4, 62
# An operation of one eye whose visits stand below each other on the first page.
MERGED = 8
UNITS = {
    "birth_date": "mm/dd/yyyy", "sex": "M/F", "eye": "OD/OS", "operation_date": "mm/dd/yyyy",
    "hole_duration": "months", "axial_length": "mm", "hole_min_diameter": "µm",
    "hole_base_diameter": "µm", "hole_height": "µm", "graft_diameter": "µm", "tamponade_pct": "%",
}  # fmt: skip
COMPLICATIONS = (
    column("MRN", "complication.patient_id"),
    column("Eye", "complication.eye"),
    column("Event", "complication.complication"),
    column("Date", "complication.complication_date"),
    column("Back to theatre", "complication.needed_surgery"),
)


def _draw() -> Series:
    rng = random.Random("dunlin")
    persons = draw_persons(rng, numbers(rng, "DN-{}X", 20000, 99000), "555-010-{}", 0)
    surgeries = draw_surgeries(rng, PRACTICE, persons)
    series = Series([], [])
    for place, surgery in enumerate(surgeries):
        operation = operation_record(surgery, HAND, rng)
        operation.cells |= {
            "donor_region": _donor(surgery, rng),
            "graft_size_reference": Cell(
                "minimum diameter", {"graft_size_reference": "minimum_diameter"}, is_constant=True
            ),
        }
        series.operations.append(operation)
        is_lost = place in GRAFT_LOST and surgery.graft is not None
        series.visits += _visits(surgery, rng, is_lost=is_lost)
    first = series.operations[1]
    first.loose["notes"] = f"called {first.loose['given']} {first.loose['family']}, see e-mail"
    series.operations[4].loose["notes"] = f"write to {series.operations[4].loose['email']}"
    series.visits[6].loose["remarks"] = f"seen by {SURGEONS[1]}, phone 555-010-7717"
    series.visits = by_week(series.visits)
    series.complications = complication_records(surgeries, EVENTS, HAND)
    return series


def _donor(surgery: Surgery, rng: random.Random) -> Cell:
    if surgery.material != "autologous_retina":
        return Cell(None, {"donor_region": None})
    word, code = rng.choice((("ST", "superotemporal"), ("superior temporal", "superotemporal"),
                             ("SN", "superonasal")))  # fmt: skip
    return Cell(word, {"donor_region": code})


def _visits(surgery: Surgery, rng: random.Random, *, is_lost: bool) -> list[Record]:
    found = []
    for seen in surgery.visits:
        is_after = seen.window != "baseline"
        if is_lost and is_after and seen.closure != "not_gradable":
            seen.closure, seen.is_closed = "open_unspecified", False
        visit = visit_record(surgery, seen, HAND, rng)
        add_microperimetry(visit, seen.logmar, rng)
        lens = "pseudophakic" if seen.window == "m12" else surgery.lens
        visit.cells["lens_status"] = Cell(ENGLISH.lens[lens][0], {"lens_status": lens})
        position = "lost" if is_lost else "in_place"
        word = "lost" if is_lost else "in place"
        is_seen = is_after and surgery.graft is not None and seen.closure != "not_gradable"
        visit.cells["graft_position"] = Cell(
            word if is_seen else None, {"graft_position": position if is_seen else None}
        )
        found.append(visit)
    return found


def _plant(week: str, series: Series) -> list[Planted]:
    operations = series.operations
    both = [
        _minimum_over_base(operations[7]),
        hide_row(operations[10]),
        _fixation_swapped(seen_at(series, "m6", 2)),
        spoil(seen_at(series, "m3", 4), "microperimetry_mean", ErrorValue("#DIV/0!"),
              "error_value", "formula that divides by zero"),
        spoil(seen_at(series, "m6", 5), "iop", 33, "outside_usual", "high pressure",
              {"iop_mmhg": 33.0}),
        spoil(series.complications[5], "complication", "see letter", "complication_unreadable",
              "no known term"),
        _other_gas_in_text(that_mean(operations, tamponade="c3f8")[2]),
        spoil(that_mean(operations, tamponade="c3f8")[6], "tamponade_pct", 20,
              "gas_concentration_unusual", "gas that would expand", {"tamponade_pct": 20.0}),
        spoil(that_mean(operations, graft_material="none_repeat_peel")[1], "graft_diameter", 1300,
              "graft_without_tissue", "graft beside a peel", {"graft_diameter_um": 1300.0}),
        spoil(that_mean(series.visits, acuity_off_chart="counting_fingers")[1], "acuity", "CF at 2",
              "acuity_distance_unread", "distance without a unit"),
        spoil(seen_at(series, "m6", 8), "microperimeter_max", 318, "luminance_unknown",
              "candela per square metre among apostilbs", {"microperimeter_max_asb": 318.0}),
        _through_pinhole(seen_at(series, "m3", 11)),
        _graded_under_gas(series),
    ]  # fmt: skip
    for place in (3, 21):
        leave_out(operations[place], "axial_length", "n/a")
    return both + (_plant_first(series) if week == WEEKS[0] else _plant_second(series))


def _minimum_over_base(operation: Record) -> Planted:
    operation.cells["hole_base_diameter"] = Cell(910, {"hole_base_diameter_um": None})
    return spoil(operation, "hole_min_diameter", 1190, "minimum_over_base",
                 "minimum larger than base")  # fmt: skip


def _other_gas_in_text(operation: Record) -> Planted:
    """The technique text names another gas than the column of the tamponade."""
    say(operation, part("SF6", stages=1), ENGLISH.joint)
    return Planted("fields_disagree", "two gases in two columns", operation, "tamponade")


def _through_pinhole(visit: Record) -> Planted:
    means = acuity_cell("", CHART, 0.0).means
    kept = {"acuity_pinhole_logmar": math.log10(60 / 20), "acuity_correction": "pinhole"}
    return spoil(visit, "acuity", "20/60 PH", "acuity_pinhole", "acuity through a pinhole",
                 {**dict.fromkeys(means), **kept})  # fmt: skip


def _graded_under_gas(series: Series) -> Planted:
    """Closed already through the gas, and closed later."""
    filled = that_mean(series.visits, under_tamponade=True, closure="not_gradable")
    visit = next(
        visit for visit in filled
        if visit.window == "m1"
        and that_mean(
            (v for v in series.visits if v.is_of_same_eye(visit)), closure="closed_graft_in_place"
        )
    )  # fmt: skip
    return spoil(visit, "closure", "closed", "closure_under_tamponade", "graded through gas",
                 {"closure": "closed_unspecified"})  # fmt: skip


def _fixation_swapped(visit: Record) -> Planted:
    visit.cells["fixation_p2"] = Cell(31, {"fixation_p2_pct": None})
    return spoil(visit, "fixation_p1", 64, "fixation_order", "P1 and P2 swapped")


def _plant_first(series: Series) -> list[Planted]:
    operations = series.operations
    latest = without_visits(series, operated_in(series, WEEKS[0])[-1])
    return [
        spoil(latest, "patient_id", None, "record_number_missing", "no record number"),
        spoil(operations[12], "birth_date", operations[12].on + timedelta(200),
              "date_out_of_order", "born after the operation", {}),
        spoil(operations[14], "tamponade_pct", None, "value_missing", "gas without per cent"),
        spoil(seen_at(series, "m3", 9), "visit_date", None, "visit_undated", "visit without date"),
        spoil(seen_at(series, "m6", 9), "fixation_p1", 0.47, "share_under_one",
              "fraction among per cent"),
        _unknown(seen_at(series, "m12", 1)),
        double(series.visits, seen_at(series, "m3", 6), "visit_doubled", "visit entered twice"),
        spoil(series.complications[3], "complication_date",
              (series.complications[3].on - timedelta(365)).strftime("%m/%d/%Y"),
              "date_out_of_order", "complication before the operation"),
    ]  # fmt: skip


def _unknown(visit: Record) -> Planted:
    visit.cells["patient_id"] = Cell("DN-19940X")
    return hold_row(visit, "operation_unknown", "mistyped record number")


def _plant_second(series: Series) -> list[Planted]:
    """Record number, gas, share and the doubled visit are mended; a birth date and others are
    broken, and the row of units says another one for the height."""
    latest = without_visits(series, operated_in(series, WEEKS[1])[-1])
    blank_column(series.operations, "hole_height")
    return [
        spoil(series.operations[12], "birth_date", "??/??/1948", "date_unreadable",
              "day and month unknown", {}),
        spoil(series.operations[17], "lens_status", "cloudy thing", "word_unknown",
              "no word for a lens"),
        spoil(latest, "patient_id", None, "record_number_missing", "no record number"),
        spoil(seen_at(series, "m6", 7), "acuity", "see chart", "acuity_unreadable",
              "words for an acuity"),
        spoil(seen_at(series, "m12", 3), "iop", 145, "outside_possible", "a digit too many"),
    ]  # fmt: skip


def _lay_out(week: str, series: Series) -> tuple[list[File], list[Planted]]:
    log = Grid("Surgery log", date_format="mm/dd/yyyy")
    log.put(1, 1, "Refractory macular hole log")
    log.put(2, 1, "Retina service, last updated by the fellow")
    rows: list[Row] = [{"operation": operation} for operation in series.operations]
    last = lay_table(log, FILE, LOG, [None, *rows], LOG_HEADING)
    log.comments[7, 2] = f"Lives with sister, tel 555-010-4471, ask for {SURGEONS[0]}"
    follow_up = Grid("Follow up")
    visits: list[Row] = [{"visit": visit} for visit in series.visits]
    pages = [*visits[:ROWS_OF_A_PAGE], None, *visits[ROWS_OF_A_PAGE:]]
    last_visit = lay_table(follow_up, FILE, FOLLOW_UP, pages)
    _merge_record_number(follow_up, series.visits_of(series.operations[MERGED]))
    events: list[Row] = [{"complication": c} for c in series.complications]
    lay_table(follow_up, FILE, COMPLICATIONS, events, last_visit + 6)
    planted = [
        *_units_below(log, {**UNITS, "hole_height": "µm" if week == WEEKS[0] else "mm"}),
        _headings_again(follow_up),
        footer(log, FILE, last + 2, {2: "Total", 14: round(636.5, 1)}, "total below the table"),
        footer(follow_up, FILE, last_visit + 2, {3: "yellow = not yet graded"}, "colour legend"),
        footer(follow_up, FILE, last_visit + 3, {3: "red = call back"}, "colour legend"),
    ]
    follow_up.fills[last_visit + 2, 3], follow_up.fills[last_visit + 3, 3] = "#FFF2A8", "#F4B6B6"
    file = File(FILE, [log, follow_up, _contacts(series)], author="Jacanthe Brindlemere")
    return [file], planted


def _units_below(log: Grid, units: Mapping[str, str]) -> list[Planted]:
    """A row of units below the headings, and where it says another one than the crosswalk."""
    row = LOG_HEADING + 1
    for name, unit in units.items():
        log.put(row, place_of(LOG, name), unit)
    first = Place(FILE, log.name, address(row, min(place_of(LOG, name) for name in units)))
    planted = [Planted("unit_row", "row of units", place=first)]
    for name in units:
        if units[name] != UNITS[name]:
            cell = address(row, place_of(LOG, name))
            planted.append(Planted("unit_row_differs", "another unit than the crosswalk's",
                                   field=name, place=Place(FILE, log.name, cell)))  # fmt: skip
    return planted


def _merge_record_number(follow_up: Grid, visits: list[Record]) -> None:
    """One cell holds the record number of a patient's rows, which stand below each other."""
    first_week = [visit for visit in visits if visit.since == WEEKS[0]]
    rows = [int(visit.places["patient_id"].cell[1:]) for visit in first_week]
    assert rows == list(range(rows[0], rows[0] + len(rows)))
    follow_up.merge_down(1, rows[0], rows[-1])


def _headings_again(follow_up: Grid) -> Planted:
    """The headings stand again where the second page begins."""
    row = 1 + ROWS_OF_A_PAGE + 1
    lay_headings(follow_up, FOLLOW_UP, row)
    return Planted("heading_repeated", "headings at the top of a page",
                   place=Place(FILE, follow_up.name, address(row, 1)))  # fmt: skip


def _contacts(series: Series) -> Grid:
    grid = Grid("Contacts", is_hidden=True)
    grid.put_row(1, ["Name", "Born", "Phone", "E-mail"])
    for row, operation in enumerate(series.operations[:8], start=2):
        born = operation.loose["born"]
        text = born.strftime("%m/%d/%Y") if isinstance(born, date) else ""
        grid.put_row(row, [operation.loose["name"], text, operation.loose["phone"],
                           operation.loose["email"]])  # fmt: skip
    return grid


CENTRE = Centre(
    "dunlin", _draw, _plant, _lay_out,
    others=(
        ("phone", "555-010-7717"), ("phone", "555-010-4471"), ("name", "Jacanthe Brindlemere"),
    ),
)  # fmt: skip
