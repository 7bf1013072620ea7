"""One operation in row 2 of a sheet, its visit in columns, the whole way through intake."""

import datetime as dt

from upload_sheets import OPERATIONS, codes_of, sheet, table, taken_in, told

from transforms.intake import coded

OPERATED = dt.datetime(2025, 3, 1)

OPERATION_FIELDS = {
    "age": "Age",
    "birth_date": "Born",
    "hole_min_diameter": {"heading": "MLD", "unit": "um"},
    "hole_base_diameter": {"heading": "Base", "unit": "um"},
    "hole_height": {"heading": "Height", "unit": "um"},
    "hole_arm_one": {"heading": "Arm c", "unit": "um"},
    "hole_arm_two": {"heading": "Arm d", "unit": "um"},
    "graft_diameter": {"heading": "Graft", "unit": "um"},
    "graft_second_diameter": {"heading": "Graft y", "unit": "um"},
    "donor_region": "Donor",
    "technique": "Technique",
    "tamponade": "Gas",
    "tamponade_pct": "Gas %",
    "tamponade_viscosity": "cSt",
    "pfcl_use": "PFCL",
    "stages": "Stages",
    "prior_repairs": "Before",
}
VISIT_FIELDS = {
    "acuity": {"heading": "VA", "notation": "logmar"},
    "perimeter_max": "Max",
    "fixation_p1": "P1",
    "fixation_p2": "P2",
    "iop": "IOP",
}
HEADING_OF = {
    name: source if isinstance(source, str) else source["heading"]
    for name, source in {**OPERATION_FIELDS, **VISIT_FIELDS}.items()
}


def intake_of(**cells):
    """One operation with the given cells; only fields that are given are mapped.

    Column D holds the first of the cells, E the second, and so on.
    """
    operation = {n: OPERATION_FIELDS[n] for n in cells if n in OPERATION_FIELDS}
    visit = {n: VISIT_FIELDS[n] for n in cells if n in VISIT_FIELDS}
    headings = ["No", "Eye", "Op", *(HEADING_OF[name] for name in cells)]
    blocks = [{"at": "m3", **visit}] if visit else []
    intake = taken_in(
        sheet(headings, ["A-1", "OD", OPERATED, *cells.values()]),
        table("operation", {**OPERATIONS, **operation}, visits=blocks),
    )
    return coded(intake, codes_of(intake))


def value(intake, column, of="operations"):
    found = intake.tables[of][column]
    return None if found.isna().item() else found.item()


def rules(intake):
    return told(intake.tables["findings"])
