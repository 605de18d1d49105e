"""Where the tool is, how far it goes and how deep: lines, rapids, offsets and lost places.

Sums stand beside the cases. Source of the rules: NIST IR 6556 (2000), 3.5; where controls differ
from it the case says so.
"""

import math

import pytest

from assemblies.rules.nc.reader import read_program
from assemblies.rules.nc.reading import PATH_FIGURES, SIDEWAYS_FIGURES
from crib.rules.finding import Level
from tests.assemblies.nc_figures import codes, doubts, read, use_of

RAPID = {"rapid_path_length", "deepest_z_rapid"}


@pytest.mark.parametrize(
    ("lines", "feed"),
    [
        (["G1 X3 Y4"], 5),
        (["G1 X2 Y3 Z6"], 7),
        (["G1 X3", "X3 Y4", "X0"], 3 + 4 + 3),
        (["G1 X-3", "G91 X5", "G90 X0"], 3 + 5 + 2),
        (["G0 X10", "G1 X4"], 6),
        (["G20 G1 X1 F9"], 25.4),
        (["G1 X1", "G20 X1 F9"], 1 + 24.4),  # one inch from one millimetre
        (["G20 G91 G1 X1 F9", "G21 X1 F9"], 25.4 + 1),
        (["G1 X10 G90", "G91 X0", "G90 X10"], 10),
        (["#1=4", "G1 X[#1+2]"], 6),
        (["G1 X1", "(X50)", "; X60", "X2"], 2),
    ],
)
def test_straight_feed_moves_add_up(lines, feed):
    use = use_of(*lines)
    assert use.feed_path_length == pytest.approx(feed)
    assert use.rapid_path_length == (10 if lines[0].startswith("G0") else 0)


def test_feed_and_rapid_are_kept_apart_and_added_over_all_calls():
    lines = ["G0 X3 Y4", "G1 X4", "T2 M6", "S9 M3", "G0 X9", "T1 M6", "S9 M3", "G1 X19 F50"]
    reading = read(*lines)
    one, two = reading.tool_uses[1], reading.tool_uses[2]
    assert (one.feed_path_length, one.rapid_path_length) == (1 + 10, 5)
    assert (two.feed_path_length, two.rapid_path_length) == (0, 5)


@pytest.mark.parametrize(
    ("lines", "fed", "rapid"),
    [
        (["G0 Z5", "G1 Z-2", "G0 Z5"], -2, 5),
        (["G0 Z-1", "G1 X5"], -1, -1),  # fed at the depth a rapid reached
        (["G0 Z5"], None, 5),
        (["G1 Z-3", "G0 X5"], -3, -3),
        (["G91 G0 Z-2", "G1 Z-3"], -5, -2),
        (["G1 Z3"], 0, None),  # it starts at Z0
    ],
)
def test_depths_of_feed_moves_and_of_rapids(lines, fed, rapid):
    use = use_of(*lines)
    assert (use.deepest_z, use.deepest_z_rapid) == (fed, rapid)


def test_a_rapid_below_every_feed_move_is_told():
    reading = read("G0 Z5", "G1 Z-2", "G0 Z-2.5", "T2 M6")
    notes = [n for n in reading.findings if n.code == "depth-rapid"]
    assert [(n.severity, n.tool_number) for n in notes] == [(Level.CHECK, 1)]
    assert "depth-rapid" not in codes(read("G0 Z5", "G1 Z-2", "G0 Z-2"))


def test_rapids_are_held_against_the_feed_moves_of_their_own_work_offset():
    lines = ["G1 Z-2", "G55 G0 Z-9", "G1 Z-10", "G54 G0 Z5"]
    assert "depth-rapid" not in codes(read(*lines))


def test_depths_by_work_offset():
    lines = ["G0 Z5", "G1 Z-2", "G0 Z5", "G59.3 G0 X0 Y0 Z5", "G1 Z-7"]
    use = use_of(*lines)
    assert use.deepest_z_by_work_offset == {"G54": -2, "G59.3": -7}
    assert use.deepest_z == -7


# Lost places


@pytest.mark.parametrize("line", ["G28 G91 Z0", "G30 Z5", "G53 G0 Z0", "G28", "G53 G0 X1 Y1 Z0"])
def test_the_machines_own_places_leave_only_rapids_open(line):
    lines = ["G0 Z5", "G1 Z-2", line, "G90 G0 X0 Y0", "Z5", "G1 Z-3", "X4"]
    reading = read(*lines)
    assert reading.complete
    use = reading.tool_uses[1]
    assert doubts(use) == RAPID
    assert (use.feed_path_length, use.deepest_z) == (7 + 8 + 4, -3)


@pytest.mark.parametrize(
    ("lines", "figures"),
    [
        (["G28 Z0", "G1 X5"], {"feed_path_length", "cutting_time", "deepest_z"}),
        (["G53 G0 Z0", "G1 X5"], {"deepest_z"}),
        (["G53 G0 Z0", "G1 Z-5"], {"feed_path_length", "cutting_time", "deepest_z"}),
        (["G53 G1 X0"], {"feed_path_length", "cutting_time"}),
        (["G0 Z5", "G55 G1 Z-5"], {"feed_path_length", "cutting_time", "deepest_z"}),
        (["G1 X#5"], {"feed_path_length", "cutting_time"}),
    ],
)
def test_a_feed_move_from_a_place_nobody_knows_is_admitted(lines, figures):
    reading = read(*lines)
    assert "position-not-known" in codes(reading, Level.UNKNOWN)
    assert not reading.complete
    by_offset = {"deepest_z_by_work_offset"} if "deepest_z" in figures else set()
    assert doubts(reading.tool_uses[1]) - RAPID == figures | by_offset


def test_a_way_in_increments_is_known_from_anywhere():
    use = use_of("G53 G0 X0", "G91 G1 X5")
    assert (use.feed_path_length, use.exact["feed_path_length"]) == (5, True)
    use = use_of("G53 G0 X0 Y0", "G91 G2 X10 I5")
    assert use.feed_path_length == pytest.approx(5 * math.pi)


# The zero


@pytest.mark.parametrize(
    ("lines", "feed"),
    [
        # At X4 `G92 X7` gives an offset of -3, then `G92 X9` one of -5 (3.5.18, printed).
        (["G0 X4", "G92 X7", "G1 X7"], 0),
        (["G0 X4", "G92 X7", "G92 X9", "G1 X10"], 1),
        (["G0 X4", "G92 X7", "G92.1", "G1 X4"], 0),
        (["G0 X4", "G92 X7", "G92 X9", "G92.2", "G1 X4"], 0),
        (["G0 X4", "G92 X7", "G92.2", "G92.3", "G1 X7"], 0),
        (["G0 X4", "G92 X7", "G91 G1 X2"], 2),
        (["G0 X4", "G20 G92 X1", "G21 G1 X25.4"], 0),
        (["G53 G0 X0", "G92 X7", "G1 X9"], 2),  # wherever it is, it is called 7
        # Both offsets given by the program: from X5 of the one to X5 - 10 of the other.
        (["G10 L2 P1 X1", "G10 L2 P2 X11", "G0 X5", "G55 G1 X5"], 10),
        (["G10 L2 P1 X1", "G0 X5", "G10 L2 P1 X3", "G1 X3"], 0),
        # Before its first word an axis stands at 0 in whatever system is in force.
        (["G55 G1 X3"], 3),
    ],
)
def test_a_moved_zero_changes_where_a_move_starts(lines, feed):
    reading = read(*lines)
    use = reading.tool_uses[1]
    assert use.feed_path_length == pytest.approx(feed)
    assert use.exact["feed_path_length"]


@pytest.mark.parametrize(
    "line",
    [
        "G55",
        "G92.3",
        "G10 L2 P1 X9",
        "G10 L20 P1 X9",
        "G10 L2 P0 X9",
        "G10 L2 P1 X9 R30",
        "G10 P1 X9",
        "G91 G10 L2 P1 X9",
        "G92",
        "G92 X#9",
        "G53",
        "X1..2",
        "G4 X2",
    ],
)
def test_a_zero_moved_by_what_is_not_told_loses_the_place(line):
    reading = read("G0 X5", line, "G90 G1 X6")
    assert not reading.complete
    assert not reading.tool_uses[1].exact["feed_path_length"]


# What is not followed


@pytest.mark.parametrize(
    "line",
    ["A90", "G1 X1 B5", "U5", "X1 ,R2", "X1 R5", "G1 I5", "X1 Q2", "X1 L2", "X1 P2", "G10 L20 P1"],
)
def test_what_bends_one_move_touches_the_path_of_one_tool(line):
    lines = ["G1 X0", line, "T2 M6", "S9 M3", "G0 X0 Y0 Z0", "G1 X9"]
    reading = read(*lines)
    assert not reading.complete
    assert set(PATH_FIGURES) <= doubts(reading.tool_uses[1])
    assert not doubts(reading.tool_uses[1]) & {"spindle_speed_max", "rotation", "dwell_time"}
    assert doubts(reading.tool_uses[2]) <= RAPID


@pytest.mark.parametrize(
    ("bend", "end"),
    [
        ("G68 X0 Y0 R30", "G69"),
        ("G51 X1 Y1", "G50"),
        ("G51.1 X1", "G50.1"),
        ("G16", "G15"),
        ("G12.1", "G13.1"),
        ("G43.4 H1", "G49"),
        ("G41.1 D1", "G40"),
        ("G90.1", "G91.1"),
    ],
)
def test_what_bends_the_path_holds_until_its_own_end(bend, end):
    cut = ["S9 M3", "G0 X0 Y0 Z5", "G1 X9"]
    reading = read(bend, "T2 M6", *cut, end, "T3 M6", *cut, "T4 M6", *cut)
    assert set(PATH_FIGURES) <= doubts(reading.tool_uses[2])
    assert doubts(reading.tool_uses[3]) <= RAPID  # the first rapid starts where nobody knows
    assert doubts(reading.tool_uses[4]) == set()


@pytest.mark.parametrize("line", ["G5.1 Q1", "G52 X5", "G17 G18", "G90 G91", "/G91", "/G55"])
def test_what_has_no_certain_end_bends_the_path_for_good(line):
    reading = read(line, "T2 M6", "S9 M3", "G0 X0 Y0 Z5", "G1 X9")
    assert set(PATH_FIGURES) <= doubts(reading.tool_uses[2])


@pytest.mark.parametrize("line", ["G69", "G15", "G50", "G50.1", "G13.1", "G40 G49 G80 G69 G15"])
def test_the_end_of_a_bend_that_was_none_is_an_everyday_word(line):
    reading = read(line, "G1 X5")
    assert reading.complete
    assert doubts(reading.tool_uses[1]) == set()


def test_radius_offsets_follow_the_path_of_the_words_and_say_so():
    reading = read("G41 D1", "G1 X10", "G40", "T2 M6", "S9 M3", "G1 X20")
    use = reading.tool_uses[1]
    assert (use.feed_path_length, use.radius_offsets) == (10, {1})
    assert doubts(use) == set(SIDEWAYS_FIGURES)
    assert doubts(reading.tool_uses[2]) == set()
    assert reading.complete


def test_a_radius_offset_in_another_plane_leaves_the_depth_open():
    use = read("G18", "G41 D1", "G1 X10 Z-1", "G40").tool_uses[1]
    assert doubts(use) == set(PATH_FIGURES)


def test_a_probe_ends_where_it_touches_so_its_path_is_open_and_the_rest_is_not():
    lines = ["G0 Z5", "G38.2 Z-10 F50", "G0 Z5", "T2 M6", "S9 M3", "G0 X0 Z5", "G1 X5 F100"]
    reading = read(*lines)
    assert reading.complete
    assert doubts(reading.tool_uses[1]) == set(PATH_FIGURES)
    assert doubts(reading.tool_uses[2]) == set()
    assert reading.tool_uses[1].deepest_z == -10


def test_a_block_that_may_be_skipped_loses_the_axes_it_names():
    reading = read("G0 X0 Y0", "/X50", "T2 M6", "S9 M3", "G1 Y5", "T3 M6", "S9 M3", "G1 X5")
    assert doubts(reading.tool_uses[2]) == set()
    assert not reading.tool_uses[3].exact["feed_path_length"]


def test_the_length_offset_moves_no_point_of_the_programmed_path():
    use = use_of("G0 Z5", "G43 H1", "G1 Z-5", "G49", "Z5")
    assert use.feed_path_length == 20
    assert doubts(use) == set()


@pytest.mark.parametrize(
    ("lines", "figure"),
    [(["M8 M9"], "coolant"), (["H#9"], "length_offsets"), (["D3"], "radius_offsets")],
)
def test_a_doubt_touches_only_its_own_figure(lines, figure):
    reading = read(*lines, "G1 X5")
    assert not reading.complete
    assert figure in doubts(reading.tool_uses[1])
    assert not doubts(reading.tool_uses[1]) & {*PATH_FIGURES, "spindle_speed_max", "feed_rate_max"}


# Least increments


@pytest.mark.parametrize(
    ("lines", "feed"),
    [
        (["G1 X1000"], 1),
        (["G1 X1000."], 1000),
        (["G1 X-.5"], 0.5),
        (["G20 G1 X10000 F9"], 25.4),
        (["G91 G2 X20000 I10000"], 10 * math.pi),
        (["G2 X20000 R10000"], 10 * math.pi),
        (["G1 X[1000]"], 1000),  # a computed value counts in whole units
    ],
)
def test_lengths_without_a_point_count_the_least_increment_where_the_machine_does(lines, feed):
    assert use_of(*lines, counts_least_increments=True).feed_path_length == pytest.approx(feed)


def test_pecks_and_retracts_count_the_least_increment_too():
    use = use_of(
        "G0 Z5000", "G83 X0 Z-10000 R2000 Q5000", counts_least_increments=True, peck_back_off_mm=1
    )
    assert use.feed_path_length == pytest.approx(12 + 2)


@pytest.mark.parametrize("with_point", [True, False])
def test_the_quick_way_counts_least_increments_as_well(with_point):
    dot = "." if with_point else ""
    lines = ["G1 X1. Y0. Z0.", *[f"X{n}{dot}" for n in range(2, 10)]]
    use = use_of(*lines, counts_least_increments=True)
    # Without points the second block leads back to 0.002 mm and the others 0.001 mm on.
    assert use.feed_path_length == pytest.approx(9 if with_point else 1 + 0.998 + 0.007)


def test_inches_are_turned_at_the_word():
    metric = use_of("G1 X25.4 Y-50.8", "G2 X50.8 I12.7", "G81 Z-25.4 R2.54")
    inch = use_of("G20", "F3.937007874", "G1 X1 Y-2", "G2 X2 I.5", "G81 Z-1 R.1")
    for figure in ("feed_path_length", "rapid_path_length", "deepest_z", "cutting_time"):
        assert getattr(inch, figure) == pytest.approx(getattr(metric, figure), rel=1e-9)


def test_moves_before_the_first_call_belong_to_no_known_tool():
    reading = read_program(b"G21\nG0 Z5\nG0 X3\nT1 M6\nM30\n")
    assert reading.tool_uses[None].rapid_path_length == 8
    assert reading.tool_uses[1].rapid_path_length == 0
