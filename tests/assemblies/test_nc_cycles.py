"""Drilling cycles: what one hole moves, rows of holes, words that stay.

Expected sums stand beside the cases. Source: NIST IR 6556 (2000), 3.5.16, with its two printed
examples; G73, G74 and the way out of the fed-out cycles are common practice.
"""

import math

import pytest

from assemblies.rules.nc.cycles import pecks
from assemblies.rules.nc.reading import PATH_FIGURES
from crib.rules.finding import Level
from tests.assemblies.nc_figures import codes, doubts, read, use_of

START = "G0 X1 Y2 Z3"


def test_the_first_printed_example():
    # From (1, 2, 3): to (4, 5, 3), down to 2.8, fed to 1.5, up to 3.
    use = use_of(START, "G90 G81 G98 X4 Y5 Z1.5 R2.8")
    assert use.feed_path_length == pytest.approx(1.3)
    assert use.deepest_z == 1.5
    rapids = math.sqrt(1 + 4 + 9) + math.sqrt(18) + 0.2 + 1.5
    assert use.rapid_path_length == pytest.approx(rapids)
    assert doubts(use) == set()


def test_the_second_printed_example():
    # Up to 4.8, holes at (5, 7), (9, 12), (13, 17), each fed 0.6 down to 4.2 and up again.
    lines = [START, "G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3"]
    use = use_of(*lines)
    assert use.feed_path_length == pytest.approx(1.8)
    assert use.deepest_z == pytest.approx(4.2)
    assert use.rapid_path_length == pytest.approx(math.sqrt(14) + 1.8 + 3 * math.sqrt(41) + 1.8)
    # It stands over the third hole: 13, 17, 4.8.
    after = use_of(*lines, "G80 G90 G1 X13 Y17 Z4.8")
    assert after.feed_path_length == pytest.approx(1.8)


@pytest.mark.parametrize(
    ("cycle", "feed", "rapid"),
    [
        # R2 to Z-10: d = 12 mm. Rapids: 3 down to R, then out of the hole and up to Z5.
        ("G81 Z-10 R2", 12, 3 + 12 + 3),
        ("G82 Z-10 R2 P0.5", 12, 3 + 12 + 3),
        ("G86 Z-10 R2 P0.5", 12, 3 + 12 + 3),
        ("G88 Z-10 R2 P0.5", 12, 3 + 12 + 3),
        ("G84 Z-10 R2", 24, 3 + 3),
        ("G85 Z-10 R2", 24, 3 + 3),
        ("G89 Z-10 R2 P0.5", 24, 3 + 3),
        # Three pecks of 5, 5 and 2; out and back after 5 and after 10, 0.5 before the bottom.
        ("G83 Z-10 R2 Q5", 12 + 2 * 0.5, 3 + (5 + 4.5) + (10 + 9.5) + 12 + 3),
        ("G73 Z-10 R2 Q5", 12 + 2 * 0.5, 3 + 2 * 0.5 + 12 + 3),
        # Aside by hypot(3, 4) = 5 four times, down 12, fed from Z-10 up to K-7 and back.
        ("G87 Z-10 R2 I3 J4 K-7", 6, 3 + 4 * 5 + 12 + 12 + 3),
    ],
)
def test_each_cycle_moves_what_its_description_says(cycle, feed, rapid):
    use = use_of("G0 Z5", f"{cycle} X0 Y0", peck_back_off_mm=0.5)
    assert use.feed_path_length == pytest.approx(feed)
    assert use.rapid_path_length == pytest.approx(5 + rapid)
    assert use.cutting_time == pytest.approx(feed / 100)
    assert use.deepest_z == -10
    assert use.cycles == {int(cycle[1:3])}


def test_the_left_hand_tap_is_fed_out_too():
    use = use_of("M4", "G0 Z5", "G74 X0 Z-10 R2")
    assert use.feed_path_length == 24
    assert use.exact["rotation"]


@pytest.mark.parametrize(
    ("depth", "peck", "count"), [(12, 5, 3), (10, 5, 2), (10.001, 5, 3), (0.9, 0.3, 3), (4, 5, 1)]
)
def test_pecks_are_counted_up(depth, peck, count):
    assert pecks(depth, peck) == count


def test_a_rapid_back_into_a_pecked_hole_counts_with_its_end():
    # R2, pecks of 5: back down to R - 10 + 0.5.
    assert use_of("G83 X0 Z-10 R2 Q5", peck_back_off_mm=0.5).deepest_z_rapid == -7.5
    assert use_of("G83 X0 Z-3 R2 Q5").deepest_z_rapid == 2


@pytest.mark.parametrize(
    ("lines", "holes"),
    [
        (["G81 X1 Z-1 R1", "X2", "Y3", "G80"], 3),
        (["G81 X1 Z-1 R1", "G80", "G0 X2"], 1),
        (["G81 X1 Z-1 R1", "G80 X2"], 1),  # axis words with G80 drill nothing
        (["G81 X1 Z-1 R1", "M8", "F50", "X2"], 2),
        (["G81 X1 Z-1 R1 L3"], 3),  # in G90 the same hole three times
        (["G91 G81 X1 Z-2 R0 L3"], 3),
        (["G81 Z-1 R1"], 1),
        (["G81", "G0 X1"], 0),
    ],
)
def test_each_block_with_an_axis_word_is_a_hole(lines, holes):
    assert use_of(*lines).feed_path_length == pytest.approx(2 * holes)


@pytest.mark.parametrize(
    ("lines", "feed"),
    [
        (["G81 X1 Z-1 R1", "X2 Z-5"], 2 + 6),
        (["G81 X1 Z-1 R1", "X2 R3", "X3"], 2 + 4 + 4),
        (["G83 X1 Z-1 R1 Q9", "X2"], 4),
        (["G82 X1 Z-1 R1 P60", "X2 P30"], 4),
    ],
)
def test_words_stay_while_the_code_repeats(lines, feed):
    assert use_of("G0 Z3", *lines).feed_path_length == pytest.approx(feed)


@pytest.mark.parametrize(
    ("lines", "way"),
    [
        # Over (10, 0): back at the level before (Z20), or at R.
        (["G0 Z20", "G98 G81 X10 Z-5 R2", "G80 G1 Z20"], 7 + 0),
        (["G0 Z20", "G99 G81 X10 Z-5 R2", "G80 G1 Z20"], 7 + 18),
        (["G81 X10 Z-5 R2", "G80 G1 Z2"], 7 + 0),  # below R: it went up to R first
    ],
)
def test_g98_and_g99_say_where_the_tool_stands_afterwards(lines, way):
    use = use_of(*lines)
    assert use.feed_path_length == pytest.approx(way)
    assert use.exact["feed_path_length"]


def test_the_level_of_g98_behind_g99_is_read_in_two_ways_and_said():
    reading = read("G0 Z20", "G99 G81 X10 Z-5 R2", "G98 X20", "G80 G0 Z20")
    assert doubts(reading.tool_uses[1]) == {"rapid_path_length"}
    reading = read("G0 Z20", "G99 G81 X10 Z-5 R2", "G98 X20", "G80 G1 Z20")
    assert "position-not-known" in codes(reading, Level.UNKNOWN)


@pytest.mark.parametrize(
    ("lines", "feed", "deepest"),
    [
        # Drilled along Y: 6 deep; Z is that of the place.
        (["G0 X0 Y5 Z-2", "G18 G81 X1 Z4 Y-4 R2"], 6, 4),
        (["G0 X5 Y0 Z-2", "G19 G82 Y1 Z-7 X-4 R2 P1"], 6, -7),
        # In G91 R counts from Y5 and Y from R; three holes, each 1 mm lower.
        (["G0 Y5", "G91 G18 G81 Z-1 R-3 Y-6 L3"], 18, -3),
    ],
)
def test_cycles_drill_across_the_plane_in_force(lines, feed, deepest):
    use = use_of(*lines)
    assert use.feed_path_length == pytest.approx(feed)
    assert use.deepest_z == deepest


@pytest.mark.parametrize(
    ("cycle", "minutes", "exact"),
    [
        ("G82 X0 Z-1 R1 P30", 0.5, True),
        ("G82 X0 Z-1 R1 P30 L4", 2.0, True),
        ("G86 X0 Z-1 R1 P15", 0.25, True),
        ("G89 X0 Z-1 R1 P15", 0.25, True),
        ("G82 X0 Z-1 R1", 0.0, False),  # no dwell given
        ("G82 X0 Z-1 R1 P2000", 2000 / 60, False),  # may be milliseconds
        ("G81 X0 Z-1 R1 P3", 0.0, False),  # dwells on some controls
        ("G81 X0 Z-1 R1", 0.0, True),
    ],
)
def test_dwells_of_holes_are_kept_apart(cycle, minutes, exact):
    use = use_of(cycle)
    assert use.dwell_time == pytest.approx(minutes)
    assert use.exact["dwell_time"] is exact
    assert use.cutting_time == pytest.approx(use.feed_path_length / 100)


@pytest.mark.parametrize(
    "lines",
    [
        ["G81 X1 Z-1"],
        ["G81 X1 R1"],
        ["G83 X1 Z-1 R1"],
        ["G83 X1 Z-1 R1 Q0"],
        ["G73 X1 Z-1 R1 Q-2"],
        ["G87 X1 Z-1 R1"],
        ["G81 X1 Z-1 R1", "G82 X2"],  # another code needs words of its own
        ["G81 X1 Z-1 R1", "G0 X2", "G81 X3"],
        ["G81 X1 Z1 R-1"],
        ["G81 X1 Z-1 R1 L0"],
        ["G81 X1 Z-1 R1 L2.5"],
        ["G81 X1 Z-1 R1 K3"],
        ["G81 X1 Z-1 R1 Q3"],
        ["G81 X1 Z-1 R#1"],
        ["G81 X1 Z-1 R1", "G18 X2"],
        ["G93 G81 X1 Z-1 R1 F2"],
        ["G53 G81 X1 Z-1 R1"],
        ["G0 Z9", "G91 G99 G81 X1 Z-1 R-2", "X1"],
    ],
)
def test_holes_that_cannot_be_read_in_one_way_are_admitted(lines):
    reading = read(*lines, "T2 M6", "S9 M3", "G90 G94 G17 G0 X0 Y0 Z5", "G1 X1 F9")
    assert "cycle-word" in codes(reading, Level.UNKNOWN)
    assert set(PATH_FIGURES) <= doubts(reading.tool_uses[1])
    # Only the rapid from the lost place is left open for the next tool.
    assert doubts(reading.tool_uses[2]) <= {"rapid_path_length"}


def test_many_repeats_are_multiplied():
    use = use_of("G91 G81 X1 Z-1 R0 L999999999")
    assert use.feed_path_length == 999999999
    assert use.exact["feed_path_length"]
