"""Technique and tamponade texts to codes: what is read, asked about, and never guessed."""

from __future__ import annotations

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.codebook import table_fields
from schemas.codes import GASES
from transforms.harmonise.notes.technique import (
    NUMBERS,
    TECHNIQUE_FIELDS,
    read_tamponade,
    read_technique,
)

ART = {"graft_material": "autologous_retina"}
FREE_FLAP = {"graft_material": "ilm_free_flap"}
INVERTED = {"graft_material": "ilm_inverted_flap"}
AMNION = {"graft_material": "amniotic_membrane"}
CAPSULE = {"graft_material": "lens_capsule"}
REPEEL = {"graft_material": "none_repeat_peel"}

PFCL = {"pfcl_use": "intraoperative"}
NO_PFCL = {"pfcl_use": "none"}
NO_VISCO = {"viscoelastic": "none"}
NO_BLOOD = {"adjunct": "none"}
NO_LASER = {"donor_laser": "none"}
ENDOLASER = {"donor_laser": "during_surgery"}
BLOOD = {"adjunct": "autologous_blood"}
PLATELETS = {"adjunct": "platelet_concentrate"}
PUNCH = {"harvest_method": "trephine"}
BLEB = {"harvest_method": "bleb_and_scissors"}
BANK = {"harvest_method": "tissue_bank"}
OIL = {"tamponade": "silicone_oil"}
AIR = {"tamponade": "air"}

REST = {"problem": "words_left_over"}
TWO = {"problem": "word_ambiguous"}
UNKNOWN = {"problem": "word_unknown"}


def gas(agent: str, per_cent: float | None = None) -> dict[str, object]:
    return {"tamponade": agent} | ({} if per_cent is None else {"tamponade_pct": per_cent})


def oil(viscosity: float) -> dict[str, object]:
    return OIL | {"tamponade_viscosity_cst": viscosity}


def read(text: str, language: str) -> dict[str, object]:
    """What a technique text gives; stages and what findings tell have tests of their own."""
    row = filled(read_technique(pd.Series([text]), language))
    return {name: value for name, value in row.items() if name not in ("stages", "told")}


def read_filling(text: str, language: str) -> dict[str, object]:
    row = filled(read_tamponade(pd.Series([text]), language))
    return {name: value for name, value in row.items() if name != "told"}


def filled(frame: pd.DataFrame) -> dict[str, object]:
    return {name: value for name, value in frame.iloc[0].items() if not pd.isna(value)}


ENGLISH = [
    ("ART", ART),
    ("retinal autograft", ART),
    ("Autologous neurosensory retinal free flap", ART),
    ("hAM plug", AMNION),
    ("AM", AMNION),
    ("ILM inverted flap", INVERTED),
    ("retracting door", {"graft_material": "ilm_retracting_door"}),
    ("LCF", CAPSULE),
    ("extended ILM peel", REPEEL),
    ("other", {"graft_material": "other"}),  # alone in the column, it answers the heading
    ("free ILM flap with blood, 20% SF6", FREE_FLAP | BLOOD | gas("sf6", 20)),
    ("ART, trephine, under PFCL, endolaser", ART | PUNCH | PFCL | ENDOLASER),
    ("ART / 1.5 mm punch / SO 5000", ART | PUNCH | oil(5000)),
    ("ART 1.5 x 2 mm, silicone oil 1000 cSt", ART | oil(1000)),
    ("23G PPV + ILM peel + ART + C3F8-14", ART | gas("c3f8", 14)),
    ("ART: subretinal bleb, cut with scissors", ART | BLEB),
    ("ART, PFCL-oil exchange", ART | OIL | {"pfcl_use": "direct_oil_exchange"}),
    (
        "ART, PFCL left in situ",
        ART | {"pfcl_use": "short_term", "tamponade": "pfcl"},
    ),
    ("fluid-air exchange, hAM, SF6 0.20", AMNION | gas("sf6", 20)),
    ("ART under air, then C3F8 (14%)", ART | gas("c3f8", 14)),
    ("oil removal + free ILM flap + SF6 20 %", FREE_FLAP | gas("sf6", 20)),
    ("ART, Viscoat, Densiron 68", ART | {"viscoelastic": "dispersive", "tamponade": "heavy_oil"}),
    ("viscoelastic: yes; hAM", AMNION | {"viscoelastic": "used_unspecified"}),
    ("ART, preoperative laser", ART | {"donor_laser": "before_surgery"}),
]

SPANISH = [
    ("trasplante autólogo de retina", ART),
    ("Injerto de membrana amniótica", AMNION),
    ("MAH", AMNION),
    ("membrana amniótica + banco de tejidos + PRP", AMNION | BANK | PLATELETS),
    ("colgajo libre de MLI + con sangre autóloga + SF6 20%", FREE_FLAP | BLOOD | gas("sf6", 20)),
    ("VPP y colgajo invertido de MLI, aire", INVERTED | AIR),
    ("cápsula del cristalino, C3F8 al 14 %", CAPSULE | gas("c3f8", 14)),
    ("pelado ampliado de MLI, sin taponamiento", REPEEL | {"tamponade": "none"}),
    ("ART para AM, bajo PFCL", ART | PFCL),  # AM is the hole here
    ("trasplante de retina sin PFCL ni viscoelástico", ART | NO_PFCL | NO_VISCO),
    ("MAH, sin láser, aceite de silicona", AMNION | NO_LASER | OIL),
]

FRENCH = [
    ("greffe de rétine autologue", ART),
    ("GREFFON RETINIEN, endolaser", ART | ENDOLASER),
    ("lambeau libre de MLI, sous PFCL", FREE_FLAP | PFCL),
    ("volet inversé, air", INVERTED | AIR),
    ("capsule du cristallin, sang autologue", CAPSULE | BLOOD),
    ("repelage de MLI, C2F6 16 %", REPEEL | gas("c2f6", 16)),
    ("membrane amniotique, pas de laser, huile de silicone", AMNION | NO_LASER | OIL),
    ("greffe de MLI sans PFCL ni sang", FREE_FLAP | NO_PFCL | NO_BLOOD),
]

GERMAN = [
    ("Netzhauttransplantat", ART),
    ("freier ILM-Flap mit Eigenblut", FREE_FLAP | BLOOD),
    ("Amnionmembran, Gewebebank, Luft", AMNION | BANK | AIR),
    ("ART, 1,5-mm-Stanze, unter PFCL, Silikonöl 5000", ART | PUNCH | PFCL | oil(5000)),
    ("ppV, erweitertes ILM-Peeling, SF6 20%", REPEEL | gas("sf6", 20)),
    ("ILM-Transplantat ohne PFCL und ohne Laser", FREE_FLAP | NO_PFCL | NO_LASER),
    ("Linsenkapsel; Eigenblut: nein; keine Tamponade", CAPSULE | NO_BLOOD | {"tamponade": "none"}),
    ("C3F8 0,14, Amnion", AMNION | gas("c3f8", 14)),
    ("Art der Operation: Amnionmembran", AMNION),
]

PORTUGUESE = [
    ("transplante autólogo de retina", ART),
    ("retalho livre de MLI, sob PFCL, ar", FREE_FLAP | PFCL | AIR),
    ("enxerto de MLI com sangue autólogo, SF6 a 20%", FREE_FLAP | BLOOD | gas("sf6", 20)),
    ("peeling ampliado, óleo de silicone", REPEEL | OIL),
    ("membrana amniótica sem PFCL, sem viscoelástico", AMNION | NO_PFCL | NO_VISCO),
    ("flap invertido e ar", INVERTED | AIR),
]


@pytest.mark.parametrize(("text", "codes"), ENGLISH)
def test_english(text: str, codes: dict[str, object]):
    assert read(text, "en") == codes


@pytest.mark.parametrize(("text", "codes"), SPANISH)
def test_spanish(text: str, codes: dict[str, object]):
    assert read(text, "es") == codes


@pytest.mark.parametrize(("text", "codes"), FRENCH)
def test_french(text: str, codes: dict[str, object]):
    assert read(text, "fr") == codes


@pytest.mark.parametrize(("text", "codes"), GERMAN)
def test_german(text: str, codes: dict[str, object]):
    assert read(text, "de") == codes


@pytest.mark.parametrize(("text", "codes"), PORTUGUESE)
def test_portuguese(text: str, codes: dict[str, object]):
    assert read(text, "pt") == codes


@pytest.mark.parametrize(
    ("text", "codes"),
    [
        ("ART, no PFCL, no viscoelastic, no laser", ART | NO_PFCL | NO_VISCO | NO_LASER),
        ("ART w/o PFCL", ART | NO_PFCL),
        ("ART without PFCL or viscoelastic", ART | NO_PFCL | NO_VISCO),
        (
            "ART without PFCL, viscoelastic or blood",
            ART | NO_PFCL | NO_VISCO | NO_BLOOD,
        ),
        ("neither PFCL nor blood, ART", ART | NO_PFCL | NO_BLOOD),
        ("PFCL: no, laser: no, hAM", AMNION | NO_PFCL | NO_LASER),
        ("hAM, PFCL not used", AMNION | NO_PFCL),
        ("hAM, PFCL (no)", AMNION | NO_PFCL),
        ("hAM, laser (-)", AMNION | NO_LASER),
        ("ART, no complications, air", ART | AIR),
        ("no graft, repeat peel", REPEEL),
        ("ART, SF6 20%, no oil", ART | gas("sf6", 20)),
        # "No A and B": the second may be denied, or done.
        ("ART, no PFCL and blood", ART | NO_PFCL | REST),
        ("ART, no PFCL in the hole and blood", ART | NO_PFCL | REST),
        ("ART, no PFCL with air or oil", ART | NO_PFCL | REST),
        ("ART no PFCL air", ART | NO_PFCL | REST),
        ("ART, PFCL, not needed", ART | REST),
        ("ART, no residual PFCL", ART | REST),
        ("no (Viscoat), ART", ART | REST),
        ("ART, no (Viscoat)", UNKNOWN),
        ("PFCL: no viscoelastic: yes, ART", ART | REST),
        # What is not used leaves room for something else of its kind.
        ("ART, no oil", ART | REST),
        ("ART, no preoperative laser", ART | REST),
        ("ART, no blood, PRP", ART | REST),  # platelets, or panretinal photocoagulation
        ("platelets, no blood, ART", ART | PLATELETS),
        ("not ART", UNKNOWN),
        ("no; ART", ART | REST),
    ],
)
def test_negations(text: str, codes: dict[str, object]):
    assert read(text, "en") == codes


@pytest.mark.parametrize(
    ("text", "language", "codes"),
    [
        ("ART and hAM", "en", TWO),
        ("repeat peel + ART", "en", TWO),  # a manoeuvre without tissue beside a tissue
        ("ART, no graft", "en", TWO),
        ("ILM-Transplantat, Amnionmembran, Luft", "de", AIR | TWO),
        ("ART, SF6 / C3F8", "en", ART | TWO),
        ("MAH, aire o aceite", "es", AMNION | REST),
        ("ART, punch, bleb", "en", ART | TWO),
        ("hAM, Healon, no viscoelastic", "en", AMNION | TWO),
        ("ART, endolaser, no laser", "en", ART | TWO),
        ("ART, no tamponade, oil", "en", ART | TWO),
        ("repeat peel, subretinal bleb, air", "en", AIR | TWO),  # no graft, so no harvest
        ("ART, eye bank, air", "en", AIR | TWO),  # the patient's own tissue
    ],
)
def test_contradictions_leave_their_field_empty_and_keep_the_others(
    text: str, language: str, codes: dict[str, object]
):
    assert read(text, language) == codes


@pytest.mark.parametrize(
    ("text", "language", "codes"),
    [
        ("flap", "en", UNKNOWN),
        ("ILM flap", "en", UNKNOWN),  # free, or hinged?
        ("gas", "en", UNKNOWN),
        ("PPV, ILM peel", "en", UNKNOWN),  # a first peel is no technique for a hole that failed
        ("AM", "es", UNKNOWN),
        ("ART, AM", "fr", ART | REST),
        ("Netzhauttransplantat am Rand", "de", ART | REST),
        ("ART, no usado", "fr", ART | REST),  # what was not used?
        ("ART, oil 12", "en", ART | OIL | REST),
        ("ART?", "en", UNKNOWN),
        ("ART planned", "en", UNKNOWN),
        ("failed inverted flap, now ART", "en", ART | REST),
        ("Z.n. ILM-Flap; Netzhauttransplantat", "de", ART | REST),
        ("après échec du volet inversé, greffe de rétine", "fr", ART | REST),
        ("ART frobnicated", "en", ART | REST),
        ("ART, laser", "en", ART | REST),  # when?
        ("ART, intraop", "en", ART | REST),  # what?
        ("ART, PFCL", "en", ART | REST),  # a tool, or left in the eye?
        ("ART, PFCL, oil", "en", ART | OIL | REST),  # exchanged directly, or taken out first?
        ("ART, PFCL, C3F8", "en", ART | PFCL | gas("c3f8")),  # no gas goes over PFCL left in
        ("ART, PRP", "en", ART | REST),
        ("ART, C3F8, SO removal at 3 months", "en", ART | gas("c3f8") | REST),
    ],
)
def test_what_is_not_plain_is_asked_about_and_not_guessed(
    text: str, language: str, codes: dict[str, object]
):
    assert read(text, language) == codes


@pytest.mark.parametrize(
    ("text", "language", "codes"),
    [
        ("SF6", "en", gas("sf6")),
        ("SF6 20%", "en", gas("sf6", 20)),
        ("20%SF6", "en", gas("sf6", 20)),
        ("20 % SF-6", "en", gas("sf6", 20)),
        ("SF₆, 20 %", "en", gas("sf6", 20)),
        ("C3F8-14", "en", gas("c3f8", 14)),
        ("C3F8 14,5 %", "de", gas("c3f8", 14.5)),
        ("SF6 0.20", "en", gas("sf6", 20)),
        ("SF6 0,2", "es", gas("sf6", 20)),
        ("gaz SF6 à 20 %", "fr", gas("sf6", 20)),
        ("SF6-air mixture 20%", "en", gas("sf6", 20)),
        ("120% SF6", "en", gas("sf6", 120)),  # the limits of the codebook judge it
        ("0.5 ml SF6", "en", gas("sf6")),
        ("SF6 20-25%", "en", gas("sf6") | REST),
        ("SF6 ~20%", "en", gas("sf6") | REST),
        ("SF6 1", "en", gas("sf6") | REST),  # one per cent, or all of it?
        ("20 SF6", "en", gas("sf6") | REST),
        ("SF6 20%, 15% larger", "en", gas("sf6", 20) | REST),
        ("silicone oil 20%", "en", OIL | REST),
        ("Silikonöl 5000 mPas", "de", oil(5000)),
        ("5000 oil", "en", oil(5000)),
        ("SO", "en", OIL),
        ("SO", "es", UNKNOWN),
        ("Luft", "de", AIR),
        ("ar", "pt", AIR),
        ("none", "en", {"tamponade": "none"}),
        ("nein", "de", {"tamponade": "none"}),
        ("sans tamponnement", "fr", {"tamponade": "none"}),
        ("PFCL", "en", {"tamponade": "pfcl"}),
        ("heavy silicone oil", "en", {"tamponade": "heavy_oil"}),
        ("SF6 / C3F8", "en", TWO),
        ("air then oil", "en", TWO),
        ("gas", "en", UNKNOWN),
        ("SF6?", "en", UNKNOWN),
        ("SF6, later oil", "en", gas("sf6") | REST),
    ],
)
def test_tamponade_cells(text: str, language: str, codes: dict[str, object]):
    assert read_filling(text, language) == codes


def test_empty_texts_have_neither_codes_nor_a_problem():
    texts = pd.Series([None, "", "  ", float("nan")], index=[7, 3, 5, 9], dtype="object")
    for frame in (read_technique(texts, "en"), read_tamponade(texts, "en")):
        assert frame.isna().all(axis=None)
        assert list(frame.index) == [7, 3, 5, 9]


def test_columns_are_those_of_the_codebook_and_codes_are_its_codes():
    texts = pd.Series([text for text, _ in ENGLISH])
    frame = read_technique(texts, "en")
    assert list(frame.columns) == [*TECHNIQUE_FIELDS, *NUMBERS, "told", "problem"]
    for name in TECHNIQUE_FIELDS:
        allowed = table_fields("operations")[name].codes
        assert allowed is not None
        assert set(frame[name].dropna()) <= allowed.keys()


WORDS = st.sampled_from(
    ["ART", "hAM", "no", "without", "PFCL", "laser", "blood", "or", "and", "with", "SF6", "20%",
     "0.2", "oil", "5000", ",", ";", "(", ")", "-", "+", ":", "?", "~", "zzz", "not used", "%"]
)  # fmt: skip


@given(st.one_of(st.text(max_size=40), st.lists(WORDS, max_size=9).map(" ".join)))
def test_any_text_is_read_and_every_null_row_has_its_reason(text: str):
    codes = read(text, "en")
    if "tamponade_pct" in codes:
        assert codes["tamponade"] in GASES
    assert codes or not text.strip()


@given(st.lists(WORDS, max_size=6).map(" ".join))
def test_a_text_says_the_same_in_capitals(text: str):
    assert read(text.upper(), "en") == read(text, "en")
