"""Arcs: radius, turn, length and lowest point, worked out by hand beside each case.

NIST IR 6556 (2000), 3.5.3: centre format counts from the start, R above zero takes the short way,
the direction is that seen from the positive end of the third axis.
"""

import math

import pytest

from assemblies.rules.nc.arcs import ArcFault, arc_about, arc_of_radius
from assemblies.rules.nc.reading import PATH_FIGURES
from crib.rules.finding import Level
from tests.assemblies.nc_figures import codes, doubts, read, use_of

QUARTER, HALF = math.pi / 2, math.pi


@pytest.mark.parametrize(
    ("way", "centre", "clockwise", "turn"),
    [
        ((10, 10), (10, 0), True, -QUARTER),  # from 9 o'clock over 12 o'clock
        ((10, 10), (10, 0), False, 3 * QUARTER),  # the other way round
        ((20, 0), (10, 0), True, -HALF),
        ((20, 0), (10, 0), False, HALF),
        ((0, 0), (10, 0), True, -2 * HALF),  # end in the start: all the way round
        ((0, 0), (10, 0), False, 2 * HALF),
        ((10, -10), (10, 0), True, -3 * QUARTER),
        ((10, -10), (10, 0), False, QUARTER),
    ],
)
def test_an_arc_about_a_centre_turns_the_way_it_says(way, centre, clockwise, turn):
    arc = arc_about(way, centre, clockwise)
    assert arc.turn == pytest.approx(turn)
    assert arc.length == pytest.approx(10 * abs(turn))


@pytest.mark.parametrize(
    ("radius", "clockwise", "turn", "centre"),
    [
        # Over a way of (10, 10) with R10 the quarter circle has its centre at a corner.
        (10, True, -QUARTER, (10, 0)),
        (10, False, QUARTER, (0, 10)),
        (-10, True, -3 * QUARTER, (0, 10)),
        (-10, False, 3 * QUARTER, (10, 0)),
    ],
)
def test_a_radius_takes_the_short_way_and_a_negative_one_the_long(radius, clockwise, turn, centre):
    arc = arc_of_radius((10, 10), radius, clockwise)
    assert arc.turn == pytest.approx(turn)
    assert arc.centre == pytest.approx(centre)


@pytest.mark.parametrize("clockwise", [True, False])
@pytest.mark.parametrize("radius", [7.3, 12.5, -12.5, 400.0])
def test_both_ways_to_write_an_arc_mean_the_same(radius, clockwise):
    by_radius = arc_of_radius((3.0, -14.0), radius, clockwise)
    about = arc_about((3.0, -14.0), by_radius.centre, clockwise)
    assert (about.radius, about.turn) == pytest.approx((by_radius.radius, by_radius.turn))


def test_half_a_turn_by_radius():
    assert arc_of_radius((20, 0), 10, True).length == pytest.approx(10 * math.pi)


@pytest.mark.parametrize(
    ("end", "accepted"),
    # Radius 10 at the start; 0.01 mm of difference is still taken, a little more is not.
    [((20.0099, 0), True), ((20.0101, 0), False), ((19.9901, 0), True), ((19.9899, 0), False)],
)
def test_radii_may_differ_by_a_hundredth(end, accepted):
    if accepted:
        assert arc_about(end, (10, 0), True).radius == pytest.approx((10 + end[0] - 10) / 2)
    else:
        with pytest.raises(ArcFault):
            arc_about(end, (10, 0), True)


@pytest.mark.parametrize(("end", "accepted"), [(2000.99, True), (2001.01, False)])
def test_large_radii_may_differ_by_a_thousandth(end, accepted):
    # Radius 1000 at the start, end - 1000 at the end: a thousandth of the mean is 1.0005.
    if accepted:
        assert arc_about((end, 0), (1000, 0), True).spread == pytest.approx(end - 2000)
    else:
        with pytest.raises(ArcFault):
            arc_about((end, 0), (1000, 0), True)


@pytest.mark.parametrize(
    ("radius", "accepted"), [(10.0, True), (9.9901, True), (9.9899, False), (-9.9899, False)]
)
def test_a_radius_shorter_than_half_the_way_does_not_reach(radius, accepted):
    if accepted:
        assert arc_of_radius((20, 0), radius, True).length == pytest.approx(10 * math.pi)
    else:
        with pytest.raises(ArcFault):
            arc_of_radius((20, 0), radius, True)


@pytest.mark.parametrize(
    ("way", "centre"), [((1, 0), (0, 0)), ((1, 0), (1, 0)), ((0, 0), (0, 0)), ((0.005, 0), (-5, 0))]
)
def test_words_that_describe_no_arc_are_refused(way, centre):
    with pytest.raises(ArcFault):
        arc_about(way, centre, True)


@pytest.mark.parametrize(
    ("words", "length"),
    [
        # From (7, 7, 9), printed in the report: centre (10, 11), radius 5; turn 143.130 degrees.
        (["G0 X7 Y7 Z9", "G17 G2 X10 Y16 I3 J4 Z9"], 5 * math.radians(143.13010)),
        (["G0 X10 Y0", "G3 X0 Y10 I-10"], 10 * QUARTER),
        (["G0 X10 Y0", "G2 X0 Y10 I-10"], 10 * 3 * QUARTER),
        (["G0 X10 Y0", "G3 X0 Y10 R10"], 10 * QUARTER),
        (["G0 X10 Y0", "G3 X0 Y10 R-10"], 10 * 3 * QUARTER),
        (["G2 I5"], 10 * math.pi),
        (["G2 X0 Y0 J-5"], 10 * math.pi),
        (["G91 G2 X0 I5"], 10 * math.pi),
        (["G91 G3 X20 I10"], 10 * math.pi),
        # A helix: a full turn of radius 3 while Z falls by 4: hypot(6 pi, 4).
        (["G2 I3 Z-4"], math.hypot(6 * math.pi, 4)),
        (["G2 X6 Z-4 R3"], math.hypot(3 * math.pi, 4)),
        (["G18 G2 X10 I5"], 5 * math.pi),
        (["G18 G2 X10 K0 I5 Y3"], math.hypot(5 * math.pi, 3)),
        (["G18 G3 Z10 R5"], 5 * math.pi),
        (["G19 G2 Y10 J5"], 5 * math.pi),
        (["G19 G3 Y10 J5 X2"], math.hypot(5 * math.pi, 2)),
        # An inch program: half a turn of 1 in, pi x 25.4 mm.
        (["G20 G2 X2 I1 F9"], math.pi * 25.4),
    ],
)
def test_arcs_have_the_length_worked_out_by_hand(words, length):
    use = use_of(*words)
    assert use.feed_path_length == pytest.approx(length, rel=1e-7)
    assert use.exact["feed_path_length"]


@pytest.mark.parametrize(
    ("words", "deepest"),
    [
        (["G0 Z2", "G2 I3 Z-4"], -4),  # a helix goes as deep as its end
        (["G0 Z-1", "G1 Z3"], -1),  # the start of a feed move counts
        # Z and X in this order: G2 from the lower X runs through low Z.
        (["G18 G2 X10 I5"], -5),
        (["G18 G3 X10 I5"], 0),
        (["G18 G3 X-10 I-5"], -5),
        (["G18 G2 I5"], -5),
        (["G18 G2 X5 Z5 K5"], 0),  # centre above, down to nowhere: Z0 to Z5
        (["G18 G2 X-5 Z5 K5"], 0),
        (["G18 G3 X-5 Z-5 I-5"], -5),  # a quarter that ends in its lowest point
        (["G19 G3 Y10 J5"], -5),
        (["G19 G2 Y10 J5"], 0),
        (["G19 G2 Y-10 J-5"], -5),
        (["G19 G2 J3 K-4"], -9),  # centre 4 below, radius 5
    ],
)
def test_the_bulge_of_an_arc_counts_for_the_depth(words, deepest):
    use = use_of(*words)
    assert use.deepest_z == pytest.approx(deepest)
    assert use.deepest_z_by_work_offset == {"G54": use.deepest_z}
    assert use.exact["deepest_z"]


@pytest.mark.parametrize(("end", "exact"), [(10.004, True), (10.0041, False)])
def test_a_bulge_of_doubtful_radius_is_no_exact_depth(end, exact):
    # Radii 5 and 5.004: the lowest point is known within 0.002 mm.
    assert use_of(f"G18 G2 X{end} I5").exact["deepest_z"] is exact


@pytest.mark.parametrize(
    "words",
    [
        "G2 X10",
        "G2 X10 K5",
        "G18 G2 X10 J5",
        "G2 X10 I5 R5",
        "G2 X0 Y0 R5",
        "G2 R5",
        "G2 X30 R5",
        "G2 X10 I7",
        "G2 X10 I#1",
        "G2 X#1 I5",
        "G2 X10 R#1",
        "G2 X10 I5 P2",
    ],
)
def test_faulty_arcs_are_admitted_and_touch_the_path_only(words):
    reading = read("G1 Z-1", words, "G1 X50 Y0", "T2 M6", "S9 M3", "G1 X51")
    use = reading.tool_uses[1]
    assert not reading.complete
    assert codes(reading, Level.UNKNOWN) <= {
        "arc-fault",
        "not-understood",
        "position-not-known",
    }
    assert doubts(use) == set(PATH_FIGURES)
    assert doubts(reading.tool_uses[2]) == set()


def test_after_a_faulty_arc_the_next_tool_starts_where_its_words_led():
    reading = read("G2 X30 R5", "T2 M6", "S9 M3", "G1 X31")
    assert reading.tool_uses[2].feed_path_length == pytest.approx(1)
    assert reading.tool_uses[2].exact["feed_path_length"]
