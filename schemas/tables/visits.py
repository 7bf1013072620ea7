"""Table `visits`: one row for each examination of an operated eye."""

from __future__ import annotations

import pandas as pd
from pandera.typing import Series

from schemas import codes
from schemas.field import Limits, Table, field

PERIMETER = "0 dB is the brightest target of that device; device classes run to about 36 dB"
PROJECT = "project choice"


class Visits(Table):
    """What was seen and measured, in days from the operation."""

    visit_key: Series[str] = field(
        "Visit", "Random code of the operation, then the place of the visit.",
        nullable=False, unique=True,
    )  # fmt: skip
    operation_key: Series[str] = field("Operation", "Random code of the operation.", nullable=False)
    day: Series[pd.Int64Dtype] = field(
        "Day", "Days after the operation, negative before it.", unit="day",
        hard=Limits(-3650, 9000, PROJECT), identifier="indirect", upload="visit_date",
    )  # fmt: skip
    visit: Series[str] = field(
        "Visit window",
        "baseline, the name of a window of study.toml, or unscheduled.",
        nullable=False, upload="visit_date",
    )  # fmt: skip
    acuity_logmar: Series[float] = field(
        "Visual acuity",
        "Distance acuity as logMAR. Off the chart it has the value of the study's named set.",
        unit="logMAR", hard=Limits(-0.4, 3.0, "chart range; 3.0 is the largest value of any set"),
        soft=Limits(-0.1, 3.0, PROJECT), upload="acuity", reads="acuity",
        source="logMAR = -log10(decimal acuity), DICOM PS3.17 RR.2.2; letters 85 - 50 logMAR, "
        "Retina 2010, Novel method for analyzing Snellen visual acuity measurements",
    )  # fmt: skip
    acuity_notation: Series[str] = field(
        "Notation", "Notation in which the centre wrote the acuity.", codes=codes.NOTATION,
        upload="acuity",
    )  # fmt: skip
    acuity_off_chart: Series[str] = field(
        "Off-chart acuity", "Category of an acuity that no chart measures.", codes=codes.OFF_CHART,
        upload="acuity",
    )  # fmt: skip
    acuity_imputed: Series[pd.BooleanDtype] = field(
        "Acuity imputed", "True where the logMAR value comes from an off-chart set.",
        upload="acuity",
    )  # fmt: skip
    under_tamponade: Series[pd.BooleanDtype] = field(
        "Under tamponade", "Gas or oil was still in the eye at this visit.",
        upload="under_tamponade", reads="yes_no",
    )  # fmt: skip
    closure: Series[str] = field(
        "Hole on the scan", "State of the hole on optical coherence tomography.",
        codes=codes.CLOSURE, upload="closure", reads="code",
        source="Type 1 and 2 closure, Br J Ophthalmol 2003;87:1015; closed, flat open, elevated "
        "open as graded in Trials 2015;16",
    )  # fmt: skip
    elm: Series[str] = field(
        "External limiting membrane", "Continuity at the fovea.", codes=codes.BAND_CONTINUITY,
        upload="elm", reads="code",
    )  # fmt: skip
    ellipsoid_zone: Series[str] = field(
        "Ellipsoid zone", "Continuity at the fovea.", codes=codes.BAND_CONTINUITY,
        upload="ellipsoid_zone", reads="code",
    )  # fmt: skip
    ez_defect_um: Series[float] = field(
        "Ellipsoid zone defect", "Length of the gap through the fovea.", unit="um",
        hard=Limits(0, 8000, PROJECT), soft=Limits(0, 3000, PROJECT),
        upload="ez_defect", reads="number",
    )  # fmt: skip
    graft_position: Series[str] = field(
        "Graft position", "Where the graft lies.", codes=codes.GRAFT_POSITION,
        upload="graft_position", reads="code",
    )  # fmt: skip
    perimetry_mean_db: Series[float] = field(
        "Central field, mean sensitivity",
        "Arithmetic mean of the thresholds of a central 10-degree static field.", unit="dB",
        hard=Limits(0, 45, PERIMETER), soft=Limits(5, 38, PROJECT),
        upload="perimetry_mean", reads="number",
    )  # fmt: skip
    perimetry_md_db: Series[float] = field(
        "Central field, mean deviation", "Negative is loss.", unit="dB",
        hard=Limits(-40, 10, PROJECT), soft=Limits(-30, 3, PROJECT),
        upload="perimetry_md", reads="number",
    )  # fmt: skip
    perimetry_reliable: Series[pd.BooleanDtype] = field(
        "Field reliable", "As judged by the centre.", upload="perimetry_reliable", reads="yes_no"
    )
    perimeter_max_asb: Series[float] = field(
        "Perimeter's brightest target", "Luminance at 0 dB; fixes the device class.", unit="asb",
        hard=Limits(100, 20000, PROJECT), upload="perimeter_max", reads="number",
    )  # fmt: skip
    microperimetry_mean_db: Series[float] = field(
        "Microperimetry, mean sensitivity", "Arithmetic mean over the grid.", unit="dB",
        hard=Limits(0, 40, PERIMETER), upload="microperimetry_mean", reads="number",
    )  # fmt: skip
    microperimeter_max_asb: Series[float] = field(
        "Microperimeter's brightest target", "Luminance at 0 dB; fixes the device class.",
        unit="asb", hard=Limits(100, 20000, PROJECT), upload="microperimeter_max", reads="number",
    )  # fmt: skip
    fixation_p1_pct: Series[float] = field(
        "Fixation within 1 degree", "Share of fixation points within a 1-degree radius.",
        unit="%", hard=Limits(0, 100, "a share"), upload="fixation_p1", reads="number",
    )  # fmt: skip
    fixation_p2_pct: Series[float] = field(
        "Fixation within 2 degrees", "Share of fixation points within a 2-degree radius.",
        unit="%", hard=Limits(0, 100, "a share"), upload="fixation_p2", reads="number",
    )  # fmt: skip
    fixation_bcea_deg2: Series[float] = field(
        "Fixation ellipse area", "Bivariate contour ellipse area.", unit="deg2",
        hard=Limits(0, 500, PROJECT), upload="fixation_bcea", reads="number",
    )  # fmt: skip
    mferg_ring1_p1_nv_deg2: Series[float] = field(
        "Multifocal ERG ring 1, P1", "P1 response density of the central ring.", unit="nV/deg2",
        hard=Limits(0, 400, PROJECT), upload="mferg_ring1_p1", reads="number",
        source="ISCEV standard for clinical multifocal electroretinography, 2021 update, "
        "doi:10.1007/s10633-020-09812-w",
    )  # fmt: skip
    mferg_ring2_p1_nv_deg2: Series[float] = field(
        "Multifocal ERG ring 2, P1", "P1 response density of the second ring.", unit="nV/deg2",
        hard=Limits(0, 400, PROJECT), upload="mferg_ring2_p1", reads="number",
    )  # fmt: skip
    mferg_ring3_p1_nv_deg2: Series[float] = field(
        "Multifocal ERG ring 3, P1", "P1 response density of the third ring.", unit="nV/deg2",
        hard=Limits(0, 400, PROJECT), upload="mferg_ring3_p1", reads="number",
    )  # fmt: skip
    mferg_ring4_p1_nv_deg2: Series[float] = field(
        "Multifocal ERG ring 4, P1", "P1 response density of the fourth ring.", unit="nV/deg2",
        hard=Limits(0, 400, PROJECT), upload="mferg_ring4_p1", reads="number",
    )  # fmt: skip
    mferg_ring5_p1_nv_deg2: Series[float] = field(
        "Multifocal ERG ring 5, P1", "P1 response density of the fifth ring.", unit="nV/deg2",
        hard=Limits(0, 400, PROJECT), upload="mferg_ring5_p1", reads="number",
    )  # fmt: skip
    mferg_ring1_p1_ms: Series[float] = field(
        "Multifocal ERG ring 1, P1 time", "Time from stimulus to the P1 peak.", unit="ms",
        hard=Limits(10, 120, PROJECT), soft=Limits(25, 60, "usual range, from memory"),
        upload="mferg_ring1_time", reads="number",
    )  # fmt: skip
    mferg_fellow_ring1_p1_nv_deg2: Series[float] = field(
        "Multifocal ERG ring 1, P1, fellow eye", "The same measure in the other eye.",
        unit="nV/deg2", hard=Limits(0, 400, PROJECT), upload="mferg_fellow_ring1_p1",
        reads="number",
    )  # fmt: skip
    iop_mmhg: Series[float] = field(
        "Intraocular pressure", "Pressure in the operated eye.", unit="mmHg",
        hard=Limits(0, 80, PROJECT), soft=Limits(5, 30, "common practice, no source"),
        upload="iop", reads="number",
    )  # fmt: skip
    lens_status: Series[str] = field(
        "Lens status", "Lens at this visit.", codes=codes.LENS_STATUS,
        upload="lens_status", reads="code",
    )  # fmt: skip
