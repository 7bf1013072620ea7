"""Table `operations`: one row for each index operation on one eye."""

from __future__ import annotations

import pandas as pd
from pandera.typing import Series

from schemas import codes
from schemas.field import Limits, Required, Table, field

IMAGING_RANGE = "project choice: series of refractory holes report 250 to 2600 µm"
COMMON_PRACTICE = "common practice, no source"


class Operations(Table):
    """What was operated on, how, and how the hole ended."""

    operation_key: Series[str] = field(
        "Operation", "Random code of the operation.", nullable=False, unique=True
    )
    patient_key: Series[str] = field("Patient", "Random code of the patient.", nullable=False)
    site: Series[str] = field(
        "Centre", "Code of the centre.", identifier="indirect", nullable=False
    )
    eye: Series[str] = field(
        "Eye", "Side of the operated eye.", codes=codes.EYE, identifier="indirect",
        upload=("eye",), nullable=False,
    )  # fmt: skip
    surgeon_key: Series[str] = field(
        "Surgeon", "Random code of the surgeon.", upload="surgeon", identifier="indirect"
    )
    surgeon_case_number: Series[pd.Int64Dtype] = field(
        "Surgeon's case number",
        "Place of the operation in the surgeon's series at this centre, by date, from 1.",
        upload=("surgeon", "operation_date"),
    )  # fmt: skip
    eye_operation_number: Series[pd.Int64Dtype] = field(
        "Operation of the eye", "Place of the operation among those of the same eye, by date. "
        "The first is the index operation; later ones are re-operations.",
        upload=("operation_date",), nullable=False,
    )  # fmt: skip
    operation_year: Series[pd.Int64Dtype] = field(
        "Year of operation", "Calendar year of the index operation.", unit="year",
        hard=Limits(1990, 2100, "project choice: before these techniques existed"),
        identifier="indirect", upload="operation_date", nullable=False,
    )  # fmt: skip
    age_years: Series[pd.Int64Dtype] = field(
        "Age at operation", "Completed years at the operation, top-coded by the study's age_top.",
        unit="years", hard=Limits(1, 120, "project choice"),
        soft=Limits(40, 90, "project choice: usual ages of macular hole"),
        identifier="indirect", upload=("age", "birth_date"), reads="integer",
        source="45 CFR 164.514(b)(2)(i)(C) for the top-coding",
    )  # fmt: skip
    sex: Series[str] = field(
        "Sex", "As recorded by the centre.", codes=codes.SEX, identifier="indirect",
        upload="sex", reads="code",
    )  # fmt: skip
    hole_cause: Series[str] = field(
        "Cause of the hole", "Why the hole formed.", codes=codes.HOLE_CAUSE,
        identifier="indirect", upload="hole_cause", reads="code",
    )  # fmt: skip
    prior_repairs: Series[pd.Int64Dtype] = field(
        "Earlier repairs", "Macular operations for this hole before the index operation.",
        hard=Limits(0, 12, "project choice"), soft=Limits(0, 4, "project choice"),
        upload="prior_repairs", reads="integer",
    )  # fmt: skip
    hole_duration_months: Series[float] = field(
        "Duration of the hole", "From first symptom or diagnosis to the index operation.",
        unit="month", hard=Limits(0, 600, "project choice"),
        soft=Limits(0, 120, "project choice"), upload="hole_duration", reads="number",
    )  # fmt: skip
    axial_length_mm: Series[float] = field(
        "Axial length", "Length of the eye from cornea to retina.", unit="mm",
        hard=Limits(15, 40, "project choice"), soft=Limits(20, 34, "project choice"),
        upload="axial_length", reads="number",
    )  # fmt: skip
    lens_status: Series[str] = field(
        "Lens status", "Lens after the index operation.", codes=codes.LENS_STATUS,
        upload="lens_status", reads="code",
    )  # fmt: skip
    hole_min_diameter_um: Series[float] = field(
        "Minimum hole diameter",
        "Narrowest gap between the hole's edges, parallel to the pigment epithelium, on the scan "
        "where the hole is largest.",
        unit="um", hard=Limits(50, 3000, IMAGING_RANGE), soft=Limits(250, 1600, IMAGING_RANGE),
        required=Required("ask"), upload="hole_min_diameter", reads="number",
        source="International Vitreomacular Traction Study classification, Ophthalmology 2013, "
        "doi:10.1016/j.ophtha.2013.07.042 (DOI from memory)",
    )  # fmt: skip
    hole_base_diameter_um: Series[float] = field(
        "Base diameter", "Diameter of the hole at the pigment epithelium.", unit="um",
        hard=Limits(50, 6000, IMAGING_RANGE), soft=Limits(500, 3500, IMAGING_RANGE),
        upload="hole_base_diameter", reads="number",
    )  # fmt: skip
    hole_height_um: Series[float] = field(
        "Hole height", "From the pigment epithelium to the highest point of the hole's edge.",
        unit="um", hard=Limits(50, 2000, "project choice"),
        soft=Limits(150, 900, "project choice"), upload="hole_height", reads="number",
    )  # fmt: skip
    hole_size_class: Series[str] = field(
        "Size class", "International class by the minimum diameter.", codes=codes.SIZE_CLASS,
        upload="hole_min_diameter",
        source="International Vitreomacular Traction Study classification, Ophthalmology 2013; "
        "the edge 250 is printed both ways, here it belongs to the small class",
    )  # fmt: skip
    hole_size_band: Series[str] = field(
        "Size band", "Finer band above 400 µm by the minimum diameter.", codes=codes.SIZE_BAND,
        upload="hole_min_diameter",
        source="project choice from published cut points: 500 (Eye 2021;35:316-25), "
        "650 (Am J Ophthalmol 2018;195:36-42), 800 (Int J Ophthalmol 2020;13:1773-79)",
    )  # fmt: skip
    graft_material: Series[str] = field(
        "Technique", "Tissue put into or over the hole, or the manoeuvre without tissue.",
        codes=codes.GRAFT_MATERIAL, required=Required("ask"),
        upload="technique", reads="technique",
    )  # fmt: skip
    harvest_method: Series[str] = field(
        "Harvest", "How the graft was cut or supplied.", codes=codes.HARVEST_METHOD,
        upload=("harvest_method", "technique"), reads="code",
    )  # fmt: skip
    donor_region: Series[str] = field(
        "Donor region", "Where in the eye the graft was taken.", codes=codes.DONOR_REGION,
        upload="donor_region", reads="code",
    )  # fmt: skip
    graft_diameter_um: Series[float] = field(
        "Graft diameter", "Trephine or measured diameter of the graft.", unit="um",
        hard=Limits(200, 8000, "project choice"), soft=Limits(500, 4000, "project choice"),
        required=Required("ask", when="graft_material", codes=("autologous_retina",)),
        upload="graft_diameter", reads="number",
    )  # fmt: skip
    graft_oversize_min_pct: Series[float] = field(
        "Oversize against the minimum diameter",
        "100 x (graft diameter / hole minimum diameter - 1).", unit="%",
        hard=Limits(-95, 1000, "project choice"), soft=Limits(0, 200, COMMON_PRACTICE),
        upload=("graft_diameter", "hole_min_diameter"),
    )  # fmt: skip
    graft_oversize_base_pct: Series[float] = field(
        "Oversize against the base diameter",
        "100 x (graft diameter / hole base diameter - 1). The same graft can be larger than the "
        "minimum and smaller than the base diameter.", unit="%",
        hard=Limits(-95, 1000, "project choice"),
        upload=("graft_diameter", "hole_base_diameter"),
    )  # fmt: skip
    graft_size_reference: Series[str] = field(
        "Sizing reference", "What the graft was cut against.", codes=codes.GRAFT_SIZE_REFERENCE,
        upload="graft_size_reference", reads="code",
    )  # fmt: skip
    pfcl_use: Series[str] = field(
        "Perfluorocarbon liquid", "How heavy liquid was used.", codes=codes.PFCL_USE,
        upload=("pfcl_use", "technique"), reads="code",
    )  # fmt: skip
    viscoelastic: Series[str] = field(
        "Viscoelastic", "Kind of viscoelastic used to place the graft.", codes=codes.VISCOELASTIC,
        upload=("viscoelastic", "technique"), reads="code",
    )  # fmt: skip
    adjunct: Series[str] = field(
        "Adjunct", "Blood product put over the hole.", codes=codes.ADJUNCT,
        upload=("adjunct", "technique"), reads="code",
    )  # fmt: skip
    donor_laser: Series[str] = field(
        "Laser at the donor site", "When the donor site was lasered.", codes=codes.DONOR_LASER,
        upload=("donor_laser", "technique"), reads="code",
    )  # fmt: skip
    tamponade: Series[str] = field(
        "Tamponade", "What filled the eye at the end of the operation.", codes=codes.TAMPONADE,
        required=Required("ask"), upload=("tamponade", "technique"), reads="tamponade",
    )  # fmt: skip
    tamponade_pct: Series[float] = field(
        "Gas concentration", "Concentration of the gas in per cent of volume.", unit="%",
        hard=Limits(1, 100, "a concentration"),
        soft=Limits(10, 30, "non-expansile concentrations, from memory"),
        required=Required("ask", when="tamponade", codes=codes.GASES),
        upload=("tamponade_pct", "tamponade", "technique"), reads="number",
    )  # fmt: skip
    stages: Series[pd.Int64Dtype] = field(
        "Stages", "Planned operations of which the technique consists.",
        hard=Limits(1, 5, "project choice"), upload="stages", reads="integer",
    )  # fmt: skip
    indication: Series[str] = field(
        "Indication", "Why this operation was chosen.", codes=codes.INDICATION,
        upload="indication", reads="code",
    )  # fmt: skip
    primary_closure: Series[str] = field(
        "Primary closure state",
        "Graded state at the study's primary window, before any further macular operation.",
        codes=codes.CLOSURE, upload=("closure",),
    )  # fmt: skip
    primary_closure_strict: Series[pd.BooleanDtype] = field(
        "Primary closure, strict",
        "Closed at the study's primary window with no further macular operation before it.",
        upload=("closure",),
    )  # fmt: skip
    primary_closure_broad: Series[pd.BooleanDtype] = field(
        "Primary closure, broad", "The same, with flat open holes counted as closed.",
        upload=("closure",),
    )  # fmt: skip
    final_closure: Series[str] = field(
        "Final closure state", "Graded state at the last gradable visit after the operation.",
        codes=codes.CLOSURE, upload=("closure",),
    )  # fmt: skip
    final_closure_strict: Series[pd.BooleanDtype] = field(
        "Final closure, strict",
        "Closed at the last gradable visit, after any number of operations.", upload=("closure",),
    )  # fmt: skip
    final_closure_broad: Series[pd.BooleanDtype] = field(
        "Final closure, broad", "The same, with flat open holes counted as closed.",
        upload=("closure",),
    )  # fmt: skip
