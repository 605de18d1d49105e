"""Programs that were once read wrongly and called whole: now right, or admitted.

Each case says what controls make of it. Where two of them differ, the reader may not choose.
"""

import json

import pytest

from assemblies.rules.nc import execution, subprograms
from assemblies.rules.nc.reader import NotAProgram, read_program
from assemblies.rules.nc.reading import FIGURES, PATH_FIGURES, ReaderSettings
from crib.rules.finding import Level
from tests.assemblies.nc_figures import codes, doubts, read, use_of


def read_lines(*lines, **settings):
    return read_program("\n".join([*lines, ""]).encode(), ReaderSettings(**settings))


def unknown(reading):
    return codes(reading, Level.UNKNOWN)


# Rows of holes

ROW = ("G0 Z25", "G90 G98 G82 X0 Y0 Z-10 R2 P1")


@pytest.mark.parametrize("line", ["R5", "G82 R5", "P3", "L5", "I1", "G99 R5", "M8 R5"])
def test_a_word_of_a_row_without_an_axis_word_is_no_silent_nothing(line):
    # A new value, one more hole, or an error: the hole behind it was read with the old R.
    reading = read(*ROW, line, "X10")
    assert unknown(reading) >= {"not-understood", "cycle-word"}
    assert {*PATH_FIGURES, "dwell_time"} <= doubts(reading.tool_uses[1])


@pytest.mark.parametrize("line", ["M8", "F50", "G4 P1", "S900", "G54", "G64 P1"])
def test_a_block_without_words_of_a_row_leaves_it_alone(line):
    reading = read(*ROW, line, "X10")
    assert reading.complete
    assert reading.tool_uses[1].feed_path_length == 24


def test_the_words_of_a_call_in_a_row_are_those_of_the_call():
    reading = read(*ROW, "M98 P2 L2", "X10", "M30", "O2", "M9", "M99")
    assert unknown(reading) == {"after-end"}  # the M30 behind the M99
    assert reading.tool_uses[1].feed_path_length == 24


@pytest.mark.parametrize(
    "lines",
    [
        # Drilled to Z-10 on many controls; by the standard R2 and Z-10 count from Z25 then.
        [*ROW, "G91 X10 L5"],
        ["G0 Z2", "G91 G81 X0 Y0 Z-10 R0", "G90 X10"],
        # R2 is 2 mm on some controls, 2 inches on others.
        [*ROW, "G20", "X1"],
    ],
)
def test_a_row_does_not_go_on_in_another_distance_mode_or_unit(lines):
    reading = read(*lines)
    assert "cycle-word" in unknown(reading)
    assert not reading.complete


@pytest.mark.parametrize(
    ("lines", "feed"),
    [
        ([*ROW, "G91 X10 Z-12 R-23"], 12 + 12),
        ([*ROW, "G91", "G90", "X10"], 12 + 12),
        ([*ROW, "G20", "X1 Z-1 R1 F9"], 12 + 2 * 25.4),
    ],
)
def test_words_given_anew_go_on_in_the_mode_in_force(lines, feed):
    reading = read(*lines)
    assert reading.complete
    assert reading.tool_uses[1].feed_path_length == pytest.approx(feed)


def test_the_way_out_of_a_hole_that_the_operator_leads_is_not_known():
    assert doubts(use_of("G0 Z5", "G88 X0 Z-1 R1 P1")) == {"rapid_path_length"}
    assert doubts(use_of("G0 Z5", "G86 X0 Z-1 R1 P1")) == set()


# Words that serve something else


@pytest.mark.parametrize(
    ("line", "figures"),
    [
        ("M3 P2 S9000", FIGURES),  # the second spindle
        ("S9000 P1", FIGURES),
        ("T2 M6 Q1", FIGURES),
        ("T2 L1", FIGURES),
        ("G54 P3", PATH_FIGURES),  # an offset behind G59
        ("G17 Q3", ()),
        ("G50.1 X0", PATH_FIGURES),  # the mirror of X ends, nothing moves
        ("G50 X0 Z0", PATH_FIGURES),  # the zero is set
    ],
)
def test_a_word_that_no_code_asks_for_is_admitted(line, figures):
    reading = read("G0 X5 Y5", line, "G0 X0 Y0 Z5", "G1 X9")
    assert "not-understood" in unknown(reading)
    assert set(figures) <= doubts(reading.tool_uses[1])


@pytest.mark.parametrize("line", ["P5", "G64 P0.01", "G4 P1", "M1 P0", "G69 X0", "G10 L2 P2 X0"])
def test_a_word_that_its_code_asks_for_stays_understood(line):
    assert read("G0 X5", line).complete


def test_s_beside_g92_may_be_a_limit_also_with_axis_words():
    reading = read("G92 X0 Y0 S2000", "M3")
    assert "spindle_speed_max" in doubts(reading.tool_uses[1])
    assert not reading.complete


def test_two_settings_that_hang_together_are_admitted():
    # By the standard #2 is the old 5, on controls that go from left to right the new 6.
    assert "parameter-order" in unknown(read("#1=5", "#1=6 #2=#1"))
    assert read("#1=5", "#3=#1", "#1=6 #2=7").complete


# Changes of the tool


@pytest.mark.parametrize("lines", [["M6"], ["M6", "T2"], ["S900 M3", "M6"]])
def test_a_second_change_without_a_selection_may_bring_back_the_tool_before(lines):
    reading = read_lines("T2 M6", "T1 M6", *lines, "M30")
    assert "change-no-selection" in unknown(reading)
    assert not any(reading.tool_uses[1].exact.values())


def test_a_change_behind_a_selection_is_one_wherever_the_selection_stands():
    assert read_lines("T1 M6", "T2", "M8", "M6", "T1", "T1 M6", "M30").complete
    assert read_lines("T1", "M6", "T2", "M6", "M30", t_alone_changes=True).complete


# Offsets of the tool


def test_a_length_offset_without_its_word_may_be_the_one_before():
    # The standard takes the tool's own number, controls with a modal H the last one written.
    reading = read("G43 H1 Z9 G0", "T2 M6", "S9 M3", "G43 Z9", "G1 X5")
    assert doubts(reading.tool_uses[2]) == {"length_offsets"}
    note = next(n for n in reading.findings if n.code == "length-offset")
    assert (note.severity, note.tool_number) == (Level.CHECK, 2)


def test_a_length_offset_without_its_word_is_the_tools_own_where_none_was_written():
    reading = read("G43 Z9 G0", "T2 M6", "S9 M3", "G43 Z9", "G1 X5")
    assert (reading.tool_uses[2].length_offsets, doubts(reading.tool_uses[2])) == ({2}, set())


def test_a_radius_offset_without_its_word_may_be_the_one_before():
    assert "radius_offsets" in doubts(use_of("G1 G41 D13 X1", "G40 X2", "G41 X3"))
    assert "radius_offsets" not in doubts(use_of("G1 G41 D1 X1", "G40 X2", "G41 X3"))


def test_an_offset_of_the_tool_before_that_stays_in_force_is_a_warning():
    reading = read("G43 H1 Z9 G0", "T2 M6", "S9 M3", "G1 X5")
    assert reading.tool_uses[2].length_offsets == {1}
    assert "length_offsets" in doubts(reading.tool_uses[2])
    assert "length-offset" in codes(reading, Level.CHECK)
    again = read("G43 H1 Z9 G0", "T1 M6", "S9 M3", "G1 X5")
    assert "length-offset" not in codes(again)
    ended = read("G43 H1 Z9 G0", "G49", "T2 M6", "S9 M3", "G1 X5")
    assert "length-offset" not in codes(ended)


def test_a_radius_offset_that_outlives_its_tool_is_not_called_exact():
    reading = read("G1 G41 D1 X1", "T2 M6", "S9 M3", "G1 X5")
    assert "radius_offsets" in doubts(reading.tool_uses[2])


# Subprograms and ends


def test_a_main_program_that_runs_into_its_own_subprogram_has_no_end():
    reading = read_lines("O1", "G21 T1 M6", "M98 P2", "O2", "G1 X5 F9", "M99")
    assert "no-end" in unknown(reading)
    assert not reading.complete


def test_a_computed_number_may_be_packed_as_well():
    reading = read_lines("O1", "#1=20002", "M98 P#1", "M30", "O20002", "M8", "M99")
    assert "subprogram" in unknown(reading)


def test_a_subprogram_with_the_number_of_the_main_program_is_not_followed():
    reading = read_lines("O2", "T1 M6", "M98 P2", "M30", "O2", "G1 X5", "M99")
    assert "subprogram" in unknown(reading)


def test_lines_of_many_called_subprograms_are_told_from_the_rest():
    stack = subprograms.CallStack()
    stack.found = {
        3: subprograms.Subprogram(3, 8, runs=1, last_line=9),
        2: subprograms.Subprogram(2, 5, runs=2, last_line=6),
        4: subprograms.Subprogram(4, 11),
    }
    is_read = stack.lines_read()
    assert [line for line in range(1, 15) if is_read(line)] == [4, 5, 6, 7, 8, 9]


def test_an_end_mark_inside_the_text_is_admitted_and_behind_it_is_not():
    before = b"G21\nT1 M6 (" + b"." * 200 + b")\n"
    assert not read_program(before + b"\x1a\nT2 M6\nM30\n").complete
    assert not read_program(before + b"M8\x1a\nM30\n").complete
    assert read_program(before + b"M30\n\x1a\r\n").complete


@pytest.mark.parametrize("kind", ["T{n} M6", "T{n}"])
def test_a_file_of_nothing_but_changes_is_refused(monkeypatch, kind):
    monkeypatch.setattr(execution, "MOST_CHANGES", 20)
    lines = [kind.format(n=n) for n in range(21)]
    assert read_lines(*lines[:20], "M30").tool_uses is not None
    with pytest.raises(NotAProgram, match="Split"):
        read_lines(*lines, "M30")


# Numbers


@pytest.mark.parametrize(
    ("lines", "figure", "exact"),
    [
        (["G95 F10", "G1 X1."], "feed_rate_max", False),
        (["G95 F.1", "G1 X1."], "feed_rate_max", True),
        (["G20", "F10", "G1 X1."], "feed_rate_max", False),
        (["G20", "F10.", "G1 X1.", "X2. F20."], "feed_rate_max", True),
        (["G20", "F10.", "G1 X1.", "X2. F20"], "feed_rate_max", False),
        (["F10", "G1 X1."], "feed_rate_max", True),
        (["G4 P5"], "dwell_time", False),
        (["G4 P5."], "dwell_time", True),
        (["G4 P0"], "dwell_time", True),
    ],
)
def test_where_lengths_count_in_steps_feeds_and_dwells_may_as_well(lines, figure, exact):
    use = use_of(*lines, counts_least_increments=True)
    assert use.exact[figure] is exact
    assert use_of(*lines).exact[figure]


@pytest.mark.parametrize(
    "lines",
    [
        ["G0 Z9", "G83 X0 Z-1 R1 Q#1"],
        ["G1 X1000000 F#1"],
        ["G93", "G1 X1 F#1"],
        ["G95 S#1", "G1 X1 F#1"],
    ],
)
def test_a_computed_number_next_to_nothing_is_nothing(lines):
    reading = read("#1=EXP[-744]", *lines)
    json.dumps(reading.as_dict(), allow_nan=False)
    assert not reading.tool_uses[1].exact["cutting_time"]


@pytest.mark.parametrize(
    ("end", "complete"),
    [
        ("X10. Y.0009", False),  # no way at all or a full circle, where 0.001 mm is one step
        ("X10. Y.0011", True),
        ("X10. Y-.0001", True),  # nearly a full circle, and rounded a full one
        ("X10. Y0", True),
    ],
)
def test_an_arc_shorter_than_a_step_of_a_control_is_admitted(end, complete):
    assert read("G0 X10.", f"G3 {end} I-5 J0").complete is complete
