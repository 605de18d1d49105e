"""Forms seen in shops: none may crash, none may be guessed (common practice, case by case)."""

import pytest

from assemblies.rules.nc.reader import NotAProgram, read_program
from assemblies.rules.nc.reading import ReaderSettings


def read(*lines, **settings):
    return read_program("\n".join(lines).encode(), ReaderSettings(**settings))


def codes(reading):
    return {note.code for note in reading.findings}


def called(reading):
    return [call.tool_number for call in reading.tool_calls]


@pytest.mark.parametrize(
    ("word", "number"),
    [
        ("T01", 1),
        ("T001", 1),
        ("T101", 101),
        ("T1234", 1234),
        ("T00000012", 12),
        ("T12345678", 12345678),
    ],
)
def test_plain_tool_numbers_are_read(word, number):
    reading = read(f"{word} M6", "M30")
    assert called(reading) == [number]
    assert reading.complete


@pytest.mark.parametrize("word", ["T0101", "T0303", "T0005", "T001001", "T1.5", "T-1", "T1.0001"])
def test_doubtful_tool_numbers_are_never_a_number(word):
    reading = read(f"{word} M6", "S100 M3", "G1 X1 F1", "M30")
    assert called(reading) == [None]
    assert not reading.complete
    assert not any(reading.tool_uses[None].exact.values())


@pytest.mark.parametrize(
    "line",
    [
        "T1 M6 T2",
        "S1 S2",
        "M3 M4",
        "S-5",
        "S#500",
        "M#500",
        "G#500",
        "T#500 M6",
        "G96 S200",
        "G50 S2000",
        "G92 S2000",
        "G4 S10",
        "M19",
        "M13",
        "M500",
        "G13",
        "G70",
        "G65 P9010 A1",
        "G66 P9010",
        "M98 P1000 L2",
        "M198 P1",
        "O100 CALL",
        "O<deep> call",
        "WHILE [#1 LT 5] DO1",
        "END1",
        "IF [#1 EQ 2] GOTO 100",
        "GOTO 100",
        "#1=#2+",
        "#3000=1 (ALARM)",
        "T=5",
        'T="MILL"',
        "S1=5000",
        "TOOL CALL 5 Z S2500",
        "L Z+100 R0 FMAX",
        "T1 M6 (NOT CLOSED",
        "T1 M6 (IN (SIDE) OUT)",
        "Ｔ５ M6",
        "ſ5000 M3",
        "T٥ M6",
        "/T2 M6",
        "/2 S3000",
        "N10 /M3",
        "T1 M6 ! S5",
        "M30 %",
        "E5",
        "<<<",
    ],
)
def test_what_may_touch_the_spindle_is_admitted_and_no_figure_is_claimed(line):
    reading = read("T1 M6", "S900 M3", "G1 X1 F1", line, "G1 X2 F1", "M30")
    assert not reading.complete
    assert any(note.line == 4 for note in reading.findings)
    assert not all(use.exact["spindle_speed_max"] for use in reading.tool_uses.values())


@pytest.mark.parametrize(
    "line",
    [
        "G43.4 H1",
        "G68 X0 Y0 R30",
        "G51 X1 Y1",
        "G16",
        "G5.1",
        "G12.1",
        "G90.1",
        "X1 ,C2",
        "X1 ,R1",
        "X1 X2",
        "G17 G18",
        "G54 G55",
        "X#500",
        "X1..2",
        "M8 M9",
        "H5",
        "G10 L20 P1 X0",
        "A90",
    ],
)
def test_what_bends_the_path_only_leaves_speed_and_direction_exact(line):
    reading = read("T1 M6", "S900 M3", "G1 X1 F1", line, "G1 X2 F1", "M30")
    use = reading.tool_uses[1]
    assert not reading.complete
    assert use.exact["spindle_speed_max"]
    assert (use.spindle_speed_max, use.rotation) == (900, {"cw"})


@pytest.mark.parametrize(
    "line",
    ["G90 G94 G17 G0 G80", "G53 G0 Z0", "G28 G91 Z0", "G10 L2 P1 X3.5", "M8", "G97", "M1", "G9 X2"],
)
def test_everyday_blocks_are_understood(line):
    assert read("T1 M6", "S900 M3", "G1 X1 F1", line, "M30").complete


def test_under_constant_surface_speed_no_later_s_is_called_exact():
    reading = read("T1 M6", "G96", "S200 M3", "G1 X1 F1", "M30")
    assert not reading.tool_uses[1].exact["spindle_speed_max"]


def test_a_call_on_the_line_of_the_first_percent_is_admitted():
    reading = read("%T5 M6", "S9 M3", "G1 X1 F1", "M30")
    assert (reading.complete, called(reading)) == (False, [])
    assert read("%1000 (SIDE)", "T1 M6", "M30").complete


@pytest.mark.parametrize("blanks", [1, 79, 80, 500])
def test_a_call_far_behind_the_first_percent_is_admitted(blanks):
    hidden = "%" + " " * blanks + "T9 M6 S30000 M3"
    assert not read(hidden, "T5 M6", "M30").complete
    assert read("%" + " " * blanks, "T5 M6", "M30", "%").complete


def test_text_behind_the_percent_that_ends_the_file_is_told():
    assert "after-end" in codes(read("%", "T5 M6", "% T9 M6 S30000 M3"))
    assert read("%", "T5 M6", "% (END)").complete


@pytest.mark.parametrize(
    "line",
    [
        "T5 M6; S24000 M3; G1 X10 F900;",
        "T5 M6;S24000",
        "T5 M6 ; s 24000 m 3 (START)",
        "N10; S24000 M3",
        "(START); S24000 M3",
        "T5 M6; /S24000",
        "T5 M6; S#1",
        "M5; #1=24000",
        "M30; T9 M6",
    ],
)
def test_nothing_but_program_words_behind_a_semicolon_is_admitted(line):
    reading = read("%", "T1 M6", "S9 M3", line, "M30", "%")
    assert "semicolon-words" in codes(reading)
    assert not reading.complete
    assert not reading.tool_uses[1].exact["spindle_speed_max"]


@pytest.mark.parametrize(
    "line",
    [
        "; S24000 M3",
        "  ; S24000 M3",
        "T5 M6;",
        "T5 M6; ;",
        "T5 M6; 24000",
        "T5 M6; D10 END MILL",
        "T5 M6; LIMIT S24000",
        "M5; X1!",
        "M5; (S24000)",
    ],
)
def test_a_real_comment_behind_a_semicolon_stays_one(line):
    reading = read("%", "T1 M6", "S9 M3", line, "M30", "%")
    assert reading.complete


def test_a_semicolon_behind_the_program_number_hides_nothing():
    assert not read("%", "O1; T5 M6", "T1 M6", "M30", "%").complete
    assert read("%", "O1;", "T1 M6;", "M30;", "%").complete


def test_a_parameter_set_and_used_in_one_block_is_admitted():
    reading = read("#1=5", "T1 M6", "#1=9 S#1 M3", "M30")
    assert "parameter-order" in codes(reading)
    assert not reading.tool_uses[1].exact["spindle_speed_max"]
    assert read("#1=5", "T1 M6", "#1=9 S5 M3", "M30").complete


def test_many_lines_of_another_dialect_are_one_note():
    reading = read(*["L X+10 Y+5 R0 FMAX M3"] * 500, "M30")
    assert len([note for note in reading.findings if note.code == "other-dialect"]) == 2


def test_a_known_parameter_is_evaluated_and_an_unknown_one_admitted():
    assert called(read("#1=4", "T#1 M6", "M30")) == [4]
    assert called(read("#1=4", "T[#1+1] M6", "M30")) == [5]
    reading = read("T#1 M6", "M30")
    assert (called(reading), reading.complete) == ([None], False)


def test_a_parameter_set_in_a_skippable_block_or_by_a_call_is_no_longer_known():
    assert called(read("#1=4", "/#1=5", "T#1 M6", "M30")) == [None]
    assert called(read("#1=4", "M98 P1", "T#1 M6", "M30")) == [None]


def test_an_unread_call_leaves_the_tool_unknown_until_the_next_one():
    reading = read("T1 M6", "TOOL CALL 5 Z S2500", "S9 M3", "G1 X1 F1", "T2 M6", "M30")
    assert reading.tool_uses[1].spindle_speed_max is None
    assert called(reading) == [1, 2]


def test_t_alone_changes_the_tool_only_where_the_shop_says_so():
    lines = ["T5", "S900 M3", "G1 X1 F1", "M30"]
    assert called(read(*lines)) == []
    reading = read(*lines, t_alone_changes=True)
    assert (called(reading), reading.tool_uses[5].spindle_speed_max) == ([5], 900)
    assert reading.complete


def test_g70_and_g71_are_units_only_where_the_shop_says_so():
    reading = read("G71", "G0 X1", "M30", g70_g71_are_units=True)
    assert (reading.length_units, reading.complete) == ({"mm"}, True)


def test_m_codes_named_harmless_by_the_shop_are_passed_over():
    assert read("M10", "M30", harmless_m_codes=frozenset({10})).complete


def test_a_call_inside_a_comment_is_never_a_call():
    assert called(read("(T9 M6)", "; T8 M6", "M30")) == []


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_line_ends_of_every_kind_count_the_same(ending):
    reading = read_program(ending.join(["%", "T1 M6", "M30"]).encode())
    assert [call.line for call in reading.tool_calls] == [2]


@pytest.mark.parametrize(
    "data",
    [
        b"\xef\xbb\xbfT1 M6\nM30",
        b"\x00\x00\x00T1 M6\nM30\n\x1a",
        "T1 M6 (FR\u00c4SER)\nM30".encode("latin-1"),
        "T1\u00a0M6\nM30".encode("latin-1"),
        "T1 M6\nM30".encode("utf-16"),
        b"\tT 1\tM 6\nM 3 0",
    ],
)
def test_marks_leaders_and_blanks_around_the_program_are_passed_over(data):
    reading = read_program(data)
    assert (called(reading), reading.complete) == ([1], True)


@pytest.mark.parametrize(
    "data", [b"PK\x03\x04rest", b"%PDF-1.7", bytes(range(256)) * 9, b"", b"\x00\x00", b" \n\n"]
)
def test_other_files_are_refused_with_a_next_step(data):
    with pytest.raises(NotAProgram, match=r"\. ?[A-Z].*|Unpack|Give|Export"):
        read_program(data)


def test_the_largest_size_is_still_read_and_one_more_is_refused():
    data = b"T1 M6\nM30\n"
    assert read_program(data, ReaderSettings(largest_bytes=len(data))).complete
    with pytest.raises(NotAProgram):
        read_program(data, ReaderSettings(largest_bytes=len(data) - 1))


@pytest.mark.parametrize(
    ("lines", "end", "complete"),
    [
        (["%", "T1 M6", "%"], "%", True),
        (["T1 M6", "M2"], "M2", True),
        (["T1 M6"], "end of file", False),
        (["%", "T1 M6"], "end of file", False),
        (["T1 M6", "%"], "%", False),
        (["T1 M6", "M99"], "M99", False),
        (["%", "T1 M6", "%", "T2 M6"], "%", False),
        (["O1", "T1 M6", "M30", "O2", "T2 M6", "M30"], "M30", False),
        (["O1", "T1 M6", "O2", "T2 M6", "M30"], "end of file", False),
        (["%", "T1 M6", "M30", "%", "(ONLY A COMMENT)"], "M30", True),
    ],
)
def test_the_first_program_is_read_to_its_end_and_the_rest_is_told(lines, end, complete):
    reading = read(*lines)
    assert (called(reading), reading.end_of_program, reading.complete) == ([1], end, complete)


@pytest.mark.parametrize(
    ("line", "number", "name"),
    [("O1234 (SIDE)", "1234", "SIDE"), (":12", "12", ""), ("<SIDE>", "", "SIDE")],
)
def test_program_numbers_and_names_are_taken(line, number, name):
    reading = read("%", line, "M30")
    assert (reading.program_number, reading.program_name) == (number, name)


@pytest.mark.parametrize(
    "line",
    [
        "X" + "[" * 5000 + "1" + "]" * 5000,
        "X" + "1 " * 600 + "!",
        "X" + "1" * 5000,
        "X" + "-" * 5000,
        "#" * 5000,
        "()" * 5000,
        ",C1" * 5000,
        "#1=[1/0]",
        "#1=[[0-8]**0.5]",
        "#1=SQRT[-1]",
        "#1=EXP[99999]",
        "#1=[10**400]",
        "G81 X1 L999999999",
        "X1e400",
        "T99999999999 M6",
        "#5400=1",
        "#0=1",
        "[",
        "X",
        "N",
        "/",
        "#",
        "#1=",
        "X[1",
        "XATAN[1]",
        "\x0b\x0c",
    ],
)
def test_hostile_lines_are_answered(line):
    assert read("T1 M6", line, "M30").block_count >= 2
