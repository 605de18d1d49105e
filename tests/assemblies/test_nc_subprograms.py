"""Subprograms of the same file: followed where there is one way to read them, else admitted."""

import pytest

from assemblies.rules.nc import subprograms as module
from assemblies.rules.nc.reader import read_program
from assemblies.rules.nc.subprograms import subprograms
from assemblies.rules.nc.text import ProgramText
from crib.rules.finding import Level
from tests.assemblies.nc_figures import codes

MAIN = ["%", "O1", "G21 T1 M6", "S1000 M3", "G1 X0 F100"]


def read(*lines, main=MAIN):
    return read_program("\n".join([*main, *lines, ""]).encode())


STEP = ["O2", "G91 G1 X10", "G90", "M99", "%"]


@pytest.mark.parametrize(
    ("call", "feed"),
    [
        ("M98 P2", 10),
        ("M98 P2 L1", 10),
        ("M98 P2 L3", 30),
        ("M98 P0002 L3", 30),
        ("L3 P2 M98", 30),
        ("G1 X5 M98 P2", 15),  # the move first, then the call
        ("G54 G90 M98 P2", 10),
        ("#1=2\nM98 P#1", 10),
    ],
)
def test_a_call_is_followed_as_often_as_it_says(call, feed):
    reading = read(call, "M30", *STEP)
    assert reading.complete
    assert reading.tool_uses[1].feed_path_length == pytest.approx(feed)
    assert all(reading.tool_uses[1].exact.values())
    assert reading.end_of_program == "M30"


def test_calls_nest_and_bring_their_own_tools():
    lines = ["M98 P2 L2", "G1 X1", "M30", "O2", "M98 P3", "M99", "O3", "T2 M6 S9 M3", "M99", "%"]
    reading = read(*lines)
    assert [(c.tool_number, c.line) for c in reading.tool_calls] == [(1, 3), (2, 13), (2, 13)]
    assert reading.complete


def test_eight_calls_deep_is_followed_and_nine_is_not():
    def chain(deepest):
        lines = ["M98 P2", "M30"]
        for number in range(2, deepest + 2):
            call = f"M98 P{number + 1}" if number <= deepest else "G91 G1 X1"
            lines += [f"O{number}", call, "M99"]
        return read(*lines, "%")

    assert chain(8).complete
    assert "subprogram" in codes(chain(9), Level.UNKNOWN)


@pytest.mark.parametrize(
    "call",
    [
        "M98 P31000",
        "M98 P00010002",
        "M98",
        "M98 P7",
        "M98 P1",  # the main program itself
        "M98 P2 L0",
        "M98 P2 L1.5",
        "M98 P2 L999999999",
        "M98 P#9",
        "M98 P2 Q10",
        "M98 P2 H3",
        "/M98 P2",
        "M98 P2 M99",
        "G81 X1 Z-1 R1 M98 P2",
        "G4 P2 M98",
        "M198 P2",
        "G65 P2",
        "M97 P2",
    ],
)
def test_calls_that_can_be_read_in_two_ways_are_admitted(call):
    reading = read(call, "M30", *STEP)
    assert "subprogram" in codes(reading, Level.UNKNOWN) or call.startswith("G65")
    assert not reading.complete
    assert not any(reading.tool_uses[1].exact.values())


@pytest.mark.parametrize(
    "rest",
    [
        ["O2", "G91 G1 X10", "%"],  # no way back
        ["O2", "M99 P30", "%"],  # a way back to somewhere else
        ["O2", "M98 P2", "M99", "%"],  # calls itself
        ["O2", "M99", "O2", "M99", "%"],  # which of the two
        ["%", "O2", "M99"],  # behind the end of the file
        ["O2", "M99", "G1 X5", "%"],  # lines that nothing leads to
        ["O2", "M99", "O3", "M99", "%"],  # another one that is not called
    ],
)
def test_subprograms_that_are_not_whole_are_admitted(rest):
    assert not read("M98 P2", "M30", *rest).complete


def test_an_end_of_program_inside_a_subprogram_ends_the_program():
    reading = read("M98 P2", "T3 M6", "M30", "O2", "G1 X5", "M30", "%")
    assert [call.tool_number for call in reading.tool_calls] == [1]
    assert (reading.end_of_program, reading.complete) == ("M30", False)


def test_a_way_back_out_of_the_main_program_begins_it_again_and_is_admitted():
    reading = read("G1 X5", "M99", "%")
    assert reading.end_of_program == "M99"
    assert "subprogram" in codes(reading, Level.UNKNOWN)


def test_calls_that_never_come_to_an_end_are_cut_short(monkeypatch):
    monkeypatch.setattr(module, "MOST_REPEATED_BLOCKS", 500)
    lines = ["M98 P2 L99", "M30", "O2", "M98 P3 L99", "M99", "O3", "M8", "M99", "%"]
    reading = read(*lines)
    assert "subprogram" in codes(reading, Level.UNKNOWN)
    assert not any(reading.tool_uses[1].exact.values())


def test_a_first_run_of_any_length_is_followed(monkeypatch):
    monkeypatch.setattr(module, "MOST_REPEATED_BLOCKS", 500)
    reading = read("M98 P2", "M30", "O2", *["M8"] * 300, "M99", "%")
    assert reading.complete


def test_blocks_and_comments_of_a_subprogram_are_counted_once():
    rest = ["M30", "O2", "T2 M6 (6MM DRILL)", "M99", "%"]
    once, often = read("M98 P2", *rest), read("M98 P2 L5", *rest)
    assert once.block_count == often.block_count
    assert often.tool_uses[2].description == "6MM DRILL"
    assert often.tool_uses[2].calls == 5


def test_the_quick_way_works_inside_a_subprogram():
    moves = [f"X{n} Y{n}" for n in range(200)]
    lines = ["M98 P2 L2", "M30", "O2", "G0 X0 Y0 Z5", "G1 Z-1 F50", *moves, "M99", "%"]
    use = read(*lines).tool_uses[1]
    # Twice: down 6 mm, and 199 steps of sqrt(2); the second time after the way back.
    assert use.feed_path_length == pytest.approx(2 * (6 + 199 * 2**0.5))
    assert use.deepest_z == -1


def test_subprograms_are_found_with_their_lines():
    text = "%\nO1 (MAIN)\nM98 P20\nM30\n(A)\nO20 (SIDE)\nX1\nM99\n:30\nM99\n%\nO40\nM99\n"
    found = subprograms(ProgramText.of_text(text), opened=True, named=True)
    assert {n: (p.first_line, p.text) for n, p in found.items()} == {
        20: (7, "X1\nM99\n"),
        30: (10, "M99\n"),
    }


def test_too_many_letters_of_subprograms_are_not_kept(monkeypatch):
    monkeypatch.setattr(module, "MOST_LETTERS", 10)
    text = ProgramText.of_text("O1\nM30\nO2\nM99\nO3\nX1\nX2\nX3\nM99\n")
    assert list(subprograms(text, opened=False, named=True)) == [2]
