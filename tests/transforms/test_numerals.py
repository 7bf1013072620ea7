"""Numbers in text: every spelling that is certain, and those that two people read differently."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from transforms.harmonise.numerals import plain_text, read_numeral

AMBIGUOUS, OTHER_MARK, UNREADABLE = "number_ambiguous", "decimal_mark_differs", "number_unreadable"


@pytest.mark.parametrize(
    ("typed", "plain"),
    [
        ("  450 \t um\n", "450 um"),
        ("'450", "450"),
        ("\u2019450", "450"),
        ("４５０", "450"),
        ("٤٥٠", "450"),
        ("۴۵۰", "450"),
        ("４．５％", "4.5%"),
        ("\ufeff4\u200b5\u20600\u200f", "450"),
        ("mi\u00adcra", "micra"),
        ("450\u00ad", "450"),
        ("\u00ad5", "\u00ad5"),  # a minus?
        ("400\u00ad450", "400\u00ad450"),  # a range?
        ("PL\u00ad", "PL\u00ad"),  # no perception of light?
        ("1\u202f250", "1'250"),
        ("1\u00a0250\u00a0500", "1'250'500"),
        ("1\u2019250", "1'250"),
        ("١٬٢٥٠", "1'250"),
        ("1 250", "1 250"),
        ("12\u00a050", "12 50"),
        ("1\u00a02500", "1 2500"),
        ("450\u00a0µm", "450 μm"),
        ("㎛", "μm"),
        ("450Âµm", "450μm"),
        ("450Â\u00a0um", "450 um"),
        ("400â€“450", "400-450"),
        ("500Â±50", "500±50"),
        ("½", "½"),
        ("10²", "10^2"),
        ("6/9⁻²", "6/9-^2"),
        ("20⁄40", "20/40"),
    ],
)
def test_text_is_made_plain_without_losing_what_it_says(typed, plain):
    assert plain_text(typed) == plain


@pytest.mark.parametrize("sign", "-\u2010\u2011\u2012\u2013\u2014\u2212\ufe63\uff0d\u207b\u2796")
def test_every_minus_is_one(sign):
    assert read_numeral(plain_text(f"{sign}5.2"), "point") == (-5.2, None)
    assert read_numeral(plain_text(f"{sign} 5.2"), "point") == (-5.2, None)


# text, value and problem under a decimal point, the same under a decimal comma
@pytest.mark.parametrize(
    ("text", "point", "comma"),
    [
        ("450", (450, None), (450, None)),
        ("007", (7, None), (7, None)),
        ("+5", (5, None), (5, None)),
        ("5.", (5, None), (5, None)),
        (".5", (0.5, None), (0.5, OTHER_MARK)),
        ("12,5", (12.5, OTHER_MARK), (12.5, None)),
        ("0.45", (0.45, None), (0.45, OTHER_MARK)),
        ("0,450", (0.45, OTHER_MARK), (0.45, None)),
        ("1.250", (1.25, None), (None, AMBIGUOUS)),
        ("1,250", (None, AMBIGUOUS), (1.25, None)),
        ("-12,250", (None, AMBIGUOUS), (-12.25, None)),
        ("1250,500", (1250.5, OTHER_MARK), (1250.5, None)),
        ("1,2500", (1.25, OTHER_MARK), (1.25, None)),
        ("1.250,5", (1250.5, OTHER_MARK), (1250.5, None)),
        ("1,250.500", (1250.5, None), (1250.5, OTHER_MARK)),
        ("1.250.000", (1_250_000, OTHER_MARK), (1_250_000, None)),
        ("1'250", (1250, None), (1250, None)),
        ("1'250,5", (1250.5, OTHER_MARK), (1250.5, None)),
        ("450\u066b5", (450.5, None), (450.5, None)),
        ("1'250\u066b5", (1250.5, None), (1250.5, None)),
        ("4.5E2", (450, None), (450, OTHER_MARK)),
        ("4,5e-1", (0.45, OTHER_MARK), (0.45, None)),
        ("½", (0.5, None), (0.5, None)),
        ("-1 ½", (-1.5, None), (-1.5, None)),
        ("1.25.000", (None, UNREADABLE), (None, UNREADABLE)),
        ("1,00,000", (None, UNREADABLE), (None, UNREADABLE)),
        ("0.450.000", (None, UNREADABLE), (None, UNREADABLE)),
        ("1.250'500", (None, UNREADABLE), (None, UNREADABLE)),
        ("1.250,", (None, UNREADABLE), (None, UNREADABLE)),
        ("1'25", (None, UNREADABLE), (None, UNREADABLE)),
        ("1 250", (None, UNREADABLE), (None, UNREADABLE)),
        ("10^2", (None, UNREADABLE), (None, UNREADABLE)),
        ("1e999", (None, UNREADABLE), (None, UNREADABLE)),
        ("0,1e999", (None, UNREADABLE), (None, UNREADABLE)),
        ("\u00ad5", (None, UNREADABLE), (None, UNREADABLE)),
        ("1_000", (None, UNREADABLE), (None, UNREADABLE)),
        ("infinity", (None, UNREADABLE), (None, UNREADABLE)),
        ("", (None, UNREADABLE), (None, UNREADABLE)),
        ("9" * 5000 + "½", (None, UNREADABLE), (None, UNREADABLE)),
    ],
)
def test_a_mark_is_one_of_decimals_or_of_thousands_only_where_it_cannot_be_both(text, point, comma):
    assert read_numeral(text, "point") == point
    assert read_numeral(text, "comma") == comma


@given(st.text(alphabet="0123456789.,'eE+-/½\u066b \u00ad", max_size=12))
def test_no_text_is_two_numbers(text):
    """Under one decimal mark a text may be refused; it is never another number than under the
    other mark, unless exactly three digits stand behind a single mark: then one of them refuses."""
    numbers = {read_numeral(text, mark).value for mark in ("point", "comma")} - {None}
    assert len(numbers) <= 1
