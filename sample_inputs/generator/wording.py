"""The words in which centres of five languages write: code to the words that they use."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

Words = Mapping[str, tuple[str, ...]]


@dataclass(frozen=True)
class TechniquePart:
    """A piece of a technique text and the codes that it stands for."""

    text: str
    means: Mapping[str, object]


@dataclass(frozen=True)
class Wording:
    """One centre's words. `parts` gives, by material, the pieces that may follow its name."""

    eye: Words
    sex: Words
    off_chart: Mapping[str, str]
    closure: Words
    technique: Words
    tamponade: Words
    lens: Words
    indication: Words
    yes_no: tuple[str, str]
    parts: Mapping[str, tuple[TechniquePart, ...]]
    bands: Words
    joint: str = ", "


def part(text: str, **means: object) -> TechniquePart:
    """A piece of a technique text with the codes that it stands for."""
    return TechniquePart(text, means)


ENGLISH = Wording(
    eye={"right": ("OD", "R", "right"), "left": ("OS", "L", "left")},
    sex={"female": ("F", "female"), "male": ("M", "male")},
    off_chart={"counting_fingers": "CF", "hand_motion": "HM", "light_perception": "LP"},
    closure={
        "closed_retinal_bridging": ("closed, retinal bridging", "type 1"),
        "closed_graft_in_place": ("closed with graft in place",),
        "closed_unspecified": ("closed", "Closed"),
        "flat_open": ("flat open", "W-type"),
        "elevated_open": ("elevated open",),
        "open_unspecified": ("open",),
        "not_gradable": ("not gradable",),
    },
    technique={
        "autologous_retina": ("ART", "retinal autograft", "autologous retinal graft"),
        "ilm_free_flap": ("free ILM flap",),
        "amniotic_membrane": ("hAM plug", "amniotic membrane"),
        "none_repeat_peel": ("repeat peel", "extended ILM peel"),
        "lens_capsule": ("lens capsule flap",),
    },
    tamponade={
        "sf6": ("SF6",), "c3f8": ("C3F8",), "silicone_oil": ("silicone oil", "SO"), "air": ("air",),
    },
    lens={"phakic": ("phakic",), "pseudophakic": ("IOL", "pseudophakic"), "aphakic": ("aphakic",)},
    indication={
        "persistent": ("persistent", "never closed"),
        "recurrent": ("recurrent", "reopened"),
    },
    yes_no=("yes", "no"),
    parts={
        "autologous_retina": (
            part("trephine", harvest_method="trephine"),
            part("scissors", harvest_method="scissors"),
            part("under PFCL", pfcl_use="intraoperative"),
            part("endolaser", donor_laser="during_surgery"),
        ),
        "amniotic_membrane": (part("tissue bank", harvest_method="tissue_bank"),),
        "ilm_free_flap": (part("with blood", adjunct="autologous_blood"),),
    },
    bands={
        "absent": ("absent",), "disrupted": ("disrupted",), "continuous": ("continuous", "intact"),
    },
)  # fmt: skip

SPANISH = Wording(
    eye={"right": ("OD", "derecho"), "left": ("OI", "izquierdo")},
    sex={"female": ("mujer",), "male": ("hombre",)},
    off_chart={"counting_fingers": "CD", "hand_motion": "MM", "light_perception": "PL"},
    closure={
        "closed_retinal_bridging": ("cerrado tipo 1",),
        "closed_graft_in_place": ("cerrado con injerto",),
        "closed_unspecified": ("cerrado",),
        "flat_open": ("abierto plano",),
        "elevated_open": ("abierto elevado",),
        "open_unspecified": ("abierto",),
        "not_gradable": ("no valorable",),
    },
    technique={
        "amniotic_membrane": ("membrana amniótica", "injerto de membrana amniótica", "MAH"),
        "ilm_free_flap": ("colgajo libre de MLI",),
        "autologous_retina": ("trasplante autólogo de retina",),
    },
    tamponade={"sf6": ("SF6",), "c3f8": ("C3F8",), "air": ("aire",),
               "silicone_oil": ("aceite de silicona",)},
    lens={"phakic": ("fáquico",), "pseudophakic": ("pseudofáquico",)},
    indication={"persistent": ("persistente",), "recurrent": ("recurrente", "recidivante")},
    yes_no=("sí", "no"),
    parts={
        "amniotic_membrane": (
            part("banco de tejidos", harvest_method="tissue_bank"),
            part("PRP", adjunct="platelet_concentrate"),
        ),
        "ilm_free_flap": (part("con sangre autóloga", adjunct="autologous_blood"),),
    },
    bands={},
    joint=" + ",
)  # fmt: skip

FRENCH = Wording(
    eye={"right": ("OD", "droit"), "left": ("OG", "gauche")},
    sex={"female": ("F", "femme"), "male": ("H", "homme")},
    off_chart={"counting_fingers": "CLD", "hand_motion": "VBM", "light_perception": "PL"},
    closure={
        "closed_retinal_bridging": ("fermé type 1",),
        "closed_graft_in_place": ("fermé avec greffon en place",),
        "closed_unspecified": ("fermé",),
        "flat_open": ("ouvert à bords plats",),
        "elevated_open": ("ouvert à bords surélevés",),
        "open_unspecified": ("ouvert",),
        "not_gradable": ("non interprétable",),
    },
    technique={
        "lens_capsule": ("capsule du cristallin", "greffe capsulaire"),
        "none_repeat_peel": ("repelage de MLI", "pelage élargi"),
        "ilm_free_flap": ("lambeau libre de MLI", "greffe de MLI"),
    },
    tamponade={"sf6": ("SF6",), "c2f6": ("C2F6",), "air": ("air",),
               "silicone_oil": ("huile de silicone",)},
    lens={"phakic": ("phaque",), "pseudophakic": ("pseudophaque",)},
    indication={"persistent": ("persistant",), "recurrent": ("récidivant", "récidive")},
    yes_no=("oui", "non"),
    parts={
        "lens_capsule": (part("sang autologue", adjunct="autologous_blood"),),
        "ilm_free_flap": (part("sous PFCL", pfcl_use="intraoperative"),),
    },
    bands={},
)  # fmt: skip

GERMAN = Wording(
    eye={"right": ("RA", "rechts"), "left": ("LA", "links")},
    sex={"female": ("w",), "male": ("m",)},
    off_chart={"counting_fingers": "FZ", "hand_motion": "HBW", "light_perception": "LS"},
    closure={
        "closed_retinal_bridging": ("geschlossen Typ 1",),
        "closed_graft_in_place": ("geschlossen mit Transplantat",),
        "closed_unspecified": ("geschlossen",),
        "flat_open": ("flach offen",),
        "elevated_open": ("offen mit angehobenen Rändern",),
        "open_unspecified": ("offen",),
        "not_gradable": ("nicht beurteilbar",),
    },
    technique={
        "ilm_free_flap": ("freier ILM-Flap", "ILM-Transplantat"),
        "amniotic_membrane": ("Amnionmembran", "humane Amnionmembran"),
    },
    tamponade={"sf6": ("SF6",), "c3f8": ("C3F8",), "air": ("Luft",),
               "silicone_oil": ("Silikonöl",)},
    lens={"phakic": ("phak",), "pseudophakic": ("pseudophak",)},
    indication={"persistent": ("persistierend",), "recurrent": ("Rezidiv",)},
    yes_no=("ja", "nein"),
    parts={
        "ilm_free_flap": (
            part("mit Eigenblut", adjunct="autologous_blood"),
            part("unter PFCL", pfcl_use="intraoperative"),
        ),
        "amniotic_membrane": (part("Gewebebank", harvest_method="tissue_bank"),),
    },
    bands={},
)  # fmt: skip

PORTUGUESE = Wording(
    eye={"right": ("OD", "direito"), "left": ("OE", "esquerdo")},
    sex={"female": ("feminino",), "male": ("masculino",)},
    off_chart={"counting_fingers": "CD", "hand_motion": "MM", "light_perception": "PL"},
    closure={
        "closed_retinal_bridging": ("fechado tipo 1",),
        "closed_unspecified": ("fechado",),
        "flat_open": ("aberto plano",),
        "elevated_open": ("aberto elevado",),
        "open_unspecified": ("aberto",),
        "not_gradable": ("nao avaliavel",),  # typed without accents
    },
    technique={
        "ilm_free_flap": ("retalho livre de MLI", "enxerto de MLI"),
        "none_repeat_peel": ("repelagem de MLI", "peeling ampliado"),
    },
    tamponade={"sf6": ("SF6",), "c3f8": ("C3F8",), "air": ("ar",),
               "silicone_oil": ("óleo de silicone",)},
    lens={"phakic": ("fáquico",), "pseudophakic": ("pseudofáquico",)},
    indication={"persistent": ("persistente",), "recurrent": ("recorrente",)},
    yes_no=("sim", "não"),
    parts={
        "ilm_free_flap": (
            part("com sangue autólogo", adjunct="autologous_blood"),
            part("sob PFCL", pfcl_use="intraoperative"),
        ),
    },
    bands={},
)  # fmt: skip
