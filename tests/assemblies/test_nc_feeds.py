"""Times: what F means, how long a move takes, and dwells kept apart.

Source: NIST IR 6556 (2000), 3.5.19 and 3.7.1; G95 is common practice. Sums beside the cases.
"""

import math

import pytest

from assemblies.rules.nc.reading import FEED_FIGURES
from crib.rules.finding import Level
from tests.assemblies.nc_figures import codes, doubts, read, use_of

TIMED = {*FEED_FIGURES, "cutting_time"}


@pytest.mark.parametrize(
    ("lines", "minutes"),
    [
        (["G1 X50"], 50 / 100),
        (["G1 X50", "X100 F200"], 50 / 100 + 50 / 200),
        (["F200", "G0 X50", "G1 X100"], 50 / 200),
        (["G20", "F10", "G1 X10"], 10 / 10),  # 10 in at 10 in/min
        # A helix is timed along itself: hypot(6 pi, 4) at 100 mm/min.
        (["G2 I3 Z-4"], math.hypot(6 * math.pi, 4) / 100),
        (["G0 X500"], 0),
        (["G95 F0.1", "G1 X50"], 50 / (0.1 * 1000)),
        (["G95 F0.1", "G1 X50", "S500", "X100"], 50 / 100 + 50 / 50),
        (["G20", "G95 F.01", "G1 X1"], 25.4 / (0.254 * 1000)),
        # G93: each move takes 1/F minutes, F2.0 half a minute (printed).
        (["G93", "G1 X50 F2.0"], 0.5),
        (["G93", "G1 X50 F2", "X60 F4", "G94 X70 F100"], 0.5 + 0.25 + 0.1),
        (["G93", "G2 I5 F4"], 0.25),
    ],
)
def test_the_time_of_feed_moves(lines, minutes):
    use = use_of(*lines)
    assert use.cutting_time == pytest.approx(minutes)
    assert use.exact["cutting_time"]
    assert use.exact["feed_rate_max"]


def test_inverse_time_gives_the_rate_that_the_move_runs_at():
    use = use_of("G93", "G1 X50 F2", "G1 X60 F3")  # 50 mm in 1/2 min, 10 mm in 1/3 min
    assert (use.feed_rate_max, use.feed_rate_min) == (100, 30)


@pytest.mark.parametrize(
    ("lines", "severity"),
    [
        (["G93", "G1 X50"], Level.STOP_SOFT),
        (["G93 F2", "G1 X50"], Level.STOP_SOFT),  # F stands on another block
        (["G93", "G1 X5 F2", "X50"], Level.STOP_SOFT),
        (["G95", "G1 X5"], Level.STOP_SOFT),
        (["G95 F1", "G94 G1 X5"], Level.CHECK),
        (["G1 X5 F0"], Level.CHECK),
    ],
)
def test_a_move_without_its_feed_leaves_the_time_open(lines, severity):
    reading = read(*lines)
    assert "no-feed" in codes(reading, severity)
    assert doubts(reading.tool_uses[1]) == TIMED
    assert reading.tool_uses[1].exact["feed_path_length"]


@pytest.mark.parametrize(
    "lines",
    [
        ["F#9", "G1 X5"],
        ["G20 F5", "G1 X1"],  # F on the block that changes the unit
        ["G20", "G1 X1"],  # F of the other unit
        ["G93 G95", "G1 X5"],
    ],
)
def test_a_feed_in_doubt_leaves_the_time_open_and_the_path_exact(lines):
    use = read("T2 M6", "S9 M3", *lines).tool_uses[2]
    assert doubts(use) >= TIMED
    assert use.exact["feed_path_length"]


def test_a_feed_that_may_be_skipped_leaves_the_time_of_later_tools_open_too():
    reading = read("/F200", "T2 M6", "S9 M3", "G1 X5")
    assert doubts(reading.tool_uses[2]) == TIMED


def test_feed_per_revolution_of_a_spindle_in_doubt_leaves_rate_and_time_open():
    use = use_of("G95 F0.1", "S#9", "G1 X5")
    assert not use.exact["feed_rate_max"]
    assert not use.exact["cutting_time"]
    assert use.exact["feed_per_revolution_max"]


@pytest.mark.parametrize(
    ("lines", "minutes", "exact"),
    [
        (["G4 P30"], 0.5, True),
        (["G4 P.5", "G4 P1.5"], 2 / 60, True),
        (["G4 P99"], 99 / 60, True),
        (["G4 P100."], 100 / 60, True),
        (["G4 P100"], 100 / 60, False),
        (["G4"], 0, False),
        (["G4 P#9"], 0, False),
        (["G4 P-1"], 0, False),
    ],
)
def test_dwells_are_kept_apart_from_cutting(lines, minutes, exact):
    use = use_of(*lines)
    assert use.dwell_time == pytest.approx(minutes)
    assert use.exact["dwell_time"] is exact
    assert use.cutting_time == 0


def test_a_dwell_belongs_to_the_tool_in_the_spindle():
    reading = read("G4 P6", "T2 M6", "G4 P12")
    assert reading.tool_uses[1].dwell_time == pytest.approx(0.1)
    assert reading.tool_uses[2].dwell_time == pytest.approx(0.2)
