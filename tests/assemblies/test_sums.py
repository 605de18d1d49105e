"""Sums for the bench: how figures are typed, what is answered, and what is left unsaid."""

from __future__ import annotations

from contextlib import suppress
from math import isclose

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assemblies.rules.sums import amounts, answers_bench, answers_cutting, answers_life
from assemblies.rules.sums.amounts import NotAnAmount, read_amount
from assemblies.rules.sums.answer import show_number
from assemblies.rules.sums.chip import chip_thickness
from assemblies.rules.sums.cutting_speed import cutting_speed_m_min, spindle_speed_rpm
from assemblies.rules.sums.deflection import Beam, longest_stickout_um, tip_deflection_um
from assemblies.rules.sums.force import FACTOR_OF_TWO, MATERIALS, specific_force_mpa
from assemblies.rules.sums.life_sums import MeasuredLife, taylor_line
from assemblies.rules.sums.mass_centre import MassPart, mass_and_centre, turned_body
from assemblies.rules.sums.milled_cut import MilledCut
from assemblies.rules.sums.tooth_load import share_in_words, tooth_chips_um, worst_load
from assemblies.rules.sums.unbalance import eccentric_g_mm, pull_n
from crib.rules.survival import Costs, Life, LifeEnd

SIZES_UM = st.floats(min_value=1, max_value=500_000)


@pytest.mark.parametrize(
    ("text", "units", "amount"),
    [
        ("12,7", amounts.LENGTHS, 12_700),
        ("12.7mm", amounts.LENGTHS, 12_700),
        ("1/2", amounts.LENGTHS, 12_700),
        ("1 1/4 in", amounts.LENGTHS, 31_750),
        ('0.0005"', amounts.LENGTHS, 12.7),
        ("5 µm", amounts.LENGTHS, 5),
        ("5 μm", amounts.LENGTHS, 5),
        (" 80 ", amounts.CUTTING_SPEEDS, 80),
        ("100 sfm", amounts.CUTTING_SPEEDS, 30.48),
        ("2 m/s", amounts.CUTTING_SPEEDS, 120),
        ("10 in/min", amounts.FEEDS, 254),
        ("18000 1/min", amounts.SPEEDS, 18_000),
        ("18000 RPM", amounts.SPEEDS, 18_000),
        ("100 lbf·ft", amounts.TORQUES, 135_581.79483314004),
        ("100 ft-lbf", amounts.TORQUES, 135_581.79483314004),
        ("80 N m", amounts.TORQUES, 80_000),
        ("2 kg", amounts.MASSES, 2_000),
        ("5h", amounts.MINUTES, 300),
        ("−15", amounts.LENGTHS, -15_000),
        (".5", amounts.NUMBERS, 0.5),
        ("5.", amounts.NUMBERS, 5),
    ],
)
def test_a_figure_is_read_with_its_unit_or_in_the_first(text, units, amount):
    assert isclose(read_amount(text, units), amount)


@pytest.mark.parametrize(
    ("text", "units"),
    [
        ("", amounts.LENGTHS),
        ("ten", amounts.LENGTHS),
        ("1/0", amounts.LENGTHS),
        ("1e9", amounts.LENGTHS),
        ("nan", amounts.NUMBERS),
        ("inf", amounts.NUMBERS),
        ("12 furlongs", amounts.LENGTHS),
        ("12 mm", amounts.SPEEDS),
        ("1,000,000", amounts.SPEEDS),
        ("9" * 10, amounts.LENGTHS),
        ("1" * 31, amounts.NUMBERS),
        ("٨٠", amounts.NUMBERS),
        ("1\x002", amounts.NUMBERS),
    ],
)
def test_what_is_no_figure_is_refused_in_words(text, units):
    with pytest.raises(NotAnAmount) as refused:
        read_amount(text, units)
    assert str(refused.value)


def test_a_wrong_unit_is_answered_with_those_that_fit_each_once():
    with pytest.raises(NotAnAmount) as refused:
        read_amount("12 kg", amounts.LENGTHS)
    assert str(refused.value).endswith("Units here: mm, in, µm.")


@given(st.text(max_size=40))
def test_no_text_breaks_the_reading(text):
    with suppress(NotAnAmount):
        assert abs(read_amount(text, amounts.LENGTHS)) <= 1_000_000_000


@pytest.mark.parametrize(
    ("value", "text"),
    [(0, "0"), (0.1, "0.1"), (-17.37, "-17.37"), (99_999, "100000"), (1e-7, "0.0000001")],
)
def test_a_number_is_shown_without_exponent(value, text):
    assert show_number(value) == text


@given(SIZES_UM, st.floats(min_value=1, max_value=60_000))
def test_speed_and_cutting_speed_lead_back_to_each_other(diameter_um, speed_rpm):
    m_min = cutting_speed_m_min(diameter_um, speed_rpm)
    assert isclose(spindle_speed_rpm(m_min, diameter_um), speed_rpm, rel_tol=1e-9)


@pytest.mark.parametrize("width_um", [10_000, 5_000])
def test_from_half_the_diameter_on_the_thickest_chip_is_the_chip_load(width_um):
    assert chip_thickness(100, width_um, 10_000).largest_um == pytest.approx(100)


def test_just_under_half_the_diameter_the_chip_is_thinner():
    assert chip_thickness(100, 4_990, 10_000).largest_um < 100


@pytest.mark.parametrize("width_um", [0, -1, 10_000.1])
def test_a_width_beyond_the_cutter_is_refused(width_um):
    with pytest.raises(ValueError, match="width"):
        chip_thickness(100, width_um, 10_000)


@given(
    st.floats(min_value=1, max_value=500),
    st.floats(min_value=0, max_value=500),
    st.integers(min_value=1, max_value=12),
    st.floats(min_value=0, max_value=360),
)
def test_the_teeth_always_share_the_whole_feed(chip_um, runout_um, teeth, turned_deg):
    chips = tooth_chips_um(chip_um, runout_um, teeth, turned_deg)
    assert isclose(sum(chips), teeth * chip_um, rel_tol=1e-6)
    assert min(chips) >= 0
    assert max(chips) <= worst_load(chip_um, runout_um, teeth).thickest_um * (1 + 1e-3)


@pytest.mark.parametrize(
    ("share", "word"), [(10, "small"), (10.01, "noticeable"), (25, "noticeable"), (25.01, "large")]
)
def test_runout_is_judged_by_its_share_at_ten_and_twenty_five_percent(share, word):
    assert share_in_words(share) == word


def test_one_tooth_feels_no_runout_and_says_so():
    answer = answers_cutting.runout_on_teeth(50, 40, 1)
    assert answer.lines[1].text == answer.lines[2].text
    assert any("One tooth" in note or "one tooth" in note for note in answer.notes)


@given(
    st.floats(min_value=1, max_value=5_000),
    st.floats(min_value=20_000, max_value=150_000),
    st.floats(min_value=3_000, max_value=40_000),
)
def test_the_longest_stickout_yields_just_what_is_allowed(force_n, flute_um, diameter_um):
    beam = Beam(diameter_um, 580_000, flute_um, diameter_um)
    for stickout_um in (flute_um * 0.7, flute_um * 1.5):
        yields_um = tip_deflection_um(force_n, stickout_um, beam)
        back_um = longest_stickout_um(force_n, yields_um, beam)
        assert isclose(back_um, stickout_um, rel_tol=1e-9)


def test_a_doubled_stickout_bends_eight_times_as_far():
    """A public page prints: doubling the length, eight times the deflection."""
    assert answers_bench.bending_compared(100_000, 50_000, None).lines[0].text == "8 times as far"


@pytest.mark.parametrize(("flute_um", "yields_um"), [(0, 5.63), (25_000, 6.64), (50_000, 13.73)])
def test_flutes_make_a_cutter_softer(flute_um, yields_um):
    """Carbide Ø 12.7 under 100 N at 50 mm; worked out by hand with a core of 80 %."""
    beam = Beam(12_700, 580_000, flute_um, 12_700)
    assert tip_deflection_um(100, 50_000, beam) == pytest.approx(yields_um, abs=0.006)


@pytest.mark.parametrize(
    ("material", "chip_um", "specific"),
    [
        ("steel_low", 100, 2189),
        ("steel_low", 200, 1893),
        ("steel_medium", 100, 2489),
        ("steel_alloy", 200, 2612),
        ("steel_tool", 100, 4161),
        ("stainless", 200, 2966),
        ("grey_iron", 100, 1823),
        ("aluminium_hard", 200, 1196),
        ("brass", 100, 1303),
        ("titanium", 200, 1832),
        ("particleboard", 100, 37.6),
    ],
)
def test_the_specific_force_falls_as_the_chip_grows(material, chip_um, specific):
    """Constants: classes of VDI 3323 on a public page; results worked out by hand."""
    found = specific_force_mpa(MATERIALS[material], chip_um)
    assert found == pytest.approx(specific, abs=0.6)


def test_no_board_of_which_nothing_is_known_is_in_the_list():
    names = " ".join(row.name for row in MATERIALS.values())
    assert not any(word in names for word in ("MDF", "plywood", "solid wood", "plastic"))


def test_force_and_power_say_that_they_are_rough():
    cut = MilledCut(300, 19_000, 12_700, 12_700, 2, 18_000, 100)
    answer = answers_bench.force_and_power(cut, "particleboard")
    # Worked out by hand: 1.63 kW, 0.87 N·m, 214 N; shown with two figures.
    assert [line.text for line in answer.lines[:3]] == ["1.6 kW", "0.87 N·m", "210 N"]
    assert answer.estimate
    assert FACTOR_OF_TWO in answer.notes


@pytest.mark.parametrize(
    ("speed_rpm", "word"), [(25_000, "within"), (25_001, "above"), (18_000, "within")]
)
def test_a_rating_is_compared_with_its_own_speed(speed_rpm, word):
    answer = answers_bench.balance_against_speed(2.5, 25_000, speed_rpm, None)
    assert f"is {word} the rated" in answer.lines[0].text
    assert any("Mass not typed" in note for note in answer.notes)


def test_twelve_gram_millimetres_pull_with_thirteen_newtons_at_ten_thousand():
    """Worked by hand: 12.03e-6 kg·m times the square of 1047.2 rad/s."""
    assert pull_n(12.03, 10_000) == pytest.approx(13.19, abs=0.01)
    assert eccentric_g_mm(120, 20) == pytest.approx(1.2)


def test_an_adapter_at_the_square_changes_nothing_and_a_longer_one_lowers_the_setting():
    short = answers_bench.wrench_setting(80_000, 400_000, 1)
    long = answers_bench.wrench_setting(80_000, 400_000, 400_000)
    assert short.lines[0].text.startswith("79.9 N·m")
    assert [line.text.split(" =")[0] for line in long.lines] == ["40 N·m", "160 N·m"]


def test_a_torque_is_the_same_in_every_unit():
    texts = {line.label: line.text for line in answers_bench.torque_in_units(135_581.8).lines}
    assert texts["In N·m"] == "135.6 N·m"
    assert texts["In lbf·ft"] == "100 lbf·ft"
    assert texts["In lbf·in"] == "1200 lbf·in"


@given(st.lists(st.tuples(SIZES_UM, st.floats(-1e5, 1e5)), min_size=1, max_size=6))
def test_the_common_centre_lies_among_the_parts(pairs):
    whole = mass_and_centre([MassPart("", mass, centre) for mass, centre in pairs])
    centres = [centre for _, centre in pairs]
    assert min(centres) - 1e-3 <= whole.centre_um <= max(centres) + 1e-3


def test_parts_without_mass_have_no_centre():
    with pytest.raises(ValueError, match="mass"):
        mass_and_centre([])


def test_a_cylinder_has_its_centre_in_the_middle():
    """Steel Ø 40 × 60: 0.592 kg, worked by hand with 7850 kg/m³."""
    body = turned_body(40_000, 40_000, 60_000, "steel")
    assert body.mass_g == pytest.approx(592, abs=0.5)
    assert body.centre_um == pytest.approx(30_000)


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (MeasuredLife(60, 81), MeasuredLife(60, 36)),
        (MeasuredLife(60, 36), MeasuredLife(90, 81)),
        (MeasuredLife(60, 36), MeasuredLife(90, 36)),
        (MeasuredLife(60, 36.000001), MeasuredLife(90, 36)),
        (MeasuredLife(60, 81), MeasuredLife(60.000001, 36)),
    ],
)
def test_two_tests_that_settle_no_falling_line_are_refused(first, second):
    with pytest.raises(ValueError, match="test"):
        taylor_line(first, second)


@pytest.mark.parametrize("wanted", [59.9, 90.1])
def test_outside_the_tested_speeds_nothing_is_said(wanted):
    tests = MeasuredLife(60, 81), MeasuredLife(90, 36)
    with pytest.raises(ValueError, match="Outside"):
        answers_cutting.life_at_speed(*tests, wanted)
    assert answers_cutting.life_at_speed(*tests, 60).lines[0].text == "81 min"
    assert answers_cutting.life_at_speed(*tests, 90).lines[0].text == "36 min"


def lives(count):
    return [Life(100 + 37 * n % 300, LifeEnd.WORN) for n in range(count)]


@pytest.mark.parametrize(
    ("count", "median", "shape"), [(4, False, False), (5, True, False), (10, True, True)]
)
def test_own_lives_say_as_much_as_their_number_allows(count, median, shape):
    answer = answers_life.lives_of_own(lives(count), None)
    texts = {line.label: line.text for line in answer.lines}
    assert texts["Lives"] == f"{count}, of which {count} worn or broken"
    assert texts["Median life"].startswith("not said") is not median
    assert ("Weibull shape" in texts) is shape
    assert answer.table is not None


def test_a_planned_age_is_not_said_from_a_few_lives():
    answer = answers_life.lives_of_own(lives(9), Costs(1, 5))
    assert answer.lines[-1].text.startswith("not said")
    answer = answers_life.lives_of_own(lives(10), Costs(1, 5))
    assert answer.lines[-1].text.startswith("at ")


def test_lives_that_are_all_cut_short_have_no_table():
    answer = answers_life.lives_of_own([Life(10, LifeEnd.IN_USE)], None)
    assert answer.table is None
