"""Table `visits`: one row for each examination of an operated eye."""

from __future__ import annotations

import pandas as pd
from pandera.typing import Series

from schemas import codes
from schemas.conventions import FIELD_RELIABILITY
from schemas.field import A_SHARE, Limits, Table, field

PERIMETER = (
    "0 dB is the brightest target of that device; the upper end is a project choice, device "
    "classes run to about 36 dB"
)
PROJECT = "project choice"
BY_LUMINANCE = (
    "dB + 10 log10(10000 / brightest target in asb), arithmetic: documentation of open perimetry "
    "software (OPI, dbTocd)"
)
ISCEV = (
    "ISCEV standard for clinical multifocal electroretinography, 2021 update, "
    "doi:10.1007/s10633-020-09812-w"
)
RING_RATIO = (
    "ratios of rings of P1 density as in Int J Retina Vitreous 2025, "
    "doi:10.1186/s40942-025-00733-x; ring 1 above the line is a project choice"
)
NORM = "each laboratory has norms of its own by age: from memory"
RELIABILITY = FIELD_RELIABILITY["usual"]


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
        nullable=False, upload=("visit_date", "visit_time"),
        source="project choice: no published standard fixes windows of visits",
    )  # fmt: skip
    acuity_logmar: Series[float] = field(
        "Visual acuity",
        "Distance acuity as logMAR, with the best or the worn correction, not through a pinhole. "
        "Letters of a partial line count 0.02 each on charts with five letters a line, else the "
        "line counts. Off the chart it has the value of the study's named set; counting fingers "
        "at a known distance d m is log10(60 / d), no better than 1.0, no worse than hand motion.",
        unit="logMAR",
        hard=Limits(-0.4, 3.0, "project choice: charts; 3.0 is the largest value of any set"),
        soft=Limits(-0.1, 3.0, PROJECT), upload="acuity", reads="acuity",
        source="logMAR = -log10(decimal acuity), DICOM PS3.17 RR.2.2; letters 85 - 50 logMAR, "
        "Novel method for analyzing Snellen visual acuity measurements, Retina 2010 (year and "
        "inverse from memory); bounds of counting fingers are a project choice",
    )  # fmt: skip
    acuity_line_logmar: Series[float] = field(
        "Acuity by line", "The line read, without the letters of a partial line.",
        unit="logMAR", upload="acuity",
        source="project choice: the value by line is kept beside the one with letters",
    )  # fmt: skip
    acuity_partial: Series[str] = field(
        "Partial line", "Whether letters were missed on the line, or read on the next.",
        codes=codes.PARTIAL_LINE, upload="acuity",
        source="no defined value on traditional charts, DICOM PS3.17 RR.2.3; 0.01 to 0.11 a letter "
        "there, Eye 2021, doi:10.1038/s41433-021-01767-9",
    )  # fmt: skip
    acuity_partial_letters: Series[pd.Int64Dtype] = field(
        "Letters of the partial line", "Read beyond the line, negative for those missed on it.",
        hard=Limits(-10, 10, PROJECT), upload="acuity",
    )  # fmt: skip
    acuity_distance_m: Series[float] = field(
        "Distance of counting fingers", "From which fingers or a hand were seen.", unit="m",
        hard=Limits(0.05, 10, PROJECT), upload="acuity",
        source="fingers at a distance as a fraction of 60 m: J Refract Surg 1997;13:388-391 (from "
        "memory)",
    )  # fmt: skip
    acuity_correction: Series[str] = field(
        "Correction", "With which correction the acuity was taken, where that is said.",
        codes=codes.ACUITY_CORRECTION, upload="acuity",
    )  # fmt: skip
    acuity_pinhole_logmar: Series[float] = field(
        "Acuity through a pinhole", "logMAR; kept beside and never pooled with the acuity.",
        unit="logMAR", hard=Limits(-0.4, 3.0, "project choice: charts"),
        upload=("acuity_pinhole", "acuity"), reads="acuity", is_seldom=True,
    )  # fmt: skip
    acuity_notation: Series[str] = field(
        "Notation", "Notation in which the centre wrote the acuity.", codes=codes.NOTATION,
        upload="acuity",
    )  # fmt: skip
    acuity_off_chart: Series[str] = field(
        "Off-chart acuity", "Category of an acuity that no chart measures.", codes=codes.OFF_CHART,
        upload="acuity",
        source="none of the standards of acuity gives these a logMAR (from memory)",
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
        source="the states are a project choice after type 1 and 2, Br J Ophthalmol 2003;87:1015, "
        "and closed, flat open and elevated open, Trials 2015;16",
    )  # fmt: skip
    elm: Series[str] = field(
        "External limiting membrane", "Continuity at the fovea.", codes=codes.BAND_CONTINUITY,
        upload="elm", reads="code",
        source="three grades, common practice, from memory",
    )  # fmt: skip
    ellipsoid_zone: Series[str] = field(
        "Ellipsoid zone", "Continuity at the fovea.", codes=codes.BAND_CONTINUITY,
        upload="ellipsoid_zone", reads="code",
        source="three grades, common practice, from memory",
    )  # fmt: skip
    ez_defect_um: Series[float] = field(
        "Ellipsoid zone defect", "Length of the gap through the fovea.", unit="um",
        hard=Limits(0, 8000, PROJECT), soft=Limits(0, 3000, PROJECT),
        upload="ez_defect", reads="number",
        source="length of the gap through the fovea, as in Int Ophthalmol 2021, "
        "doi:10.1007/s10792-021-01716-1",
    )  # fmt: skip
    graft_position: Series[str] = field(
        "Graft position", "Where the graft lies.", codes=codes.GRAFT_POSITION,
        upload="graft_position", reads="code",
        source="project choice: kept apart from closure",
    )  # fmt: skip
    iop_mmhg: Series[float] = field(
        "Intraocular pressure", "Pressure in the operated eye.", unit="mmHg",
        hard=Limits(0, 80, PROJECT), soft=Limits(5, 30, "common practice, from memory"),
        upload="iop", reads="number",
    )  # fmt: skip
    lens_status: Series[str] = field(
        "Lens status", "Lens at this visit.", codes=codes.LENS_STATUS,
        upload="lens_status", reads="code",
    )  # fmt: skip
    perimetry_mean_db: Series[float] = field(
        "Central field, mean sensitivity",
        "Arithmetic mean of the thresholds in dB over the points of a central 10-degree static "
        "field. 25 to 27 dB counted as good sensitivity is common practice, no source.",
        unit="dB",
        hard=Limits(0, 45, PERIMETER), soft=Limits(5, 38, PROJECT),
        upload="perimetry_mean", reads="number",
        source="arithmetic mean of dB by convention; a mean of luminances differs (15.0 and "
        "27.0 dB for 30, 30, 0, 0)",
    )  # fmt: skip
    perimetry_md_db: Series[float] = field(
        "Central field, mean deviation", "Negative is loss. Where a centre's perimeter gives a "
        "mean defect, positive for loss, the crosswalk says so and the sign is turned.", unit="dB",
        hard=Limits(-40, 10, PROJECT), soft=Limits(-30, 3, PROJECT),
        upload="perimetry_md", reads="deviation",
        source="both conventions of sign from memory; that negative is loss here is a project "
        "choice",
    )  # fmt: skip
    perimetry_reliable: Series[pd.BooleanDtype] = field(
        "Field reliable",
        "By false positives and false negatives where these are given, else as judged by the "
        "centre. Fixation losses alone exclude no field: these eyes fixate off centre.",
        upload=("perimetry_reliable", "perimetry_false_positive", "perimetry_false_negative"),
        reads="yes_no",
        source=f"unreliable over {RELIABILITY.false_positive_over:g} % false positives or from "
        f"{RELIABILITY.false_negative_from:g} % false negatives on: {RELIABILITY.source}",
    )  # fmt: skip
    perimetry_fixation_loss_pct: Series[float] = field(
        "Fixation losses", "Share of checks of the blind spot that failed.", unit="%",
        hard=A_SHARE, upload="perimetry_fixation_loss", reads="number",
    )  # fmt: skip
    perimetry_false_positive_pct: Series[float] = field(
        "False positives", "Share of answers without a target.", unit="%",
        hard=A_SHARE, upload="perimetry_false_positive", reads="number",
    )  # fmt: skip
    perimetry_false_negative_pct: Series[float] = field(
        "False negatives", "Share of bright targets without an answer.", unit="%",
        hard=A_SHARE, upload="perimetry_false_negative", reads="number",
    )  # fmt: skip
    perimetry_points: Series[pd.Int64Dtype] = field(
        "Points of the field", "Test points over which the mean was taken; 68 in the usual central "
        "pattern (from memory).", hard=Limits(4, 200, PROJECT), upload="perimetry_points",
        reads="integer",
    )  # fmt: skip
    perimeter_max_asb: Series[float] = field(
        "Perimeter's brightest target", "Luminance at 0 dB; fixes the device class.", unit="asb",
        hard=Limits(100, 20000, PROJECT), upload="perimeter_max", reads="number",
    )  # fmt: skip
    perimetry_mean_at_10000_asb_db: Series[float] = field(
        "Central field, mean sensitivity by luminance",
        "The mean sensitivity on the scale of a perimeter whose brightest target is 10000 asb. "
        "Equates luminance alone; never pooled without saying so. A mean of 0 is a bound and has "
        "none.", unit="dB", upload=("perimetry_mean", "perimeter_max"), source=BY_LUMINANCE,
    )  # fmt: skip
    microperimetry_mean_db: Series[float] = field(
        "Microperimetry, mean sensitivity",
        "Arithmetic mean over the grid. Often missing: common practice, no source.", unit="dB",
        hard=Limits(0, 40, PERIMETER), upload="microperimetry_mean", reads="number",
    )  # fmt: skip
    microperimeter_max_asb: Series[float] = field(
        "Microperimeter's brightest target", "Luminance at 0 dB; fixes the device class.",
        unit="asb", hard=Limits(100, 20000, PROJECT), upload="microperimeter_max", reads="number",
    )  # fmt: skip
    microperimetry_points: Series[pd.Int64Dtype] = field(
        "Points of the microperimetry", "Test points over which the mean was taken.",
        hard=Limits(4, 200, PROJECT), upload="microperimetry_points", reads="integer",
    )  # fmt: skip
    microperimetry_mean_at_10000_asb_db: Series[float] = field(
        "Microperimetry, mean sensitivity by luminance",
        "The mean sensitivity on the scale of a device whose brightest target is 10000 asb. "
        "Equates luminance alone; never pooled without saying so. A mean of 0 is a bound and has "
        "none.", unit="dB", upload=("microperimetry_mean", "microperimeter_max"),
        source=BY_LUMINANCE,
    )  # fmt: skip
    fixation_p1_pct: Series[float] = field(
        "Fixation within 1 degree", "Share of fixation points within a 1-degree radius.",
        unit="%", hard=A_SHARE, upload="fixation_p1", reads="number",
        source="radius: Transl Vis Sci Technol 2016;5(6):6",
    )  # fmt: skip
    fixation_p2_pct: Series[float] = field(
        "Fixation within 2 degrees", "Share of fixation points within a 2-degree radius.",
        unit="%", hard=A_SHARE, upload="fixation_p2", reads="number",
        source="radius: Transl Vis Sci Technol 2016;5(6):6",
    )  # fmt: skip
    fixation_bcea_deg2: Series[float] = field(
        "Fixation ellipse area", "Bivariate contour ellipse area.", unit="deg2",
        hard=Limits(0.01, 500, PROJECT), upload="fixation_bcea", reads="number",
        source="2 k pi sx sy sqrt(1 - rho^2) holds the share 1 - exp(-k) of the points: areas of "
        "63, 68 and 95 % differ by up to 3 times, and no sheet's is converted to another; 0.80 and "
        "2.40 deg2 in healthy eyes, Transl Vis Sci Technol 2016;5(6):6",
    )  # fmt: skip
    mferg_ring1_p1_nv_deg2: Series[float] = field(
        "Multifocal ERG ring 1, P1", "P1 response density of the central ring.", unit="nV/deg2",
        hard=Limits(0, 400, PROJECT), upload="mferg_ring1_p1", reads="number",
        source=ISCEV,
    )  # fmt: skip
    mferg_ring2_p1_nv_deg2: Series[float] = field(
        "Multifocal ERG ring 2, P1", "P1 response density of the second ring.", unit="nV/deg2",
        hard=Limits(0, 400, PROJECT), upload="mferg_ring2_p1", reads="number",
        source=ISCEV,
    )  # fmt: skip
    mferg_ring3_p1_nv_deg2: Series[float] = field(
        "Multifocal ERG ring 3, P1", "P1 response density of the third ring.", unit="nV/deg2",
        hard=Limits(0, 400, PROJECT), upload="mferg_ring3_p1", reads="number",
        source=ISCEV,
    )  # fmt: skip
    mferg_ring4_p1_nv_deg2: Series[float] = field(
        "Multifocal ERG ring 4, P1", "P1 response density of the fourth ring.", unit="nV/deg2",
        hard=Limits(0, 400, PROJECT), upload="mferg_ring4_p1", reads="number",
        source=ISCEV,
    )  # fmt: skip
    mferg_ring5_p1_nv_deg2: Series[float] = field(
        "Multifocal ERG ring 5, P1", "P1 response density of the fifth ring.", unit="nV/deg2",
        hard=Limits(0, 400, PROJECT), upload="mferg_ring5_p1", reads="number",
        source=ISCEV,
    )  # fmt: skip
    mferg_ring1_p1_ms: Series[float] = field(
        "Multifocal ERG ring 1, P1 time", "Time from stimulus to the P1 peak.", unit="ms",
        hard=Limits(10, 120, PROJECT), soft=Limits(25, 60, "usual range, from memory"),
        upload="mferg_ring1_time", reads="number",
        source=ISCEV,
    )  # fmt: skip
    mferg_ring2_p1_ms: Series[float] = field(
        "Multifocal ERG ring 2, P1 time", "Time from stimulus to the P1 peak.", unit="ms",
        hard=Limits(10, 120, PROJECT), soft=Limits(25, 60, "usual range, from memory"),
        upload="mferg_ring2_time", reads="number",
        source=ISCEV,
    )  # fmt: skip
    mferg_ring3_p1_ms: Series[float] = field(
        "Multifocal ERG ring 3, P1 time", "Time from stimulus to the P1 peak.", unit="ms",
        hard=Limits(10, 120, PROJECT), soft=Limits(25, 60, "usual range, from memory"),
        upload="mferg_ring3_time", reads="number",
        source=ISCEV,
    )  # fmt: skip
    mferg_ring4_p1_ms: Series[float] = field(
        "Multifocal ERG ring 4, P1 time", "Time from stimulus to the P1 peak.", unit="ms",
        hard=Limits(10, 120, PROJECT), soft=Limits(25, 60, "usual range, from memory"),
        upload="mferg_ring4_time", reads="number",
        source=ISCEV,
    )  # fmt: skip
    mferg_ring5_p1_ms: Series[float] = field(
        "Multifocal ERG ring 5, P1 time", "Time from stimulus to the P1 peak.", unit="ms",
        hard=Limits(10, 120, PROJECT), soft=Limits(25, 60, "usual range, from memory"),
        upload="mferg_ring5_time", reads="number",
        source=ISCEV,
    )  # fmt: skip
    mferg_fellow_ring1_p1_nv_deg2: Series[float] = field(
        "Multifocal ERG ring 1, P1, fellow eye", "The same measure in the other eye.",
        unit="nV/deg2", hard=Limits(0, 400, PROJECT), upload="mferg_fellow_ring1_p1",
        reads="number",
    )  # fmt: skip
    mferg_ring1_ring2_ratio: Series[float] = field(
        "Multifocal ERG ratio of ring 1 to ring 2", "P1 density of ring 1 / that of ring 2.",
        upload=("mferg_ring1_p1", "mferg_ring2_p1"),
        source=RING_RATIO,
    )  # fmt: skip
    mferg_ring1_ring3_ratio: Series[float] = field(
        "Multifocal ERG ratio of ring 1 to ring 3", "P1 density of ring 1 / that of ring 3.",
        upload=("mferg_ring1_p1", "mferg_ring3_p1"),
        source=RING_RATIO,
    )  # fmt: skip
    mferg_ring1_ring4_ratio: Series[float] = field(
        "Multifocal ERG ratio of ring 1 to ring 4", "P1 density of ring 1 / that of ring 4.",
        upload=("mferg_ring1_p1", "mferg_ring4_p1"),
        source=RING_RATIO,
    )  # fmt: skip
    mferg_ring1_ring5_ratio: Series[float] = field(
        "Multifocal ERG ratio of ring 1 to ring 5", "P1 density of ring 1 / that of ring 5.",
        upload=("mferg_ring1_p1", "mferg_ring5_p1"),
        source=RING_RATIO,
    )  # fmt: skip
    mferg_ring1_fellow_ratio: Series[float] = field(
        "Multifocal ERG ratio of ring 1 to the fellow eye",
        "P1 density of ring 1 / the same of the other eye.",
        upload=("mferg_ring1_p1", "mferg_fellow_ring1_p1"),
    )  # fmt: skip
    mferg_norm_ring1_p1_nv_deg2: Series[float] = field(
        "Multifocal ERG ring 1, P1, laboratory's norm",
        "Mean of the laboratory's own healthy eyes of that age.", unit="nV/deg2",
        hard=Limits(0, 400, PROJECT), upload="mferg_norm_ring1_p1", reads="number",
        source=NORM,
    )  # fmt: skip
    mferg_norm_ring1_sd_nv_deg2: Series[float] = field(
        "Multifocal ERG ring 1, P1, spread of the norm",
        "Standard deviation of the same healthy eyes.", unit="nV/deg2",
        hard=Limits(0, 400, PROJECT), upload="mferg_norm_ring1_sd", reads="number",
        source=NORM,
    )  # fmt: skip
    mferg_ring1_norm_ratio: Series[float] = field(
        "Multifocal ERG ratio of ring 1 to the norm",
        "P1 density of ring 1 / the mean of the laboratory's norm.",
        upload=("mferg_ring1_p1", "mferg_norm_ring1_p1"),
    )  # fmt: skip
    mferg_ring1_z: Series[float] = field(
        "Multifocal ERG ring 1, z-score",
        "(P1 density of ring 1 - mean of the norm) / its standard deviation.",
        hard=Limits(-20, 20, PROJECT),
        upload=("mferg_ring1_p1", "mferg_norm_ring1_p1", "mferg_norm_ring1_sd"),
    )  # fmt: skip
    mferg_hexagons: Series[pd.Int64Dtype] = field(
        "Multifocal ERG hexagons", "Elements of the stimulus array; 61 and 103 are typical.",
        hard=Limits(7, 509, PROJECT), upload="mferg_hexagons", reads="integer",
        source=ISCEV,
    )  # fmt: skip
    mferg_electrode: Series[str] = field(
        "Multifocal ERG electrode", "Kind of recording electrode; amplitudes differ by it.",
        codes=codes.ELECTRODE, upload="mferg_electrode", reads="code",
        source="skin electrodes gave 32 to 38 % of a thread's amplitude: PMC12137451",
    )  # fmt: skip
    mferg_ring_outer_deg: Series[str] = field(
        "Multifocal ERG rings",
        "Outer radii of the rings in degrees, from the centre out, parted by slashes.",
        upload="mferg_ring_radii", reads="ring_radii",
        source="radii belong to the software, so they are kept as written; common ones from memory",
    )  # fmt: skip
