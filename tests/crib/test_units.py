"""Lengths as typed, as stored and as shown.

1 in = 25.4 mm exactly (international inch, ISO 31-1), so every expected value of a fraction
below is its numerator times 25400 divided by its denominator, halves to the even micrometre.
"""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from crib.rules import units
from crib.rules.units import NotALength, read_length_um

lengths_um = st.integers(min_value=0, max_value=units.LONGEST_UM)


@pytest.mark.parametrize(
    ("text", "um"),
    [
        # millimetres, with point or comma, with and without the unit
        ("12.7", 12_700),
        ("12,7", 12_700),
        (" 12.7 mm ", 12_700),
        ("12.7MM", 12_700),
        ("12.7\u00a0mm", 12_700),
        ("+6", 6_000),
        (".5", 500),
        (",5", 500),
        ("6.", 6_000),
        ("0", 0),
        # inch decimals
        ("0.25 in", 6_350),
        ('0,25"', 6_350),
        ("1 inch", 25_400),
        ("2 inches", 50_800),
        ("1″", 25_400),
        ("1”", 25_400),
        # inch fractions, the unit left out or not
        ("1/64 in", 397),
        ("1/64", 397),
        ("3/64", 1_191),
        ("1/32", 794),
        ("1/16", 1_588),
        ("1/8 in", 3_175),
        ("1/4", 6_350),
        ('3/8"', 9_525),
        ("1/2 in", 12_700),
        ("5/8", 15_875),
        ("3/4 inch", 19_050),
        ("1 1/4 in", 31_750),
        ("1-1/4", 31_750),
        ("1  1/2", 38_100),
        # micrometres, both letters mu
        ("5 um", 5),
        ("5 \u00b5m", 5),
        ("5 \u03bcm", 5),
        # halves go to the even micrometre
        ("0.0005", 0),
        ("0.0015", 2),
        ("2.5 um", 2),
        ("3.5 um", 4),
        # the longest length there is
        ("10000", 10_000_000),
        ("10000 mm", 10_000_000),
    ],
)
def test_a_typed_length_is_read_as_whole_micrometres(text, um):
    assert read_length_um(text) == um


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "mm",
        "twelve",
        "12.7 cm",
        "12.7 m",
        "1 ft",
        "12.7 mm mm",
        "12.7 in mm",
        "1/2 mm",
        "1/2 um",
        "1/0",
        "1//2",
        "1/2/3",
        "1 2",
        "1.5 1/2",
        "1.234,5",
        "1,234.5",
        "1..2",
        "1e3",
        "0x10",
        "nan",
        "inf",
        "1_000",
        "10 000",
        "12.7;",
        "12.7\x00",
        # negative, in every form
        "-1",
        "-0.001 mm",
        "-1/2 in",
        "-1 1/2",
        "\u22121",
        # digits of other scripts and signs that look like numbers
        "\u0661\u0662",
        "\uff11\uff12",
        "\u0967",
        "\u00bd in",
        "1\u00b2",
        "1\u20442",
        # huge
        "10000.001",
        "10001",
        "400 in",
        "393 45/64",
        "9" * 20,
        "9" * 21,
        "9" * 5_000,
        "1/" + "9" * 5_000,
        "9" * 5_000 + "/2 in",
        "1" * 100_000,
    ],
)
def test_anything_else_is_no_length(text):
    with pytest.raises(NotALength):
        read_length_um(text)


def test_what_is_said_about_a_bad_length_is_short():
    with pytest.raises(NotALength) as no:
        read_length_um("x" * 10_000)

    assert len(str(no.value)) < 120


@pytest.mark.parametrize(
    ("text", "um"),
    [("0.5", 12_700), ("0.5 mm", 500), ("1/2", 12_700), ("5 um", 5), ("0,5", 12_700)],
)
def test_the_page_may_take_bare_numbers_as_inches(text, um):
    assert read_length_um(text, default_unit="in") == um


@given(st.text(max_size=60))
def test_any_text_is_a_length_or_refused(text):
    try:
        um = read_length_um(text)
    except NotALength:
        return
    assert 0 <= um <= units.LONGEST_UM


@given(lengths_um)
def test_what_is_shown_in_millimetres_reads_back_as_the_same_length(um):
    assert read_length_um(units.show_mm(um)) == um


@given(st.integers(min_value=1, max_value=64 * 300))
def test_an_inch_fraction_reads_back_as_the_same_length(sixty_fourths):
    um = units.um_from_inch(Fraction(sixty_fourths, 64))

    shown = units.show_inch(um)

    assert "." not in shown
    assert read_length_um(shown) == um


@given(lengths_um, lengths_um)
def test_two_different_lengths_never_look_the_same_in_millimetres(one, other):
    assert (units.show_mm(one) == units.show_mm(other)) == (one == other)


@pytest.mark.parametrize(
    ("inch", "um"),
    [
        # 25400/64 = 396.875; 25400/128 = 198.4375; a half between 0 and 1 goes to 0, to 2 above 1
        (Fraction(1, 64), 397),
        (Fraction(1, 128), 198),
        (Fraction(1, 50_800), 0),
        (Fraction(3, 50_800), 2),
        (1, 25_400),
        ("0.001", 25),
        (Decimal("0.0001"), 3),
    ],
)
def test_inches_become_micrometres_half_to_even(inch, um):
    assert units.um_from_inch(inch) == um


@pytest.mark.parametrize(
    ("um", "decimals", "shown"),
    [
        (12_700, 2, "12.70"),
        (12_710, 2, "12.71"),
        (12_713, 2, "12.713"),
        (12_700, 1, "12.7"),
        (12_710, 1, "12.710"),
        (8, 3, "0.008"),
        (8, 2, "0.008"),
        (0, 2, "0.00"),
        (-700, 2, "-0.70"),
        (-8, 2, "-0.008"),
        (None, 2, "not known"),
    ],
)
def test_millimetres_are_shown_with_fixed_decimals_and_more_where_needed(um, decimals, shown):
    assert units.show_mm(um, decimals) == shown


@pytest.mark.parametrize(
    ("um", "shown"),
    [
        (397, "1/64 in"),
        (396, "1/64 in"),
        (398, "1/64 in"),
        (395, "0.0156 in"),
        (399, "0.0157 in"),
        (9_525, "3/8 in"),
        (25_400, "1 in"),
        (31_750, "1 1/4 in"),
        (10_000, "0.3937 in"),
        (0, "0.0000 in"),
        (-6_350, "-1/4 in"),
        (-31_750, "-1 1/4 in"),
        (-10_000, "-0.3937 in"),
        (None, "not known"),
    ],
)
def test_an_inch_fraction_is_shown_up_to_one_micrometre_off(um, shown):
    assert units.show_inch(um) == shown


@pytest.mark.parametrize(
    ("um", "bought_in_inches", "decimals", "shown"),
    [
        (6_350, True, 2, "6.35 mm = 1/4 in"),
        (6_350, False, 2, "6.35 mm"),
        (6_000, False, 2, "6.00 mm"),
        (41_500, False, 1, "41.5 mm"),
        (397, True, 2, "0.397 mm = 1/64 in"),
        (None, True, 2, "not known"),
        (None, False, 2, "not known"),
    ],
)
def test_a_length_shows_the_inch_where_it_was_bought_in_inches(
    um, bought_in_inches, decimals, shown
):
    assert units.show_length(um, bought_in_inches, decimals) == shown


@pytest.mark.parametrize(
    ("mnm", "shown"),
    [
        (136_000, "136"),
        (7_500, "7.5"),
        (100_000, "100"),
        (56_525, "56.525"),
        (0, "0"),
        (1, "0.001"),
        (None, "not known"),
    ],
)
def test_torque_is_shown_without_idle_zeros(mnm, shown):
    assert units.show_nm(mnm) == shown


@given(st.integers(min_value=0, max_value=10**9))
def test_torque_comes_back_from_newton_metres(mnm):
    assert units.mnm_from_nm(units.nm_from_mnm(mnm)) == mnm
    assert units.mnm_from_nm(units.show_nm(mnm)) == mnm


@given(lengths_um)
def test_millimetres_and_micrometres_are_the_same_length(um):
    assert units.um_from_mm(units.mm_from_um(um)) == um
