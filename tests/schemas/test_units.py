"""Units: how cells spell them, and that no spelling says two of them."""

import pytest

from schemas.units import UNITS, unit_named, unit_sign

SPELLINGS = [
    pytest.param(base, name, spelling, id=f"{base}: {spelling}")
    for base, units in UNITS.items()
    for name, unit in units.items()
    for spelling in (name, *unit.spellings)
]


@pytest.mark.parametrize(("base", "name", "spelling"), SPELLINGS)
def test_every_spelling_names_its_unit_and_no_other_of_the_quantity(base, name, spelling):
    assert unit_named(spelling, base) == name


@pytest.mark.parametrize(
    ("text", "base", "name"),
    [
        ("µm", "um", "um"),  # micro sign
        ("μm", "um", "um"),  # Greek letter
        ("MM.", "um", "mm"),
        ("(mm)", "um", "mm"),
        ("micrometros", "um", "um"),
        ("mm Hg", "mmHg", "mmHg"),
        ("nV/deg²", "nV/deg2", "nV/deg2"),
        ("nv / deg^2", "nV/deg2", "nV/deg2"),
        ("per cent", "%", "%"),
        ("mm²", "um", None),
        ("mm", "mmHg", None),
        ("nm", "um", None),
        ("", "um", None),
        ("mm", None, None),
    ],
)
def test_case_accents_brackets_and_marks_of_powers_do_not_matter(text, base, name):
    assert unit_named(text, base) == name


@pytest.mark.parametrize(
    ("unit", "printed"),
    [
        ("um", "µm"), ("uV", "µV"), ("nV/deg2", "nV/deg²"), ("arcmin2", "arcmin²"),
        ("month", "months"), ("week", "weeks"), ("day", "days"), ("cSt", "cSt"), ("mm", "mm"),
        (None, ""),
    ],
)  # fmt: skip
def test_a_unit_is_printed_as_people_write_it(unit, printed):
    assert unit_sign(unit) == printed
