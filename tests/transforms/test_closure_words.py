"""The state of the hole in plain words of five languages: the right code, or none."""

from pathlib import Path

import pandas as pd
import pytest
from reading_context import cells, context
from vocabulary_entries import entries

from schemas import codes
from schemas.codes import CLOSED_STRICT
from transforms.harmonise.coded import read_code

ENTRIES = entries(Path(codes.__file__).parent / "vocabularies" / "closure.toml")


def read(text, language):
    """The code, else the rule that the cell breaks."""
    found = read_code(cells(text), context("visit", "closure", language=language)).iloc[0]
    return found["problem"] if pd.isna(found["closure"]) else found["closure"]


BRIDGED = "closed_retinal_bridging"
GRAFT = "closed_graft_in_place"
GONE = "closed_graft_absent"
CLOSED = "closed_unspecified"
FLAT = "flat_open"
RAISED = "elevated_open"
OPEN = "open_unspecified"
UNGRADED = "not_gradable"
NO_SCAN = "not_done"
UNKNOWN = "word_unknown"
AMBIGUOUS = "word_ambiguous"

PHRASES = {
    "en": [
        ("Closed", CLOSED),
        ("MH closed", CLOSED),
        ("hole closed.", CLOSED),
        ("Flat/closed", CLOSED),
        ("remains closed", CLOSED),
        ("Type 1", BRIDGED),
        ("closed (type I)", BRIDGED),
        ("closed, type 1", BRIDGED),
        ("U-shaped", BRIDGED),
        ("V shape", BRIDGED),
        ("Closed - graft in place", GRAFT),
        ("closed, graft integrated", GRAFT),
        ("closed with amniotic membrane", GRAFT),
        ("Type 2 (filling tissue)", GRAFT),
        ("closed, graft lost", GONE),
        ("closed despite graft loss", GONE),
        ("Flat/open", FLAT),
        ("open flat", FLAT),
        ("Open, flat edges", FLAT),
        ("W-shaped", FLAT),
        ("type 2 (flat open)", FLAT),
        ("flat edges, bare RPE", FLAT),
        ("Elevated/open", RAISED),
        ("open with cuff of fluid", RAISED),
        ("raised edges", RAISED),
        ("open", OPEN),
        ("NOT CLOSED", OPEN),
        ("not closed.", OPEN),
        ("hole persists", OPEN),
        ("did not close", OPEN),
        ("failed to close", OPEN),
        ("no closure", OPEN),
        ("re-opened", OPEN),
        ("not gradable (gas)", UNGRADED),
        ("ungradable (oil)", UNGRADED),
        ("no view", UNGRADED),
        ("OCT not done", NO_SCAN),
        ("not imaged", NO_SCAN),
        ("closed?", UNKNOWN),
        ("? open", UNKNOWN),
        ("not open", UNKNOWN),
        ("partially closed", UNKNOWN),
        ("almost closed", UNKNOWN),
        ("closed flat", UNKNOWN),
        ("bare RPE", UNKNOWN),
        ("graft in place", UNKNOWN),
        ("graft lost", UNKNOWN),
        ("closed under oil", UNKNOWN),
        ("closed/open", UNKNOWN),
        ("closed then reopened", UNKNOWN),
        ("gas", UNKNOWN),
        ("success", UNKNOWN),
        ("failed", UNKNOWN),
        ("open under oil", UNKNOWN),
        ("FTMH", UNKNOWN),
        ("residual hole", OPEN),
        ("recurrent MH", OPEN),
        ("remained open", OPEN),
        ("FTMH open", OPEN),
        ("never closed", OPEN),
        ("open with SRF", OPEN),
        ("graft dislocated, open", OPEN),
        ("open, graft in situ", OPEN),
        ("closed, no SRF", CLOSED),
        ("no hole", CLOSED),
        ("Type 2", AMBIGUOUS),
        ("closed type II", AMBIGUOUS),
        ("type 2 closure", AMBIGUOUS),
    ],
    "es": [
        ("Cerrado", CLOSED),
        ("agujero cerrado", CLOSED),
        ("AM cerrado", CLOSED),
        ("sigue cerrado", CLOSED),
        ("cierre tipo 1", BRIDGED),
        ("cerrado en U", BRIDGED),
        ("cerrado con injerto en posición", GRAFT),
        ("cerrado con membrana amniotica", GRAFT),
        ("cerrado, injerto perdido", GONE),
        ("abierto plano", FLAT),
        ("bordes planos con EPR expuesto", FLAT),
        ("abierto con bordes elevados", RAISED),
        ("abierto", OPEN),
        ("NO CERRADO", OPEN),
        ("no se cerró", OPEN),
        ("agujero no cerrado", OPEN),
        ("sin cierre", OPEN),
        ("persiste el agujero", OPEN),
        ("reabierto", OPEN),
        ("no valorable por gas", UNGRADED),
        ("no valorable (aceite)", UNGRADED),
        ("no realizado", NO_SCAN),
        ("sin OCT", NO_SCAN),
        ("no cierra", OPEN),
        ("no hay cierre", OPEN),
        ("reapertura", OPEN),
        ("abierto, injerto dislocado", OPEN),
        ("no hay agujero", CLOSED),
        ("cierre completo del agujero", CLOSED),
        ("fracaso", UNKNOWN),
        ("no abierto", UNKNOWN),
        ("parcialmente cerrado", UNKNOWN),
        ("injerto en su sitio", UNKNOWN),
        ("cierre tipo 2", AMBIGUOUS),
        ("no", UNKNOWN),
    ],
    "fr": [
        ("Fermé", CLOSED),
        ("trou refermé", CLOSED),
        ("reste fermé", CLOSED),
        ("fermeture de type 1", BRIDGED),
        ("fermé en V", BRIDGED),
        ("fermé, greffon en place", GRAFT),
        ("comblé par le greffon", GRAFT),
        ("fermé, greffon résorbé", GONE),
        ("ouvert à bords plats", FLAT),
        ("bords plats, EP à nu", FLAT),
        ("ouvert, bords surélevés", RAISED),
        ("ouvert", OPEN),
        ("Non fermé", OPEN),
        ("pas fermé", OPEN),
        ("ne s'est pas fermé", OPEN),
        ("pas de fermeture", OPEN),
        ("échec de fermeture", OPEN),
        ("persistance du trou", OPEN),
        ("non evaluable sous silicone", UNGRADED),
        ("ininterprétable (gaz)", UNGRADED),
        ("pas d'OCT", NO_SCAN),
        ("non réalisé", NO_SCAN),
        ("non ouvert", UNKNOWN),
        ("presque fermé", UNKNOWN),
        ("greffon en place", UNKNOWN),
        ("fermeture de type 2", AMBIGUOUS),
        ("échec", UNKNOWN),
        ("trou résiduel", OPEN),
        ("jamais fermé", OPEN),
        ("ouvert avec liquide sous-rétinien", OPEN),
        ("plus de trou", CLOSED),
        ("fermeture complète du trou", CLOSED),
    ],
    "de": [
        ("geschlossen", CLOSED),
        ("zu", CLOSED),
        ("Foramen zu", CLOSED),
        ("Makulaforamen geschlossen", CLOSED),
        ("Verschluss Typ 1", BRIDGED),
        ("U-förmig geschlossen", BRIDGED),
        ("geschlossen, Transplantat liegt", GRAFT),
        ("Foramen durch Transplantat verschlossen", GRAFT),
        ("geschlossen ohne Transplantat", GONE),
        ("flach offen", FLAT),
        ("anliegende Ränder mit freiliegendem RPE", FLAT),
        ("offen mit abgehobenen Raendern", RAISED),
        ("offen mit abgehobenen Rändern", RAISED),
        ("offen, Randabhebung", RAISED),
        ("offen", OPEN),
        ("nicht geschlossen", OPEN),
        ("Foramen nicht geschlossen", OPEN),
        ("kein Verschluss", OPEN),
        ("nicht zu", OPEN),
        ("Foramen persistiert", OPEN),
        ("wiedereröffnet", OPEN),
        ("nicht beurteilbar (Öl)", UNGRADED),
        ("kein Einblick", UNGRADED),
        ("kein OCT", NO_SCAN),
        ("nicht durchgeführt", NO_SCAN),
        ("offen, Ränder flach", FLAT),
        ("Ränder abgehoben", RAISED),
        ("kein Foramenverschluss", OPEN),
        ("Foramen weiterhin offen", OPEN),
        ("Restforamen", OPEN),
        ("Foramenverschluss", CLOSED),
        ("kein Foramen mehr", CLOSED),
        ("Misserfolg", UNKNOWN),
        ("nicht offen", UNKNOWN),
        ("fast geschlossen", UNKNOWN),
        ("flach geschlossen", UNKNOWN),
        ("Transplantat in situ", UNKNOWN),
        ("Verschluss Typ 2", AMBIGUOUS),
    ],
    "pt": [
        ("Fechado", CLOSED),
        ("encerrado", CLOSED),
        ("buraco fechado", CLOSED),
        ("mantém-se encerrado", CLOSED),
        ("fechado tipo 1", BRIDGED),
        ("fechado em U", BRIDGED),
        ("fechado, enxerto no lugar", GRAFT),
        ("fechado com membrana amniótica", GRAFT),
        ("fechado, enxerto ausente", GONE),
        ("aberto plano", FLAT),
        ("bordas planas com EPR exposto", FLAT),
        ("aberto com bordos elevados", RAISED),
        ("aberto", OPEN),
        ("Não fechado", OPEN),
        ("nao fechado", OPEN),
        ("não encerrou", OPEN),
        ("buraco não fechado", OPEN),
        ("sem fecho", OPEN),
        ("persiste", OPEN),
        ("não avaliável por gás", UNGRADED),
        ("nao avaliavel (oleo)", UNGRADED),
        ("não realizado", NO_SCAN),
        ("sem OCT", NO_SCAN),
        ("reabertura", OPEN),
        ("não fecha", OPEN),
        ("buraco residual", OPEN),
        ("aberto, enxerto luxado", OPEN),
        ("fechamento completo", CLOSED),
        ("sem buraco", CLOSED),
        ("insucesso", UNKNOWN),
        ("não aberto", UNKNOWN),
        ("quase fechado", UNKNOWN),
        ("enxerto no lugar", UNKNOWN),
        ("fechado tipo 2", AMBIGUOUS),
    ],
}


@pytest.mark.parametrize("language", PHRASES)
def test_a_phrase_is_read_as_what_it_says_or_not_at_all(language):
    wrong = [
        (phrase, found, meant)
        for phrase, meant in PHRASES[language]
        if (found := read(phrase, language)) != meant
    ]
    assert wrong == []


# Words that turn a statement round.
NEGATIONS = {
    "en": ("not", "no", "never"),
    "es": ("no", "sin", "nunca"),
    "fr": ("non", "pas", "pas de", "sans"),
    "de": ("nicht", "kein", "keine"),
    "pt": ("não", "nao", "sem", "nunca"),
}


@pytest.mark.parametrize("language", NEGATIONS)
def test_a_word_for_closed_behind_a_negation_is_never_closed(language):
    closed = [word for code, its, word in ENTRIES if its == language and code in CLOSED_STRICT]
    negated = [f"{no} {word}" for word in closed for no in NEGATIONS[language]]
    assert [text for text in negated if read(text, language) in CLOSED_STRICT] == []


def test_a_word_with_a_question_mark_is_no_word():
    assert {read(f"{word}?", language) for _, language, word in ENTRIES} == {UNKNOWN}
