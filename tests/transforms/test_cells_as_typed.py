"""A catalogue of cells as people type them, and what each reader makes of them.

Each group is a column: the field, what the crosswalk says of it, then cells. Behind a cell stands
the value in the codebook's unit, or the rule that it breaks, or both where the value is used all
the same. The wording of estimates, bounds and ranges is that of five languages, mixed as in real
sheets.
"""

import datetime as dt

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from reading_context import cells, context

from schemas.codebook import RECORD_KINDS, upload_fields
from schemas.rules import RULES
from schemas.units import UNITS
from transforms.harmonise.read_cells import READERS
from transforms.reading import PerCent

LOST = (
    "value_estimate",
    "value_bound",
    "value_range",
    "number_ambiguous",
    "number_unreadable",
    "unit_unknown",
    "acuity_unreadable",
    "acuity_notation_differs",
    "acuity_became_date",
)
ESTIMATE, BOUND, RANGE, AMBIGUOUS, UNREADABLE, UNIT, NO_ACUITY, NOTATION, DATE = LOST
OTHER_MARK = "decimal_mark_differs"

POINT, COMMA = {"decimal": "point"}, {"decimal": "comma"}
IN_UM = {"unit": "um"}
FEET = {"notation": "snellen_feet"}
METRES = {"notation": "snellen_metres"}
DECIMAL = {"notation": "decimal"}
LOGMAR = {"notation": "logmar"}
LETTERS = {"notation": "letters"}

COLUMNS = [
    # Lengths, in micrometres.
    ("hole_min_diameter", IN_UM | POINT, [
        (450.0, 450), (450, 450), ("450", 450), (" 450 ", 450), ("'450", 450), ("+450", 450),
        ("450.", 450), ("450.0", 450), ("4.5E2", 450), ("450 um", 450), ("450um", 450),
        ("450 UM", 450), ("450 µm", 450), ("450μm", 450), ("450µ", 450), ("450 μ", 450),
        ("450u", 450), ("450 µm.", 450), ("450 (µm)", 450), ("450 micras", 450),
        ("450 Mikrometer", 450), ("450 micrómetros", 450), ("450㎛", 450), ("µm 450", 450),
        ("0.45 mm", 450), ("0.45mm", 450), ("0.45㎜", 450), ("0,45 mm", (450, OTHER_MARK)),
        ("0.3DD", 450), ("1/3 DD", 500), ("⅓ DD", 500), ("1 1/2 DD", 2250), ("1½ PD", 2250),
        ("0.5 disc diameters", 750), ("0.5 diámetros papilares", 750),
        ("４５０", 450), ("٤٥٠", 450), ("۴۵۰ µm", 450), ("450\u00a0µm", 450), ("4\u200b50", 450),
        ("\ufeff450", 450), ("\u200e450\u200e", 450), ("450\u00adµm", 450), ("450Âµm", 450),
        ("1\u202f250", 1250), ("1\u00a0250", 1250), ("1\u2009250 µm", 1250), ("1'250", 1250),
        ("1’250", 1250), ("١٬٢٥٠", 1250), ("1,250.5", 1250.5), ("1.250,5", (1250.5, OTHER_MARK)),
        ("450,5", (450.5, OTHER_MARK)), ("1,250", AMBIGUOUS), ("1,250 µm", AMBIGUOUS),
        ("1 250", UNREADABLE), ("12 34", UNREADABLE), ("1.25.0", UNREADABLE),
    ]),
    ("hole_min_diameter", IN_UM | COMMA, [
        ("450,5", 450.5), ("0,45 mm", 450), ("0.45 mm", (450, OTHER_MARK)), ("4,5E2", 450),
        ("1.250,5", 1250.5), ("1.250.000", 1_250_000), ("1.250", AMBIGUOUS),
        ("1.250 µm", AMBIGUOUS), ("1,250.5", (1250.5, OTHER_MARK)), ("450\u066b5", 450.5),
    ]),
    ("hole_min_diameter", {"unit": "mm"} | COMMA, [
        (0.45, 450), ("0,45", 450), ("0.45", (450, OTHER_MARK)), ("450 µm", 450), ("1,250", 1250),
    ]),
    ("hole_min_diameter", {"unit": "dd"} | POINT, [(0.5, 750), ("1/3", 500), ("1/0", UNREADABLE)]),
    ("hole_min_diameter", IN_UM | POINT, [
        ("~450", ESTIMATE), ("~ 450 µm", ESTIMATE), ("≈450", ESTIMATE), ("ca. 450", ESTIMATE),
        ("c. 450", ESTIMATE), ("about 450", ESTIMATE), ("approx. 450", ESTIMATE),
        ("450 approx", ESTIMATE), ("450 µm (approx.)", ESTIMATE), ("450?", ESTIMATE),
        ("450 µm ?", ESTIMATE), ("500±50", ESTIMATE), ("500+-50", ESTIMATE),
        ("500 +/- 50 µm", ESTIMATE), ("± 450", ESTIMATE), ("aprox. 450", ESTIMATE),
        ("unas 450 micras", ESTIMATE), ("más o menos 450", ESTIMATE), ("cerca de 450", ESTIMATE),
        ("environ 450", ESTIMATE), ("à peu près 450 µm", ESTIMATE), ("etwa 450", ESTIMATE),
        ("ungefähr 450", ESTIMATE), ("rund 450", ESTIMATE), ("mais ou menos 450", ESTIMATE),
        ("≈1/3 DD", ESTIMATE), ("～450", ESTIMATE),
        ("<50", BOUND), ("< 50 µm", BOUND), (">1000", BOUND), ("≤50", BOUND), (">=1000", BOUND),
        ("1000+", BOUND), ("＞1000", BOUND), ("less than 50", BOUND), ("more than 1000", BOUND),
        ("at least 400", BOUND), ("up to 400", BOUND), ("400 or more", BOUND),
        ("menos de 50", BOUND), ("más de 1000", BOUND), ("mayor de 400", BOUND),
        ("moins de 50 µm", BOUND), ("plus de 1000", BOUND), ("jusqu'à 400", BOUND),
        ("unter 50", BOUND), ("über 1000", BOUND), ("mindestens 400", BOUND), ("bis 400", BOUND),
        ("mais de 1000", BOUND), ("até 400", BOUND), ("pelo menos 400", BOUND), ("<1/2 DD", BOUND),
        ("400-450", RANGE), ("400 - 450 µm", RANGE), ("400–450", RANGE), ("400â€“450", RANGE),
        ("400 to 450", RANGE), ("between 400 and 450", RANGE), ("400 a 450", RANGE),
        ("entre 400 y 450", RANGE), ("de 400 à 450 µm", RANGE), ("zwischen 400 und 450", RANGE),
        ("400 bis 450", RANGE), ("400 até 450", RANGE), ("400..450", RANGE), ("~400-450", RANGE),
        ("0.4-0.45 mm", RANGE), ("400 µm – 450 µm", RANGE), ("1/3-1/2 DD", RANGE),
        ("450 mmHg", UNIT), ("450 px", UNIT), ("450 ?m", UNIT), ("450 \ufffdm", UNIT),
        ("14 %", UNIT), (PerCent(14.0), UNIT), ("450 mm²", UNIT),
        ("large", UNREADABLE), ("?", UNREADABLE), ("450 x 500", UNREADABLE),
        ("450/500", UNREADABLE), ("1/3 mm", UNREADABLE), ("1/0 DD", UNREADABLE),
        ("um 450", UNREADABLE),  # German: about 450; a unit before its number; not certain
        ("450; 500", UNREADABLE), ("450 µm, 500 µm", UNREADABLE), ("4\u00ad50", UNREADABLE),
        ("12-03-2021", UNREADABLE), ("10²", UNREADABLE), ("1e999", UNREADABLE),
        ("1" * 81, UNREADABLE),
        (True, UNREADABLE), (float("nan"), UNREADABLE), (float("inf"), UNREADABLE),
        (dt.datetime(2026, 1, 2), UNREADABLE), (dt.date(2026, 1, 2), UNREADABLE),
        (dt.time(4, 50), UNREADABLE), (dt.timedelta(hours=4), UNREADABLE),
    ]),
    # Other quantities.
    ("axial_length", COMMA, [
        ("24,5 mm", 24.5), ("24,5", 24.5), ("24.5", (24.5, OTHER_MARK)), ("24500 µm", 24.5),
        ("24,50\u00a0mm", 24.5), (24.5, 24.5), ("24,5 dB", UNIT),
    ]),
    ("hole_duration", POINT, [
        (6.0, 6), ("6 months", 6), ("6m", 6), ("6 mois", 6), ("2 years", 24), ("2 Jahre", 24),
        ("2 años", 24), ("1½ years", 18), ("0.5 yr", 6), ("3/12", UNREADABLE), ("1-2", RANGE),
        (">2 years", BOUND), ("2 years 3 months", UNREADABLE), ("long", UNREADABLE),
    ]),
    ("tamponade_pct", POINT, [
        (14.0, 14), ("14 %", 14), ("14%", 14), ("% 14", 14), ("１４％", 14), ("14 Prozent", 14),
        (PerCent(14.0), 14), ("14 mm", UNIT), ("12-14 %", RANGE), ("<20%", BOUND),
    ]),
    ("tamponade_pct", {"unit": "fraction"} | POINT, [
        (0.14, 14), (PerCent(14.0), 14), ("14 %", 14),
    ]),
    ("iop", POINT, [
        ("14 mmHg", 14), ("14 mm Hg", 14), ("14 MMHG", 14), ("14/16", UNREADABLE),
        ("14-16", RANGE), ("14 mm", UNIT), (PerCent(14.0), UNIT),
    ]),
    ("perimetry_md", POINT, [
        (-5.2, -5.2), ("-5.2", -5.2), ("−5.2", -5.2), ("–5.2 dB", -5.2), ("－5.2", -5.2),
        ("- 5.2", -5.2), ("−5,2", (-5.2, OTHER_MARK)), ("-5.2dB", -5.2), ("-5 to -3", RANGE),
        ("-5 - -3", RANGE), ("\u00ad5.2", UNREADABLE), ("(5.2)", UNREADABLE),
    ]),
    ("mferg_ring1_p1", POINT, [("42 nV/deg²", 42), ("42nV/deg^2", 42), ("42 nV/°²", 42)]),
    ("fixation_bcea", POINT, [("2.5 deg²", 2.5), ("2.5 °²", 2.5), ("2.5 mm", UNIT)]),
    ("prior_repairs", POINT, [
        (2.0, 2), ("2", 2), ("２", 2), (1.5, UNREADABLE), ("2 operations", UNIT), ("2?", ESTIMATE),
        (">2", BOUND), ("2+", BOUND), ("1-2", RANGE), (1e300, UNREADABLE), (True, UNREADABLE),
        (PerCent(2.0), UNIT), ("two", UNREADABLE),
    ]),
    ("age", POINT, [("71 years", 71), ("71 años", 71), ("71 ans", 71), ("71 yo", 71),
                    ("~71", ESTIMATE), ("70s", UNIT)]),
    # Acuity, in logMAR to two places.
    ("acuity", FEET | POINT, [
        ("20/40", 0.30), ("20 / 40", 0.30), ("２０／４０", 0.30), ("٢٠/٤٠", 0.30), ("20⁄40", 0.30),
        ("20/40-2", 0.30), ("20/40+1", 0.30), ("20/40 -2", 0.30), ("20/40 −2", 0.30),
        ("20/40⁻²", 0.30), ("20/40 (-2)", 0.30), ("20/62.5", 0.49), ("20/62,5", (0.49, OTHER_MARK)),
        ("~20/40", ESTIMATE), ("20/40?", ESTIMATE), ("<20/400", BOUND), ("≤ 20/400", BOUND),
        ("worse than 20/400", BOUND), ("peor de 20/400", BOUND), ("20/40-20/50", RANGE),
        ("20/40-50", RANGE), ("20/40 to 20/50", RANGE), ("20/1,000", AMBIGUOUS),
        ("20/40; 20/200", NO_ACUITY), ("20/40 20/200", NO_ACUITY), ("20/40\u00a0200", NO_ACUITY),
        ("OD 20/40 OS 20/200", NO_ACUITY), ("20/40p", 0.30), ("20/40+", 0.30),
        ("20/40x", NO_ACUITY),
        ("20/40 or CF", NO_ACUITY), ("better", NO_ACUITY), ("20/0", NOTATION), ("0.5", NOTATION),
        (0.5, NOTATION), (dt.datetime(2026, 9, 6), DATE), (dt.date(2026, 9, 6), DATE),
        (dt.time(20, 40), DATE), (True, NO_ACUITY), (float("nan"), NO_ACUITY),
    ]),
    ("acuity", METRES | POINT, [
        ("6/9-2", 0.18), ("6/9.5", 0.20), ("6/7,5", (0.10, OTHER_MARK)), ("3/60", 1.30),
        ("6/9-6/12", RANGE),
    ]),
    ("acuity", DECIMAL | COMMA, [
        ("0,5", 0.30), ("0.5", (0.30, OTHER_MARK)), (0.5, 0.30), ("5/10", 0.30), ("1/20", 1.30),
        ("½", 0.30), ("0,125", 0.90), ("0.125", (0.90, OTHER_MARK)), ("1.000", AMBIGUOUS),
        ("~0,5", ESTIMATE), ("0,4-0,5", RANGE), ("> 0,5", BOUND), ("unter 0,05", BOUND),
        ("20/40", NOTATION), (PerCent(50.0), NOTATION), ("50", NOTATION),
    ]),
    ("acuity", LOGMAR | POINT, [
        ("-0.1", -0.10), ("−0.1", -0.10), ("0.3 logMAR", 0.30), ("0,3", (0.30, OTHER_MARK)),
        ("55 letters", NOTATION), ("20/40", NOTATION),
    ]),
    ("acuity", LETTERS | POINT, [
        (35.0, 1.0), ("35", 1.0), ("35 letters", 1.0), ("35 letras", 1.0), ("~35", ESTIMATE),
        ("0.3 logMAR", NOTATION), ("101", NOTATION), (PerCent(50.0), NOTATION),
    ]),
]  # fmt: skip

# Off the chart: the language of the centre, the cell, the code or the rule.
OFF_CHART = [
    ("en", "CF", "counting_fingers"), ("en", "CF@1m", "counting_fingers"),
    ("en", "CF 2m", "counting_fingers"), ("en", "CF at 2 ft", "counting_fingers"),
    ("en", "CF 2'", "counting_fingers"), ("en", "CF (1 m)", "counting_fingers"),
    ("en", "CF 1/2 m", "counting_fingers"), ("en", "1m CF", "counting_fingers"),
    ("en", "C.F.", "counting_fingers"), ("en", "ＣＦ", "counting_fingers"),
    ("en", "CF\u200b", "counting_fingers"), ("en", "CF near face", "counting_fingers"),
    ("es", "cuenta dedos a 1 m", "counting_fingers"), ("es", "CD a 50cm", "counting_fingers"),
    ("fr", "CLD à 1 m", "counting_fingers"), ("de", "FZ in 30 cm", "counting_fingers"),
    ("de", "Fingerzählen", "counting_fingers"), ("pt", "conta dedos a 1 m", "counting_fingers"),
    ("en", "HM", "hand_motion"), ("es", "movimiento de manos", "hand_motion"),
    ("fr", "VBLM", "hand_motion"), ("de", "HBW", "hand_motion"), ("pt", "MM", "hand_motion"),
    ("en", "PL+", "light_perception"), ("en", "LP w proj", "light_perception"),
    ("es", "percepción luminosa", "light_perception"), ("fr", "PL +", "light_perception"),
    ("de", "Lux", "light_perception"), ("pt", "percebe luz", "light_perception"),
    ("en", "NPL", "no_light_perception"), ("en", "PL-", "no_light_perception"),
    ("en", "PL −", "no_light_perception"), ("en", "PL–", "no_light_perception"),
    ("de", "nulla lux", "no_light_perception"), ("pt", "SPL", "no_light_perception"),
    ("en", "<CF", BOUND), ("en", "~HM", ESTIMATE), ("en", "≈ CF", ESTIMATE),
    ("en", "PL?", ESTIMATE), ("en", "CF-HM", NO_ACUITY), ("en", "20/40 CF", NO_ACUITY),
    ("en", "HM 20/40", NO_ACUITY), ("en", "PL\u00ad", NO_ACUITY), ("en", "PL\ufffd", NO_ACUITY),
]  # fmt: skip

CELLS = [
    pytest.param(field, habits, typed, said, id=f"{field}: {typed!r} {said}")
    for field, habits, column in COLUMNS
    for typed, said in column
]


def read(field, typed, **habits):
    """Value and rule of one cell, by the reader that the codebook names for the field."""
    kind = next(kind for kind in RECORD_KINDS if field in upload_fields(kind))
    column = context(kind, field, **habits)
    found = READERS[column.field.spec.reads](cells(typed), column).iloc[0]
    return found[column.column], found["problem"] if pd.notna(found["problem"]) else None


def value_and_rule(said):
    """What stands behind a cell of the catalogue, as a pair."""
    if isinstance(said, tuple):
        return said
    return (None, said) if isinstance(said, str) else (said, None)


@pytest.mark.parametrize(("field", "habits", "typed", "said"), CELLS)
def test_a_cell_is_read_as_what_it_is_or_refused_by_the_rule_that_it_breaks(
    field, habits, typed, said
):
    value, rule = value_and_rule(said)
    found, problem = read(field, typed, **habits)
    assert problem == rule
    tolerance = 0.005 if field == "acuity" else 1e-9
    assert pd.isna(found) if value is None else found == pytest.approx(value, abs=tolerance)


@pytest.mark.parametrize(("language", "typed", "said"), OFF_CHART)
@pytest.mark.parametrize("notation", ["snellen_feet", "decimal", "letters"])
def test_words_off_the_chart_are_codes_in_every_notation(language, typed, said, notation):
    column = context("visit", "acuity", notation=notation, language=language)
    found = READERS["acuity"](cells(typed), column).iloc[0]
    assert said in (found["acuity_off_chart"], found["problem"])
    assert pd.isna(found["acuity_logmar"]) == (said in RULES)


@pytest.mark.parametrize("rule", [*LOST, OTHER_MARK])
def test_a_value_is_used_only_where_the_rule_asks_for_it(rule):
    pairs = [value_and_rule(said) for *_, column in COLUMNS for _, said in column]
    values = [value for value, broken in pairs if broken == rule]
    assert values
    assert all((value is not None) == (RULES[rule].action == "ask") for value in values)


# Laws

DIGITS = ("0123456789", "٠١٢٣٤٥٦٧٨٩", "۰۱۲۳۴۵۶۷۸۹", "０１２３４５６７８９")
MINUS = ("-", "\u2010", "\u2013", "\u2212", "\uff0d", "- ")
GROUPING = ("", "'", "\u2019", "\u00a0", "\u202f", "\u2009", "\u066c")
AROUND = ("", " ", "\u200b", "\ufeff", "\u00a0", "\u200e")


@given(
    number=st.decimals(-99_999, 99_999, places=2, allow_nan=False),
    decimal=st.sampled_from(["point", "comma"]),
    mark=st.sampled_from([None, "\u066b"]),
    digits=st.sampled_from(DIGITS),
    minus=st.sampled_from(MINUS),
    grouping=st.sampled_from(GROUPING),
    around=st.sampled_from(AROUND),
    space=st.sampled_from(["", " ", "\u00a0"]),
    data=st.data(),
)
def test_a_number_in_any_spelling_is_read_back(
    number, decimal, mark, digits, minus, grouping, around, space, data
):
    name, unit = data.draw(st.sampled_from(sorted(UNITS["um"].items())))
    spelling = data.draw(st.sampled_from(["", *unit.spellings]))
    declared = {"point": ".", "comma": ","}[decimal]
    marks = {",": grouping, ".": mark or declared}
    written = (minus if number < 0 else "") + f"{abs(number):,.2f}".translate(str.maketrans(marks))
    written = around + written.translate(str.maketrans("0123456789", digits))
    found, problem = read(
        "hole_min_diameter", f"{written}{space}{spelling}{around}", unit=name, decimal=decimal
    )
    assert (found, problem) == (pytest.approx(float(number) * unit.factor), None), written
