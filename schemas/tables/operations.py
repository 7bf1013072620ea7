"""Table `operations`: one row for each index operation on one eye."""

from __future__ import annotations

import pandas as pd
from pandera.typing import Series

from schemas import codes
from schemas.field import Limits, Required, Table, field

IMAGING_RANGE = (
    "project choice: series of refractory holes report 556 to 2591 µm, base diameters included"
)
OVERSIZE = (
    "arithmetic; one graft against both diameters in Graefes Arch Clin Exp Ophthalmol 2021, "
    "doi:10.1007/s00417-020-04981-5: 1.5 to 1.8 mm, median minimum 828, median base 1872.5 µm"
)
CLOSURE = (
    "project choice, strict leads: flat edges on bare pigment epithelium are closed in Br J "
    "Ophthalmol 2003;87:1015 (type 2) and open in Trials 2015;16"
)


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
        source="project choice of terms",
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
        "doi:10.1016/j.ophtha.2013.07.042 (DOI, and how the line is drawn, from memory)",
    )  # fmt: skip
    hole_min_diameter_nominal: Series[pd.BooleanDtype] = field(
        "Minimum diameter nominal",
        "True where the minimum diameter was given in disc diameters, whose size differs from eye "
        "to eye: it decides no size class.", upload="hole_min_diameter",
    )  # fmt: skip
    hole_base_diameter_um: Series[float] = field(
        "Base diameter", "Diameter of the hole at the pigment epithelium.", unit="um",
        hard=Limits(50, 6000, IMAGING_RANGE), soft=Limits(500, 3500, IMAGING_RANGE),
        upload="hole_base_diameter", reads="number",
    )  # fmt: skip
    hole_base_diameter_nominal: Series[pd.BooleanDtype] = field(
        "Base diameter nominal", "True where the base diameter was given in disc diameters.",
        upload="hole_base_diameter",
    )  # fmt: skip
    hole_height_um: Series[float] = field(
        "Hole height", "From the pigment epithelium to the highest point of the hole's edge.",
        unit="um", hard=Limits(50, 2000, "project choice"),
        soft=Limits(150, 900, "project choice"), upload="hole_height", reads="number",
    )  # fmt: skip
    hole_arm_one_um: Series[float] = field(
        "First arm of the hole's edge",
        "From the base's edge to the point where the photoreceptor layer lifts off, on one side; "
        "definitions vary.", unit="um", hard=Limits(0, 4000, "project choice"),
        upload="hole_arm_one", reads="number", is_seldom=True,
        source="definitions vary, from memory",
    )  # fmt: skip
    hole_arm_two_um: Series[float] = field(
        "Second arm of the hole's edge", "The same on the other side.", unit="um",
        hard=Limits(0, 4000, "project choice"),
        upload="hole_arm_two", reads="number", is_seldom=True,
    )  # fmt: skip
    hole_form_factor: Series[float] = field(
        "Hole form factor", "Both arms together / base diameter.",
        soft=Limits(0.2, 1.6, "project choice"),
        upload=("hole_arm_one", "hole_arm_two", "hole_base_diameter"),
        source="Br J Ophthalmol 2002;86:390 (from memory)",
    )  # fmt: skip
    macular_hole_index: Series[float] = field(
        "Macular hole index", "Height / base diameter.", soft=Limits(0.1, 1.5, "project choice"),
        upload=("hole_height", "hole_base_diameter"),
        source="Am J Ophthalmol 2004 (from memory)",
    )  # fmt: skip
    tractional_hole_index: Series[float] = field(
        "Tractional hole index", "Height / minimum diameter.",
        soft=Limits(0.2, 3, "project choice"), upload=("hole_height", "hole_min_diameter"),
        source="Br J Ophthalmol 2008;92:640",
    )  # fmt: skip
    diameter_hole_index: Series[float] = field(
        "Diameter hole index", "Minimum diameter / base diameter.",
        soft=Limits(0.1, 1, "project choice"), upload=("hole_min_diameter", "hole_base_diameter"),
        source="Br J Ophthalmol 2008;92:640",
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
        source="project choice of terms",
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
        "Graft diameter",
        "Trephine or measured diameter of the graft; of an oval one the geometric mean of its "
        "two diameters.", unit="um",
        hard=Limits(200, 8000, "project choice"), soft=Limits(500, 4000, "project choice"),
        required=Required("ask", when="graft_material", codes=("autologous_retina",)),
        upload="graft_diameter", reads="diameter",
        source="geometric mean of an oval's two diameters: arithmetic, the circle of the same area",
    )  # fmt: skip
    graft_second_diameter_um: Series[float] = field(
        "Second graft diameter", "The other diameter of an oval graft.", unit="um",
        hard=Limits(200, 8000, "project choice"), soft=Limits(500, 4000, "project choice"),
        upload=("graft_second_diameter", "graft_diameter"), reads="number", is_seldom=True,
    )  # fmt: skip
    graft_diameter_nominal: Series[pd.BooleanDtype] = field(
        "Graft diameter nominal",
        "True where the graft's diameter was given in disc diameters, whose size differs from eye "
        "to eye.", upload="graft_diameter",
    )  # fmt: skip
    graft_oversize_min_pct: Series[float] = field(
        "Oversize against the minimum diameter",
        "100 x (graft diameter / hole minimum diameter - 1). A graft cut about 15 % larger than "
        "the hole is common practice, no source.", unit="%",
        hard=Limits(-95, 1000, "project choice"), soft=Limits(-95, 200, "project choice"),
        upload=("graft_diameter", "hole_min_diameter"),
        source=OVERSIZE,
    )  # fmt: skip
    graft_oversize_min_area_pct: Series[float] = field(
        "Oversize in area against the minimum diameter",
        "100 x ((graft diameter / hole minimum diameter)^2 - 1).", unit="%",
        upload=("graft_diameter", "hole_min_diameter"),
        source="arithmetic",
    )  # fmt: skip
    graft_oversize_base_pct: Series[float] = field(
        "Oversize against the base diameter",
        "100 x (graft diameter / hole base diameter - 1). The same graft can be larger than the "
        "minimum and smaller than the base diameter.", unit="%",
        hard=Limits(-95, 1000, "project choice"),
        upload=("graft_diameter", "hole_base_diameter"),
        source=OVERSIZE,
    )  # fmt: skip
    graft_oversize_base_area_pct: Series[float] = field(
        "Oversize in area against the base diameter",
        "100 x ((graft diameter / hole base diameter)^2 - 1).", unit="%",
        upload=("graft_diameter", "hole_base_diameter"),
        source="arithmetic",
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
        hard=Limits(1, 100, "a share"),
        required=Required("ask", when="tamponade", codes=codes.GASES),
        upload=("tamponade_pct", "tamponade", "technique"), reads="number",
        source="usual range of each gas among the conventions, from memory",
    )  # fmt: skip
    tamponade_viscosity_cst: Series[float] = field(
        "Oil viscosity", "Kinematic viscosity of the silicone oil.", unit="cSt",
        hard=Limits(100, 20000, "project choice"),
        soft=Limits(1000, 5700, "oils for the eye, from memory"),
        upload=("tamponade_viscosity", "tamponade", "technique"), reads="number",
        source="mPa s is read as cSt, as it is commonly written: from memory",
    )  # fmt: skip
    stages: Series[pd.Int64Dtype] = field(
        "Stages",
        "Planned operations of which the technique consists: a liquid left in for days and "
        "exchanged is a second one, a planned removal of oil a further one. Typed, or counted "
        "from the technique.",
        hard=Limits(1, 5, "project choice"), upload=("stages", "technique"), reads="integer",
        source="project choice",
    )  # fmt: skip
    posture: Series[str] = field(
        "Posture", "How the head was held after the operation.", codes=codes.POSTURE,
        upload=("posture", "technique"), reads="posture",
    )  # fmt: skip
    posture_days: Series[pd.Int64Dtype] = field(
        "Days of posture", "Days for which the posture was held.", unit="day",
        hard=Limits(0, 120, "project choice"), soft=Limits(0, 30, "project choice"),
        upload=("posture_days", "posture", "technique"), reads="integer",
    )  # fmt: skip
    indication: Series[str] = field(
        "Indication", "Why this operation was chosen.", codes=codes.INDICATION,
        upload="indication", reads="code",
        source="project choice of terms: refractory means persistent in some papers, recurrent "
        "too in others",
    )  # fmt: skip
    primary_closure: Series[str] = field(
        "Primary closure state",
        "Graded state at the study's primary window, before any further macular operation; where "
        "no scan could be graded there, why.",
        codes=codes.CLOSURE, upload=("closure",),
        source="project choice; closure at 3 months in Trials 2015;16",
    )  # fmt: skip
    primary_closure_strict: Series[pd.BooleanDtype] = field(
        "Primary closure, strict",
        "Closed at the study's primary window with no further macular operation before it.",
        upload=("closure",),
        source=CLOSURE,
    )  # fmt: skip
    primary_closure_broad: Series[pd.BooleanDtype] = field(
        "Primary closure, broad", "The same, with flat open holes counted as closed.",
        upload=("closure",),
        source=CLOSURE,
    )  # fmt: skip
    final_closure: Series[str] = field(
        "Final closure state",
        "Graded state at the last gradable visit after the operation; where there is none, why.",
        codes=codes.CLOSURE, upload=("closure",),
        source="project choice",
    )  # fmt: skip
    final_closure_strict: Series[pd.BooleanDtype] = field(
        "Final closure, strict",
        "Closed at the last gradable visit, after any number of operations.", upload=("closure",),
        source=CLOSURE,
    )  # fmt: skip
    final_closure_broad: Series[pd.BooleanDtype] = field(
        "Final closure, broad", "The same, with flat open holes counted as closed.",
        upload=("closure",),
        source=CLOSURE,
    )  # fmt: skip
    reopened: Series[pd.BooleanDtype] = field(
        "Reopened",
        "Graded open after a scan graded closed, with no further macular operation between.",
        upload=("closure",),
        source="project choice",
    )  # fmt: skip
    reopened_day: Series[pd.Int64Dtype] = field(
        "Day of reopening", "Days from the operation to the first scan graded open again.",
        unit="day", identifier="indirect", upload=("closure",),
    )  # fmt: skip
