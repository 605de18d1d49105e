"""Worked examples and sums by hand against the reader.

The examples are those printed in NIST IR 6556 (2000), with the section they stand in; where the
report prints no length the sum stands beside the figure. Section numbers beyond 3.3.2.3 are from
memory. Lengths mm, times min, from X0 Y0 Z0.
"""

from itertools import permutations

import pytest

from assemblies.rules.nc.reader import read_program
from assemblies.rules.nc.reading import ReaderSettings

START = ("G21 G90 G17 G94", "T1 M6", "S1000 M3")


def read(*lines, **settings):
    text = "\n".join([*START, *lines, "M30", ""])
    return read_program(text.encode(), ReaderSettings(**settings))


def figure(name, *lines, **settings):
    """One figure of tool 1, of a program that is read whole and of a figure that is exact."""
    reading = read(*lines, **settings)
    assert reading.complete, [note.text for note in reading.findings]
    use = reading.tool_uses[1]
    assert use.exact[name]
    return getattr(use, name)


def near(value):
    return pytest.approx(value, abs=0.0005)


# ---------------------------------------------------------------- the printed examples

NUMBERS = [
    # 3.3.2.2: `#1+2` is (#1)+2, `#[1+2]` is #3, `##2` is the parameter that #2 names.
    ("X[#1+2]", 7),
    ("X#[1+2]", 11),
    ("X##2", 11),
    # 3.3.2.3: 2/3 = 0.667, x 1.5 = 1; 5.5/11 = 0.5; 1 - 0.5.
    ("X[2.0 / 3 * 1.5 - 5.5 / 11.0]", 0.5),
    # 3.3.2.4: FIX goes down, FUP goes up, also below zero.
    ("XFIX[2.8]", 2),
    ("XFIX[-2.8]", 3),
    ("XFUP[2.8]", 3),
    ("XFUP[-2.8]", 2),
]


@pytest.mark.parametrize(("word", "length"), NUMBERS)
def test_an_expression_leads_as_far_as_the_report_says(word, length):
    lines = ("#1=5 #2=3 #3=11", f"G1 {word} F100")
    assert figure("feed_path_length", *lines) == near(length)


def test_blanks_within_a_number_mean_nothing():
    # 3.3: `g0x +0. 12 34y 7` is `g0 x+0.1234 y7`; sqrt(0.1234^2 + 7^2) = sqrt(49.015228) = 7.0011.
    assert figure("rapid_path_length", "g0x +0. 12 34y 7") == near(7.0011)


def test_a_parameter_is_set_after_the_block_has_used_it():
    # 3.3.2.1: #3 is 15; `#3=6 G1 x#3` goes to 15 and leaves 6, so the way is 15 + 9.
    # Controls differ in this, so the reading may be admitted; what it says is the report's.
    lines = ("#3=15", "#3=6 G1 x#3 F100")
    assert read(*lines).tool_uses[1].feed_path_length == near(15)
    assert read(*lines, "x#3").tool_uses[1].feed_path_length == near(15 + 9)


@pytest.mark.parametrize(("block", "length"), [("#3=15 #3=6", 6), ("#3=6 #3=15", 15)])
def test_the_last_of_two_settings_wins(block, length):
    assert figure("feed_path_length", block, "G1 X#3 F100") == near(length)


def test_all_orders_of_a_block_mean_the_same():
    # 3.3.3: `g40 g1 #3=15 (foo) #4=-7.0`; then to X15 Y-7: sqrt(225 + 49) = 16.5529.
    items = ("g40", "g1", "#3=15", "(foo)", "#4=-7.0")
    lengths = {
        round(figure("feed_path_length", " ".join(order), "X#3 Y#4 F100"), 4)
        for order in permutations(items)
    }
    assert lengths == {16.5529}


def test_a_cycle_and_the_spindle_end_in_one_block():
    # 3.3.4: `G80 M5 (stop motion)`; the S behind it turns nothing.
    lines = ("G81 X1 Z-1 R1 F100", "G80 M5 (stop motion)", "S5000")
    assert figure("spindle_speed_max", *lines) == 1000
    assert figure("feed_path_length", *lines) == near(2)


def test_a_line_number_of_six_digits_is_read():
    # 3.3.1 forbids `N000009`; shops write more digits, so it is read.
    assert figure("feed_path_length", "N000009 G1 X3 F100") == near(3)


def test_the_drilling_example_in_absolute_coordinates():
    # 3.5.16.2: to (4,5,3), down to 2.8, feed to 1.5, back to 3.
    # Rapid: sqrt(1+4+9) to the start, sqrt(9+9) across, 0.2 down, 1.5 up = 3.7417 + 5.9426.
    lines = ("G0 X1 Y2 Z3", "G90 G81 G98 X4 Y5 Z1.5 R2.8 F100")
    assert figure("feed_path_length", *lines) == near(1.3)
    assert figure("deepest_z", *lines) == near(1.5)
    assert figure("rapid_path_length", *lines) == near(9.6843)
    assert figure("cutting_time", *lines) == near(0.013)


def test_the_drilling_example_in_increments_with_three_holes():
    # 3.5.16.2: clear Z 4.8; holes at (5,7) (9,12) (13,17), bottom 4.2: feed 3 x 0.6.
    # Rapid: 3.7417 to the start, 1.8 up, 3 x sqrt(16+25) across, 3 x 0.6 out = 26.5510.
    lines = ("G0 X1 Y2 Z3", "G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3 F100")
    assert figure("feed_path_length", *lines) == near(1.8)
    assert figure("deepest_z", *lines) == near(4.2)
    assert figure("rapid_path_length", *lines) == near(26.5510)


def test_the_arc_example_in_centre_format():
    # 3.5.3.2: from (7,7,9) about (10,11), radius 5. Clockwise from 233.130 to 90 degrees:
    # 143.130 degrees = 2.49809, x 5 = 12.4905.
    lines = ("G0 X7 Y7 Z9", "G17 G2 x 10 y 16 i 3 j 4 z 9 F100")
    assert figure("feed_path_length", *lines) == near(12.4905)


def test_the_arc_example_in_radius_format():
    # 3.5.3.1 prints no start; from X0 Y15 the chord is 10: 2 x asin(5/20) = 0.505361, x 20.
    lines = ("G0 X0 Y15 Z5", "G17 G2 x 10 y 15 r 20 z 5 F100")
    assert figure("feed_path_length", *lines) == near(10.1072)


def test_inverse_time_two_is_half_a_minute():
    assert figure("cutting_time", "G93", "G1 X70 F2.0") == near(0.5)


def test_a_tap_of_two_threads_a_millimetre_turns_300_at_f150():
    # 3.5.16.5: pitch 1/2 mm; 150 / 0.5 = 300. In and out of 11 mm: 22 / 150 = 0.14667 min.
    lines = ("S300", "G0 Z1", "G84 X5 Z-10 R1 F150")
    assert figure("feed_rate_max", *lines) / figure("spindle_speed_min", *lines) == near(0.5)
    assert figure("cutting_time", *lines) == near(0.14667)


def test_g92_shifts_by_three_and_then_by_five():
    # 3.5.18: at X4 `G92 x7` makes X read 7; `G92 x9` makes it read 9. To X10: 3, then 1.
    assert figure("feed_path_length", "G0 X4", "G92 x7", "G1 X10 F100") == near(3)
    assert figure("feed_path_length", "G0 X4", "G92 x7", "G92 x9", "G1 X10 F100") == near(1)


def test_the_end_of_g92_gives_back_the_old_reading_or_is_admitted():
    # The shift is 4 - 9 = -5, so without it X reads 9 - 5 = 4 again: 6 to X10.
    reading = read("G0 X4", "G92 x7", "G92 x9", "G92.1", "G1 X10 F100")
    use = reading.tool_uses[1]
    assert not use.exact["feed_path_length"] or use.feed_path_length == near(6)


@pytest.mark.parametrize("block", ["G10 L2 P1 x 3.5 y 17.2", "G[2*5] L[1+1] P1 x 3.5 y 17.2"])
def test_a_zero_set_by_the_program_moves_what_x_and_y_read(block):
    # 3.5.5 and 3.3.2.3: from zero at 0,0 to 3.5,17.2 X0 Y0 reads Y-17.2;
    # back to X0 Y0: sqrt(12.25 + 295.84) = 17.5525. From a zero nobody named it cannot be known.
    reading = read("G10 L2 P1 X0 Y0", "G0 X0 Y0", block, "G1 X0 Y0 F100")
    use = reading.tool_uses[1]
    assert not use.exact["feed_path_length"] or use.feed_path_length == near(17.5525)
    unnamed = read("G0 X1 Y1", block, "G1 X0 Y0 F100").tool_uses[1]
    assert not unnamed.exact["feed_path_length"]


# ---------------------------------------------------------------- arcs by hand

ARCS = [
    # Quarter: 10 x pi/2.
    (["G3 X10 Y10 I0 J10"], 15.7080),
    # The other way round the same circle from X0 Y0 to X10 Y10: 3/2 pi x 10.
    (["G2 X10 Y10 J10"], 47.1239),
    # Full circle, end words left away: 2 pi x 5.
    (["G2 I5"], 31.4159),
    # Full circle with its end given: the same.
    (["G3 X0 Y0 I5 J0"], 31.4159),
    # Helix, one turn of radius 3, 4 mm down: sqrt((6 pi)^2 + 16) = sqrt(371.306).
    (["G3 X0 Y0 Z-4 I3"], 19.2693),
    # R above 0, chord 10, R 10: 2 x asin(0.5) x 10 = 60 degrees.
    (["G2 X10 R10"], 10.4720),
    # R below 0: the remaining 300 degrees.
    (["G2 X10 R-10"], 52.3599),
    # Half a helix by R: sqrt((pi x 5)^2 + 3^2), with R a little large for rounding: 5.001.
    # 2 x asin(5/5.001) = 3.101595, x 5.001 = 15.51108; squared 240.5936 + 9.
    (["G3 X10 Z3 R5.001"], 15.7985),
    # G18 is Z-X in this order: G3 goes from +Z towards +X. From Z0 X0 about Z-6: a quarter.
    (["G18 G3 X6 Z-6 I0 K-6"], 9.4248),
    # and G2 three quarters of it: 1.5 pi x 6.
    (["G18 G2 X6 Z-6 K-6"], 28.2743),
    # G19, Y-Z: from Y0 Z0 about Y-6 counter-clockwise to Y-6 Z6: a quarter.
    (["G19 G3 Y-6 Z6 J-6"], 9.4248),
    # In G91 end and centre are increments: quarter of radius 4 after X3.
    (["G91 G1 X3", "G3 X4 Y4 J4"], 3 + 6.2832),
    # Inch: half a circle of 1 in radius = pi x 25.4.
    (["G20", "G2 X2 I1 F4"], 79.7965),
]


@pytest.mark.parametrize(("lines", "length"), ARCS)
def test_an_arc_is_as_long_as_the_sum_says(lines, length):
    assert figure("feed_path_length", "F100", *lines) == near(length)


BULGES = [
    # From X0 Z0 about X5, so from -X of the centre. In Z-X order counter-clockwise turns +Z to +X
    # and -X to +Z: half a circle over Z+5; clockwise under Z-5.
    (["G18 G3 X10 Z0 I5 K0"], 0),
    (["G18 G2 X10 Z0 I5 K0"], -5),
    # G19 in Y-Z order: counter-clockwise from -Y of the centre is down to -Z first.
    (["G19 G3 Y10 Z0 J5 K0"], -5),
    (["G19 G2 Y10 Z0 J5 K0"], 0),
    # Full circles: about Z3 the start is the lowest point, about Z-3 the highest.
    (["G18 G2 X0 Z0 K3"], 0),
    (["G18 G2 X0 Z0 K-3"], -6),
    # G17: a helix reaches its end, nothing more.
    (["G17 G2 X0 Y0 Z-4 I5"], -4),
    # The start of a feed move counts too.
    (["G0 Z-7", "G1 Z3"], -7),
]


@pytest.mark.parametrize(("lines", "deepest"), BULGES)
def test_the_deepest_point_of_an_arc_counts_not_only_its_ends(lines, deepest):
    assert figure("deepest_z", "F100", *lines) == near(deepest)


def test_depth_is_kept_apart_by_work_offset():
    lines = ("F100", "G54 G0 X0 Y0 Z5", "G1 Z-2", "G0 Z5", "G55 G0 X0 Y0 Z5", "G1 Z-22")
    assert figure("deepest_z_by_work_offset", *lines) == {"G54": near(-2), "G55": near(-22)}
    assert figure("deepest_z", *lines) == near(-22)


@pytest.mark.parametrize(
    "lines",
    [
        # The end lies 8 mm from the centre, the start 5.
        ["G2 X13 Y0 I5"],
        # The chord is 10, R reaches 8.
        ["G2 X10 R4"],
        # By R nobody knows which full circle.
        ["G2 X0 Y0 R5"],
        # Two ways to say the centre.
        ["G2 X10 R8 I5"],
    ],
)
def test_an_arc_that_cannot_be_is_admitted(lines):
    reading = read("F100", *lines)
    assert not reading.complete
    assert not reading.tool_uses[1].exact["feed_path_length"]


# ---------------------------------------------------------------- times by hand

TIMES = [
    # 60 mm at 240, then 60 mm at 120 mm/min: 0.25 + 0.5.
    (["G1 X60 F240", "X0 F120"], 0.75),
    # 2 in at 4 in/min.
    (["G20", "G1 X2 F4"], 0.5),
    # 0.2 mm per revolution at 1000 1/min is 200 mm/min: 50 / 200.
    (["G95", "G1 X50 F0.2"], 0.25),
    # ... and after S500 half of that: 50 / 100 more.
    (["G95", "G1 X50 F0.2", "S500", "X0"], 0.75),
    # Inverse time: F4 is a quarter of a minute for each move, however long.
    (["G93", "G1 X50 F4", "G1 X1 F4", "G2 X3 I1 F4"], 0.75),
    # A helix is paced along its own way: 19.2693 / 100.
    (["G3 X0 Y0 Z-4 I3 F100"], 0.192693),
    # Rapid moves take no cutting time.
    (["G0 X500", "G1 X510 F100"], 0.1),
]


@pytest.mark.parametrize(("lines", "minutes"), TIMES)
def test_cutting_time_is_the_way_over_the_feed(lines, minutes):
    assert figure("cutting_time", *lines) == pytest.approx(minutes, rel=1e-5)


def test_dwell_is_kept_apart_from_cutting():
    lines = ("G1 X10 F100", "G4 P1.5", "G4 P3")
    assert figure("dwell_time", *lines) == pytest.approx(4.5 / 60)
    assert figure("cutting_time", *lines) == pytest.approx(0.1)


# ---------------------------------------------------------------- each cycle by hand

#: From R2 to Z-10: d = 12; Z starts at 5.
CYCLES = [
    ("G81 X1 Z-10 R2", 12, 0),
    ("G82 X1 Z-10 R2 P0.5", 12, 0.5),
    ("G83 X1 Z-10 R2 Q5", 12, 0),
    ("G73 X1 Z-10 R2 Q5", 12, 0),
    ("G84 X1 Z-10 R2", 24, 0),
    ("G85 X1 Z-10 R2", 24, 0),
    ("G86 X1 Z-10 R2 P2", 12, 2),
    # Back boring feeds from Z-10 up to K-4 and back: 2 x 6.
    ("G87 X1 Z-10 R2 I1 J0 K-4", 12, 0),
    ("G88 X1 Z-10 R2 P2", 12, 2),
    ("G89 X1 Z-10 R2 P2", 24, 2),
]


@pytest.mark.parametrize(("block", "length", "seconds"), CYCLES)
def test_each_cycle_feeds_and_waits_as_far_as_its_section_says(block, length, seconds):
    lines = ("G0 Z5", f"{block} F100")
    assert figure("feed_path_length", *lines) == near(length)
    assert figure("cutting_time", *lines) == near(length / 100)
    assert figure("dwell_time", *lines) == near(seconds / 60)
    assert figure("deepest_z", *lines) == near(-10)


@pytest.mark.parametrize(("block", "length", "seconds"), CYCLES)
def test_three_holes_are_three_times_as_long(block, length, seconds):
    lines = ("G0 Z5", f"{block} F100", "X2", "X3 Y1", "G80")
    assert figure("feed_path_length", *lines) == near(3 * length)
    assert figure("dwell_time", *lines) == near(3 * seconds / 60)


@pytest.mark.parametrize(
    ("block", "length"),
    # 12 mm in pecks of 5: 5 + 5 + 2, so two ways back, each 0.25 mm fed once more.
    [("G83 X1 Z-10 R2 Q5", 12.5), ("G73 X1 Z-10 R2 Q5", 12.5), ("G83 X1 Z-10 R2 Q12", 12)],
)
def test_the_way_back_between_pecks_is_fed_again_where_the_machine_says_so(block, length):
    lines = ("G0 Z5", f"{block} F100")
    assert figure("feed_path_length", *lines, peck_back_off_mm=0.25) == near(length)


def test_a_hole_across_another_plane_counts_its_own_axis():
    # G18 drills along Y: from R2 to Y-10 = 12; Z stays at 5.
    lines = ("G0 Z5", "G18 G81 X1 Y-10 R2 F100")
    assert figure("feed_path_length", *lines) == near(12)
    assert figure("deepest_z", *lines) == near(5)
