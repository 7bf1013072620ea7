"""Code lists: the closed vocabularies of the coded fields, each code with its meaning.

The words by which spreadsheets name these codes stand in `schemas/vocabularies/`.
"""

from __future__ import annotations


class CodeList(dict[str, str]):
    """Code to meaning; `name` is also the name of the vocabulary file with the words."""

    def __init__(self, name: str, meanings: dict[str, str]) -> None:
        super().__init__(meanings)
        self.name = name


EYE = CodeList("eye", {"right": "Right eye", "left": "Left eye"})

SEX = CodeList("sex", {"female": "Female", "male": "Male", "other": "Recorded as another term"})

INDICATION = CodeList(
    "indication",
    {
        "persistent": "The hole never closed after standard surgery",
        "recurrent": "The hole closed after surgery and opened again",
        "primary_large": "First operation on a large hole",
        "myopic": "Hole in a highly myopic eye",
        "with_detachment": "Hole with retinal detachment",
        "traumatic": "Hole after trauma",
        "other": "Another indication",
    },
)

HOLE_CAUSE = CodeList(
    "hole_cause",
    {
        "idiopathic": "No cause found",
        "myopic": "High myopia",
        "traumatic": "Trauma",
        "secondary": "Secondary to other retinal disease",
        "other": "Another cause",
    },
)

LENS_STATUS = CodeList(
    "lens_status",
    {
        "phakic": "Natural lens in place",
        "pseudophakic": "Artificial lens in place",
        "aphakic": "No lens",
    },
)

GRAFT_MATERIAL = CodeList(
    "graft_material",
    {
        "autologous_retina": "Free graft of the patient's own neurosensory retina",
        "ilm_free_flap": "Free flap of internal limiting membrane",
        "ilm_inverted_flap": "Hinged (inverted) flap of internal limiting membrane",
        "ilm_retracting_door": "Retracting-door flap of internal limiting membrane",
        "amniotic_membrane": "Human amniotic membrane",
        "lens_capsule": "Lens capsule flap",
        "none_repeat_peel": "No graft: repeated or enlarged peel of the limiting membrane",
        "none_hydrodissection": "No graft: subretinal fluid injection to free the hole's edges",
        "none_edge_massage": "No graft: massage or relaxing of the hole's edges",
        "other": "Another material or manoeuvre",
    },
)

NO_TISSUE = frozenset(code for code in GRAFT_MATERIAL if code.startswith("none_"))

HARVEST_METHOD = CodeList(
    "harvest_method",
    {
        "trephine": "Trephine or punch of known diameter",
        "scissors": "Cut freehand with scissors",
        "bleb_and_scissors": "Subretinal bleb raised, then cut with scissors",
        "diathermy_outlined": "Outlined with diathermy, then cut",
        "forceps_peel": "Peeled with forceps",
        "tissue_bank": "Supplied by a tissue bank",
        "other": "Another method",
    },
)

DONOR_REGION = CodeList(
    "donor_region",
    {
        "superotemporal": "Superotemporal retina",
        "superonasal": "Superonasal retina",
        "inferotemporal": "Inferotemporal retina",
        "inferonasal": "Inferonasal retina",
        "nasal": "Nasal retina",
        "temporal": "Temporal retina",
        "superior": "Superior retina",
        "inferior": "Inferior retina",
        "macular": "Inside the vascular arcades",
        "other": "Another region, or tissue from elsewhere",
    },
)

GRAFT_SIZE_REFERENCE = CodeList(
    "graft_size_reference",
    {
        "minimum_diameter": "Cut against the hole's minimum diameter",
        "base_diameter": "Cut against the hole's base diameter",
        "inner_opening": "Cut against the opening on the vitreous side",
        "estimate": "Judged by eye",
    },
)

PFCL_USE = CodeList(
    "pfcl_use",
    {
        "none": "Not used",
        "intraoperative": "During the operation only",
        "short_term": "Left in for days as a tamponade, then exchanged",
        "direct_oil_exchange": "Exchanged directly for silicone oil",
    },
)

VISCOELASTIC = CodeList(
    "viscoelastic",
    {
        "none": "Not used",
        "cohesive": "Cohesive",
        "dispersive": "Dispersive",
        "used_unspecified": "Used, kind not recorded",
    },
)

ADJUNCT = CodeList(
    "adjunct",
    {
        "none": "None",
        "autologous_blood": "Autologous whole blood or clot",
        "autologous_serum": "Autologous serum",
        "platelet_concentrate": "Platelet concentrate or platelet-rich plasma",
        "other": "Another adjunct",
    },
)

DONOR_LASER = CodeList(
    "donor_laser",
    {
        "none": "No laser round the donor site",
        "before_surgery": "Days before the operation",
        "during_surgery": "During the operation",
        "after_surgery": "After the operation",
    },
)

TAMPONADE = CodeList(
    "tamponade",
    {
        "air": "Air",
        "sf6": "Sulphur hexafluoride",
        "c2f6": "Hexafluoroethane",
        "c3f8": "Octafluoropropane",
        "silicone_oil": "Silicone oil",
        "heavy_oil": "Heavier-than-water silicone oil",
        "pfcl": "Perfluorocarbon liquid",
        "none": "No tamponade",
    },
)

GASES = ("sf6", "c2f6", "c3f8")
OILS = ("silicone_oil", "heavy_oil")

POSTURE = CodeList(
    "posture",
    {
        "none": "No posture asked for",
        "face_down": "Face down",
        "supine": "On the back",
        "side": "On one side",
        "upright": "Head up, or sitting",
    },
)

ELECTRODE = CodeList(
    "electrode",
    {
        "fibre": "Thread on the lower lid's margin (DTL)",
        "contact_lens": "Contact lens",
        "foil": "Foil or loop over the lid's margin",
        "skin": "On the skin",
        "other": "Another kind",
    },
)

SIZE_CLASS = CodeList(
    "size_class",
    {
        "small_to_250": "Minimum diameter up to 250 µm",
        "medium_251_400": "Minimum diameter over 250 and up to 400 µm",
        "large_over_400": "Minimum diameter over 400 µm",
    },
)

SIZE_BAND = CodeList(
    "size_band",
    {
        "to_400": "Minimum diameter up to 400 µm",
        "401_500": "Minimum diameter over 400 and up to 500 µm",
        "501_650": "Minimum diameter over 500 and up to 650 µm",
        "651_800": "Minimum diameter over 650 and up to 800 µm",
        "over_800": "Minimum diameter over 800 µm",
    },
)

NOTATION = CodeList(
    "notation",
    {
        "snellen_feet": "Snellen fraction in feet (20/40)",
        "snellen_metres": "Snellen fraction in metres (6/12)",
        "decimal": "Decimal acuity (0.5); tenths (5/10) are read as the quotient they are",
        "logmar": "Logarithm of the minimum angle of resolution (0.3)",
        "letters": "Letter score on the scale where 20/20 is 85",
        "letters_100": "Letter score on the scale where 20/20 is 100",
        "letters_4m": "Letters read at 4 m, with those at 1 m behind a plus where they are under "
        "20 (12+18)",
        "letters_1m": "Letters read at 1 m by an eye that reads none at 4 m",
    },
)

PARTIAL_LINE = CodeList(
    "partial_line",
    {
        "short_of_line": "Letters of the line were missed",
        "beyond_line": "Letters of the next line were read",
    },
)

ACUITY_CORRECTION = CodeList(
    "acuity_correction",
    {
        "corrected": "With correction",
        "uncorrected": "Without correction",
        "pinhole": "Through a pinhole",
        "near": "At reading distance",
    },
)

OFF_CHART = CodeList(
    "off_chart",
    {
        "counting_fingers": "Counting fingers",
        "hand_motion": "Hand motion",
        "light_perception": "Light perception",
        "no_light_perception": "No light perception",
    },
)

# No acuities: any number given to them is a label.
LIGHT_AT_MOST = ("light_perception", "no_light_perception")

CLOSURE = CodeList(
    "closure",
    {
        "closed_retinal_bridging": "Closed: retinal tissue bridges the fovea",
        "closed_graft_in_place": "Closed: the graft fills the hole",
        "closed_graft_absent": "Closed: the graft is gone, the hole stayed closed",
        "closed_unspecified": "Closed, how is not recorded",
        "flat_open": "Edges flat, bare pigment epithelium between them",
        "elevated_open": "Open with raised edges",
        "open_unspecified": "Open, how is not recorded",
        "not_gradable": "Scan made, cannot be graded (gas, oil, media)",
        "not_done": "No scan made",
    },
)
CLOSED_STRICT = tuple(code for code in CLOSURE if code.startswith("closed_"))
CLOSED_BROAD = (*CLOSED_STRICT, "flat_open")
CLOSURE_UNKNOWN = ("not_gradable", "not_done")

BAND_CONTINUITY = CodeList(
    "band_continuity",
    {
        "absent": "Absent at the fovea",
        "disrupted": "Present with gaps",
        "continuous": "Continuous through the fovea",
    },
)

GRAFT_POSITION = CodeList(
    "graft_position",
    {
        "in_place": "Where it was put",
        "partly_displaced": "Partly displaced",
        "dislocated": "Out of the hole",
        "lost": "Not found",
        "absorbed": "No longer visible, hole closed",
    },
)

COMPLICATION = CodeList(
    "complication",
    {
        "graft_dislocation": "Graft displaced after surgery",
        "graft_loss": "Graft lost",
        "hole_reopening": "Hole open again after documented closure",
        "retinal_detachment": "Retinal detachment",
        "proliferative_vitreoretinopathy": "Proliferative vitreoretinopathy",
        "endophthalmitis": "Endophthalmitis",
        "ocular_hypertension": "Raised intraocular pressure that needed treatment",
        "hypotony": "Hypotony",
        "cataract": "Cataract that progressed or was operated on",
        "vitreous_haemorrhage": "Vitreous haemorrhage",
        "choroidal_neovascularisation": "Choroidal neovascularisation",
        "cystoid_oedema": "Cystoid macular oedema",
        "epiretinal_membrane": "Epiretinal membrane",
        "retained_pfcl": "Perfluorocarbon liquid left under the retina",
        "oil_emulsification": "Emulsified silicone oil",
        "other": "Another complication",
    },
)

ACTION = CodeList(
    "action",
    {
        "hold": "The row is kept out of the pool",
        "blank": "The value was set to missing",
        "ask": "The value is used; please confirm",
    },
)

STATE = CodeList(
    "state",
    {
        "open": "Waiting for the centre",
        "fixed": "The rule now passes",
        "confirmed": "The centre answered that the value is right",
        "withdrawn": "The row is gone",
    },
)

UPLOAD_STATUS = CodeList(
    "upload_status",
    {
        "merged": "Read and merged",
        "set_aside": "Could not be taken; the last good upload stays",
    },
)
