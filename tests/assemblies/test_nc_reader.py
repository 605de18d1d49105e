"""Which tool, at which speed, turning which way: the walk through a program.

Expected values follow NIST IR 6556 (2000), table 8 and 3.5 to 3.7, worked out by hand.
"""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assemblies.rules.nc.reader import read_program, walk_text
from assemblies.rules.nc.reading import FIGURES, ProgramReading, ReaderSettings
from crib.rules.finding import Level

SAMPLES = Path(__file__).parent.parent / "data" / "nc"


def read(*lines, **machine):
    return read_program("\n".join(lines).encode(), ReaderSettings(**machine))


def codes(reading, severity=None):
    return {n.code for n in reading.findings if severity is None or n.severity == severity}


def called(reading):
    return [call.tool_number for call in reading.tool_calls]


def sample(name):
    return read_program((SAMPLES / name).read_bytes())


def test_a_whole_program_is_read_exactly():
    reading = sample("cabinet_side.nc")
    assert reading.complete
    assert (reading.program_number, reading.program_name) == ("4120", "INVENTED: CABINET SIDE")
    assert [(call.tool_number, call.line, call.block_number) for call in reading.tool_calls] == [
        (1, 8, "20"),
        (3, 18, "120"),
        (4, 25, "190"),
    ]
    speeds = {number: use.spindle_speed_max for number, use in reading.tool_uses.items()}
    assert speeds == {1: 18000, 3: 16000, 4: 15000}
    assert all(use.rotation == {"cw"} for use in reading.tool_uses.values())
    assert all(all(use.exact.values()) for use in reading.tool_uses.values())
    assert (reading.tool_uses[1].feed_rate_min, reading.tool_uses[1].feed_rate_max) == (2500, 4000)
    assert reading.tool_uses[3].cycles == {81}
    assert reading.tool_uses[3].length_offsets == {3}
    assert (reading.tool_uses[3].first_line, reading.tool_uses[3].last_line) == (18, 24)
    assert reading.end_of_program == "M30"


def test_a_selection_is_named_with_its_line():
    assert [call.selected_on_line for call in sample("cabinet_side.nc").tool_calls] == [8, 16, 25]


def test_inch_feeds_are_turned_into_millimetres_and_m4_is_counter_clockwise():
    reading = sample("inch_panel.nc")
    use = reading.tool_uses[7]
    assert use.feed_rate_max == pytest.approx(254.0)
    assert use.rotation == {"ccw"}
    assert use.coolant == {"flood"}
    assert (reading.program_number, reading.unit_at_first_motion) == ("77", "inch")
    assert reading.complete


def test_a_speed_left_over_from_the_tool_before_is_told_with_its_line():
    reading = sample("speed_left_over.nc")
    note = next(n for n in reading.findings if n.code == "speed-carried")
    assert (note.severity, note.line, note.tool_number) == (Level.CHECK, 8, 2)
    assert "S24000 of line 4" in note.text
    assert reading.tool_uses[2].spindle_speed_max == 24000
    assert reading.tool_uses[2].spindle_speed_carried == 24000
    assert reading.tool_uses[1].spindle_speed_carried is None


def test_speed_on_the_change_block_belongs_to_the_new_tool():
    reading = read("T1 M6", "S5000 M3", "G1 X1 F9", "T2 M6 S900 M3", "G1 X2 F9", "M30")
    assert reading.tool_uses[1].spindle_speed_max == 5000
    assert reading.tool_uses[2].spindle_speed_max == 900
    assert "speed-carried" not in codes(reading)


def test_change_start_and_move_in_one_block_run_in_the_order_of_table_8():
    reading = read("G1 X10 F100 S1000 M3 M6 T5", "M30")
    use = reading.tool_uses[5]
    assert (called(reading), use.spindle_speed_max, use.rotation) == ([5], 1000, {"cw"})
    assert None not in reading.tool_uses


@pytest.mark.parametrize("block", ["T2 M6", "M6 T2", "m6t2", "T02 M06", "T2.00005 M6"])
def test_word_order_and_form_do_not_change_the_call(block):
    assert called(read(block, "M30")) == [2]


def test_the_last_of_several_selections_is_changed_in():
    reading = read("T1", "T2", "T3", "M6", "M30")
    assert called(reading) == [3]
    assert reading.selected_only == [1, 2]


SPEED_OF_5 = [
    (["S24000 M3", "S12000", "G1 X10 F900", "M30"], 24000, 12000),
    (["S24000 M3", "M0", "S12000", "G1 X10 F900", "M30"], 24000, 12000),
    (["S12000 M3", "G1 X10 F900", "S24000", "M5", "M30"], 24000, 12000),
    (["S12000 M3", "G1 X10 F900", "S24000 M5", "M30"], 24000, 12000),
    (["S12000 M3", "G1 X10 F900", "S24000 M30"], 24000, 12000),
    (["S12000 M3", "G1 X10 F900", "S24000", "T3 M6", "M30"], 24000, 12000),
    (["S12000 M3", "G1 X10 F900", "S24000 T3", "M6", "M30"], 24000, 12000),
    (["S12000 M3", "S24000 M4", "S8000 M3", "M30"], 24000, 8000),
    (["M3 S12000", "G1 X10 F900", "M30"], 12000, 12000),
    (["G97 S12000 M3", "M30"], 12000, 12000),
    # On the block of the change it is the new tool's, and stopped it turns nothing.
    (["S12000 M3", "G1 X10 F900", "T3 M6 S24000", "M30"], 12000, 12000),
    (["S12000 M3", "G1 X10 F900", "M5", "S24000", "M30"], 12000, 12000),
    (["S12000 M3", "M5", "S24000", "S9000", "M3", "M30"], 12000, 9000),
    (["S24000", "S12000", "M3", "G1 X10 F900", "M30"], 12000, 12000),
    (["S24000 M5", "S12000 M3", "G1 X10 F900", "M30"], 12000, 12000),
    (["S12000 M3", "G0 X1", "S0", "M5", "M30"], 12000, 12000),
]


@pytest.mark.parametrize(("lines", "largest", "smallest"), SPEED_OF_5)
def test_every_speed_counts_while_the_spindle_turns_and_none_while_it_stands(
    lines, largest, smallest
):
    reading = read("G21 T5 M6", *lines)
    use = reading.tool_uses[5]
    assert (use.spindle_speed_max, use.spindle_speed_min) == (largest, smallest)
    assert reading.complete
    assert use.exact["spindle_speed_max"]


def test_a_speed_that_no_move_shows_is_told_with_its_line():
    lines = ["T1 M6", "S9000 M3", "S4000", "G4 P1", "S3000", "G0 X1", "M5", "S20000", "M30"]
    reading = read(*lines)
    use = reading.tool_uses[1]
    assert (use.spindle_speed_max, use.spindle_speed_min) == (9000, 3000)
    told = [n.text for n in reading.findings if n.code == "speed-without-move"]
    assert told == ["S9000 of line 2 turned without a move"]


def test_a_carried_speed_counts_although_a_new_one_follows_before_the_move():
    reading = read("T3 M6", "S60000 M3", "G0 X1", "T5 M6", "M3", "S12000", "G0 X2", "M30")
    use = reading.tool_uses[5]
    assert (use.spindle_speed_max, use.spindle_speed_carried) == (60000, 60000)
    assert "speed-carried" in codes(reading, Level.CHECK)


def test_the_largest_of_several_carried_speeds_is_kept():
    lines = ["T5 M6", "M3", "T3 M6", "S100 M3", "T5 M6", "M3", "M30"]
    use = read("T3 M6", "S60000 M3", *lines).tool_uses[5]
    assert use.spindle_speed_carried == 60000


def test_a_start_before_any_speed_is_never_called_exact():
    reading = read("T5 M6", "M3", "S12000", "G1 X1 F9", "M30")
    assert not reading.tool_uses[5].exact["spindle_speed_max"]
    assert "no-speed" in codes(reading, Level.CHECK)


@pytest.mark.parametrize(
    "lines",
    [
        ["S24000 M3", "G1 X10 F900"],
        ["S24000 M3"],
        ["M3"],
        ["M4 S100", "M5"],
        ["T5", "S24000 M3", "G1 X10 F900"],
        ["S0 M3", "S100", "M5"],
    ],
)
def test_a_spindle_turning_before_the_first_change_is_admitted(lines):
    reading = read("G21", *lines, "T5 M6", "S12000 M3", "G1 X20 F900", "M30")
    assert "before-first-change" in codes(reading, Level.UNKNOWN)
    assert not reading.complete


@pytest.mark.parametrize(
    "lines", [["G28 Z0"], ["G0 X0", "M5"], ["S5000"], ["M5 M9"], ["G4 P1"], ["S0 M3"], ["T5"]]
)
def test_a_safe_start_that_turns_nothing_stays_complete(lines):
    cut = ["T5 M6", "S12000 M3", "G90 G0 X0 Y0 Z5", "G1 X20 F900", "M30"]
    assert read("G21", *lines, *cut).complete


def test_a_tool_waiting_while_the_change_names_another_is_admitted():
    reading = read("T1", "M6 T2", "S900 M3", "G0 X1", "M30")
    assert "change-order" in codes(reading, Level.UNKNOWN)
    assert not reading.tool_uses[2].exact["spindle_speed_max"]


@pytest.mark.parametrize(
    "lines", [["T1", "T1 M6"], ["T1 M6", "T2", "T2 M6"], ["T1 M6", "T2", "T1 M6"], ["T1", "M6"]]
)
def test_a_call_in_line_with_what_waits_or_with_earlier_calls_is_read(lines):
    assert read(*lines, "M30").complete


def test_the_change_stops_the_spindle_so_an_unstarted_tool_is_not_claimed():
    reading = read("T1 M6", "S900 M3", "G1 X1 F9", "T2 M6", "G1 X2 F9", "M30")
    use = reading.tool_uses[2]
    assert use.rotation == set()
    assert not use.exact["spindle_speed_max"]
    assert not reading.complete


def test_tool_zero_empties_the_spindle():
    assert called(read("T1 M6", "T0 M6", "M30")) == [1, 0]


def test_calls_of_one_tool_are_added_up():
    reading = read("T1 M6", "S100 M3", "G0 X1", "T2 M6", "T1 M6", "S200 M4", "G0 X2", "M30")
    use = reading.tool_uses[1]
    assert (use.calls, use.spindle_speed_max, use.rotation) == (2, 200, {"cw", "ccw"})
    assert called(reading) == [1, 2, 1]


def test_what_runs_before_the_first_change_is_kept_apart():
    reading = read("S500 M3", "G1 X1 F5", "T1 M6", "S900 M3", "G1 X2 F5", "M30")
    assert reading.tool_uses[None].spindle_speed_max == 500
    assert reading.tool_uses[1].spindle_speed_max == 900


def test_feed_per_revolution_gives_a_rate_with_the_speed():
    reading = read("G21 T1 M6", "S1000 M3 G95 F0.2", "G1 X1", "M30")
    use = reading.tool_uses[1]
    assert (use.feed_per_revolution_max, use.feed_rate_max) == (0.2, 200)


@pytest.mark.parametrize(
    ("lines", "code", "severity"),
    [
        (["T1 M6", "M3 S1", "G1 X1", "M30"], "no-feed", Level.CHECK),
        (["T1 M6", "M3 S1 F5 G95", "G94 G1 X1", "M30"], "no-feed", Level.CHECK),
        (["T1 M6", "M3 S1", "G95 G1 X1", "M30"], "no-feed", Level.STOP_SOFT),
        (["T1 M6", "S1", "G1 X1 F1", "M30"], "no-spindle", Level.CHECK),
        (["T1 M6", "M3", "G1 X1 F1", "M30"], "no-speed", Level.CHECK),
        (["T1 M6", "M3 S0", "G1 X1 F1", "M30"], "no-speed", Level.CHECK),
        (["F9", "T1 M6", "M3 S1", "G1 X1", "M30"], "feed-carried", Level.NOTE),
        (["T1 M6", "G43 H2", "M30"], "length-offset", Level.CHECK),
        (["T1 M6", "S1 M3", "G1 X1 F1", "M30"], "no-length-offset", Level.CHECK),
        (["T1 M6", "G41 D2 X1", "M30"], "radius-offset", Level.NOTE),
        (["G21 G0 X1", "G20 G0 X1", "M30"], "unit-switch", Level.CHECK),
        (["G0 X1", "M30"], "unit-switch", Level.NOTE),
        (["G21 G0 X1 F5", "G20 G1 X1 F9", "M30"], "feed-on-unit-block", Level.UNKNOWN),
        (["T1 M6", "T1 M6", "M30"], "repeated-change", Level.NOTE),
        (["M6", "M30"], "change-no-selection", Level.UNKNOWN),
        (["T1 M6", "T2", "M30"], "staged-unused", Level.NOTE),
        (["T5", "M30"], "selected-no-change", Level.UNKNOWN),
        (["T1 M6", "M3 S1", "G74 X1 Z-1 R1 F1", "M30"], "rotation", Level.STOP_SOFT),
        (["T1 M6", "M4 S1", "G84 X1 Z-1 R1 F1", "M30"], "rotation", Level.STOP_SOFT),
        (["T1 M6", "G84 X1 Z-1 R1 F1", "M30"], "rotation", Level.UNKNOWN),
        (["G4 P2000", "M30"], "dwell-unit", Level.CHECK),
        (["T1 M6", "S9 M3", "G0 X1", "S99 G1 X2 F1 M5", "M30"], "stop-timing", Level.UNKNOWN),
    ],
)
def test_traps_are_named(lines, code, severity):
    reading = read(*lines)
    assert code in codes(reading, severity)
    assert reading.complete is (Level.UNKNOWN not in {n.severity for n in reading.findings})


def test_the_block_with_m5_itself_raises_no_stopped_spindle():
    reading = read("T1 M6", "S9 M3", "G1 X1 F1", "G1 X2 M5", "M30")
    assert "no-spindle" not in codes(reading)


@pytest.mark.parametrize("quick", [True, False])
def test_a_feed_move_behind_the_block_with_m5_is_checked(quick):
    text = "G21 T1 M6\nS9 M3\nG1 X1 F1\nG1 X2 M5\nX3\nM30\n"
    reading = walk_text(text, ProgramReading("", 0), ReaderSettings(), quick=quick)
    assert [n.line for n in reading.findings if n.code == "no-spindle"] == [5]


WEIGHED = [
    (["S1 M3", "G43 H6"], "length-offset", Level.CHECK),
    (["S1", "G1 X1 F1"], "no-spindle", Level.CHECK),
    (["S0 M3", "G1 X1 F1"], "no-speed", Level.CHECK),
    (["S1 M3", "G94 G1 X1"], "no-feed", Level.CHECK),
    (["S1 M3", "G95 G1 X1"], "no-feed", Level.STOP_SOFT),
    (["S1 M3", "G93 G1 X1"], "no-feed", Level.STOP_SOFT),
    (["S1 M4", "G84 X1 Z-1 R1 F1"], "rotation", Level.STOP_SOFT),
]


@pytest.mark.parametrize(("lines", "code", "severity"), WEIGHED)
def test_what_the_verdict_weighs_names_its_tool(lines, code, severity):
    reading = read("G21 T2 M6", "T5 M6", *lines, "M30")
    found = [(n.severity, n.tool_number) for n in reading.findings if n.code == code]
    assert found == [(severity, 5)]


def test_a_graver_finding_is_not_hidden_by_a_milder_one_of_its_kind():
    reading = read("G21 T1 M6", "S1 M3", "G1 X1", "G95 G1 X2", "M30")
    found = [n.severity for n in reading.findings if n.code == "no-feed"]
    assert found == [Level.CHECK, Level.STOP_SOFT]


def test_tapping_with_the_right_direction_is_silent():
    reading = read("T1 M6", "S9 M3", "G84 X1 Z-1 R1 F1", "M30")
    assert "rotation" not in codes(reading)
    assert reading.tool_uses[1].exact["rotation"]


def test_fixed_offset_shops_hear_nothing_of_offsets():
    reading = read("T1 M6", "S1 M3 G43 H2", "G1 X1 F1", "M30", fixed_length_offsets=True)
    assert not codes(reading) & {"length-offset", "no-length-offset"}
    assert reading.tool_uses[1].length_offsets == {2}


def test_an_f_of_the_other_unit_is_not_called_exact():
    reading = read("G21 F100", "T1 M6", "S1 M3", "G20", "G1 X1", "M30")
    assert not reading.tool_uses[1].exact["feed_rate_max"]


def test_lines_after_the_end_are_not_executed():
    reading = read("T1 M6", "M30", "T2 M6")
    assert called(reading) == [1]
    assert [n.line for n in reading.findings if n.code == "after-end"] == [3]


def test_the_machines_own_unit_is_used_until_the_program_says():
    reading = read("T1 M6", "S1 M3", "G1 X1 F1", "M30", default_units="inch")
    assert reading.tool_uses[1].feed_rate_max == pytest.approx(25.4)


@pytest.mark.parametrize("name", ["cabinet_side.nc", "speed_left_over.nc", "inch_panel.nc"])
def test_the_quick_way_and_the_general_way_agree(name):
    text = (SAMPLES / name).read_text()
    both = [
        walk_text(text, ProgramReading("", 0), ReaderSettings(), quick=quick).as_dict()
        for quick in (True, False)
    ]
    assert both[0] == both[1]


BLOCKS = st.sampled_from(
    [
        "X1 Y2",
        "G0 Z5.",
        "G1 Z-1. F300",
        "X3 F900.",
        "G2 X4 Y1 I1 J0",
        "N100000 X1",
        "S400",
        "M8",
        "T2 M6",
        "M3",
        "M5",
        "X6 F900 M5",
        "S0",
        "T3",
        "M4 S700",
        "; S9",
        "X7; T4 M6",
        "T5 #1=2+",
        "G20",
        "G21",
        "F12",
        "/X5",
        "G43 H2",
        "G81 X1 Z-1 R1",
        "G80",
        "G93",
    ]
)


@settings(max_examples=150, deadline=None)
@given(st.lists(BLOCKS, max_size=40))
def test_both_ways_agree_on_any_mixture_of_blocks(blocks):
    text = "\n".join(["G21 T1 M6", "S900 M3", *blocks, "M30", ""])
    both = [
        walk_text(text, ProgramReading("", 0), ReaderSettings(), quick=quick).as_dict()
        for quick in (True, False)
    ]
    assert both[0] == both[1]


def test_every_figure_of_a_use_has_its_mark():
    use = read("T1 M6", "M30").tool_uses[1]
    assert set(use.exact) == set(FIGURES)
    assert all(hasattr(use, figure) for figure in FIGURES)


def test_notes_of_one_kind_are_capped_and_counted():
    reading = read("T1 M6", *["M500"] * 80, "M30")
    notes = [n for n in reading.findings if n.code == "not-understood"]
    assert len(notes) == 51
    assert notes[-1].text.startswith("30 more")


def test_each_tool_keeps_its_own_warning_however_many_others_have():
    calls = [line for tool in range(1, 201) for line in (f"T{tool} M6", "G43 H999", "G43 H999")]
    notes = [n for n in read(*calls, "M30").findings if n.code == "length-offset"]
    assert {n.tool_number for n in notes} == {*range(1, 201), None}
    assert notes[-1].text.startswith("175 more")


def test_more_warnings_than_can_be_kept_leave_the_reading_incomplete():
    calls = [line for tool in range(1, 1002) for line in (f"T{tool} M6", "G43 H9999")]
    assert read(*calls[:2000], "M30").complete
    reading = read(*calls, "M30")
    assert "too-many-notes" in codes(reading, Level.UNKNOWN)
    assert not reading.complete
