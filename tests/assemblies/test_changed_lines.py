"""Which lines differ between two texts, and which tool they belong to."""

from __future__ import annotations

import random

import pytest

from assemblies.rules import changed_lines
from assemblies.rules.changed_lines import (
    HEAD,
    LineCount,
    Part,
    changed_blocks,
    count_lines,
    is_same_text,
    parts_by_tool,
)

TEXT = "%\nG21\nT5 M6\nS16000\nT3 M6\nX1\nT5 M6\nX2\n%\n"
CALLS = [(3, 5), (5, 3), (7, 5)]


def text_of(lines) -> str:
    return "".join(f"{line}\n" for line in lines)


def common_lines(old: list[str], new: list[str]) -> int:
    """Length of the longest common subsequence, by the table of the textbooks."""
    above = [0] * (len(new) + 1)
    for one in old:
        row = [0]
        for place, other in enumerate(new):
            row.append(above[place] + 1 if one == other else max(above[place + 1], row[-1]))
        above = row
    return above[-1]


def test_what_is_left_over_is_the_same_in_both_and_never_more_than_there_is_in_common():
    dice = random.Random(7)
    for _ in range(300):
        old, new = ([dice.choice("abcd") for _ in range(dice.randrange(10))] for _ in range(2))
        blocks = changed_blocks([Part(1, text_of(old))], [Part(1, text_of(new))])
        gone = {line.number for block in blocks for line in block.gone}
        added = {line.number for block in blocks for line in block.added}
        kept = [line for number, line in enumerate(old, 1) if number not in gone]
        assert kept == [line for number, line in enumerate(new, 1) if number not in added]
        assert len(kept) <= common_lines(old, new)
        assert bool(blocks) == (old != new)


def test_lines_are_told_with_the_numbers_they_have_in_their_own_file():
    old, new = [Part(3, "T5 M6\nX1\nX2\n")], [Part(40, "T5 M6\nX1\nY9\nX2\nX3\n")]
    assert [(block.gone, block.added) for block in changed_blocks(old, new)] == [
        ((), ((42, "Y9"),)),
        ((), ((44, "X3"),)),
    ]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("N10 G1 X1\nN20 X2\n", "N5 G1 X1\nN7 X2\n"),
        ("/N10 G1 X1\n", "/ N20 G1 X1\n"),
        ("G1 X1\n", "N1 G1 X1\n"),
        ("X1 \nX2\n", "X1\nX2\n"),
    ],
)
def test_block_numbers_and_blanks_at_the_end_make_no_difference(old, new):
    assert count_lines(old, new) == LineCount(0, 0)


@pytest.mark.parametrize(
    ("old", "new", "counted"),
    [
        ("", "X1\n", LineCount(0, 1)),
        ("X1\n", "", LineCount(1, 0)),
        ("X1\n", "X1\nX1\n", LineCount(0, 1)),
        ("X1\nX2\n", "X2\nX1\n", LineCount(1, 1)),
        ("/N10 G1 X1\n", "N10 G1 X1\n", LineCount(1, 1)),
    ],
)
def test_lines_gone_and_added_are_counted(old, new, counted):
    assert count_lines(old, new) == counted


@pytest.mark.parametrize(
    ("lines", "counted"), [(10, LineCount(10, 10)), (11, LineCount(None, None))]
)
def test_beyond_the_limit_nothing_is_counted(monkeypatch, lines, counted):
    monkeypatch.setattr(changed_lines, "MOST_LINES", 10)
    old, new = (text_of(f"{axis}{number}" for number in range(lines)) for axis in "XY")
    assert count_lines(old, new) == counted


def test_a_difference_in_a_long_text_is_found_between_what_is_alike(monkeypatch):
    monkeypatch.setattr(changed_lines, "MOST_LINES", 3)
    lines = [f"X{number}" for number in range(2_000)]
    old, new = [*lines], [*lines]
    new[1_000] = "Y0"
    (block,) = changed_blocks([Part(1, text_of(old))], [Part(1, text_of(new))])
    assert (block.gone, block.added) == (((1_001, "X1000"),), ((1_001, "Y0"),))


# ---- by tool
def test_every_line_belongs_to_the_tool_that_was_changed_in_last():
    parts = parts_by_tool(TEXT, CALLS)
    assert {key: [(p.first_line, p.text) for p in found] for key, found in parts.items()} == {
        HEAD: [(1, "%\nG21\n")],
        5: [(3, "T5 M6\nS16000\n"), (7, "T5 M6\nX2\n%\n")],
        3: [(5, "T3 M6\nX1\n")],
    }


@pytest.mark.parametrize(
    ("calls", "keys"),
    [([], [HEAD]), ([(1, 5)], [5]), ([(99, 5)], [HEAD]), ([(3, None)], [HEAD, None])],
)
def test_no_line_is_lost_or_doubled_whatever_the_calls(calls, keys):
    parts = parts_by_tool(TEXT, calls)
    assert list(parts) == keys
    assert "".join(part.text for found in parts.values() for part in found) == TEXT


def test_parts_that_only_moved_are_the_same():
    moved = parts_by_tool(f"(new)\n{TEXT}", [(line + 1, tool) for line, tool in CALLS])
    there = parts_by_tool(TEXT, CALLS)
    assert [is_same_text(there[key], moved[key]) for key in (HEAD, 5, 3)] == [False, True, True]


def test_another_call_of_a_tool_is_told_with_its_lines():
    old, new = [Part(3, "T5 M6\nX1\n")], [Part(3, "T5 M6\nX1\n"), Part(9, "T5 M6\nX2\n")]
    (block,) = changed_blocks(old, new)
    assert block.added == ((9, "T5 M6"), (10, "X2"))


def test_nothing_against_nothing_is_no_change():
    assert changed_blocks([], []) == []
