"""What changed between two revisions, tool by tool: at the limit, both sides, and not known."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assemblies.rules.change_wording import Change, words_for
from assemblies.rules.figure_changes import ToolFigures, changes_of_tool, in_one_line
from assemblies.rules.nc.reading import FIGURES
from assemblies.rules.program_changes import (
    FileFacts,
    ToolComparison,
    change_of_order,
    changes_of_file,
    compare,
    said,
)

EXACT = dict.fromkeys(FIGURES, True)
T3 = ToolFigures(
    tool_number=3,
    description="DRILL 8.5",
    speed_max_rpm=16_000,
    speed_min_rpm=16_000,
    speed_exact=True,
    turns=frozenset(["cw"]),
    turns_exact=True,
    feed_max_mm_min=3_000.0,
    feed_min_mm_min=600.0,
    feed_per_revolution_mm=0.2,
    deepest_z_um=-20_000,
    deepest_z_rapid_um=5_000,
    deepest_z_by_offset={"G54": -20_000},
    depth_exact=True,
    feed_path_mm=1_200.0,
    cutting_min=0.5,
    cycles=frozenset([81]),
    length_offsets=frozenset([3]),
    radius_offsets=frozenset([3]),
    coolant=frozenset(["flood"]),
    calls=1,
    exact=EXACT,
)


def changed(**facts) -> list[Change]:
    return changes_of_tool(T3, replace(T3, **facts))


def doubt(*names: str) -> dict:
    return {"exact": EXACT | dict.fromkeys(names, False)}


def test_the_same_figures_are_the_same():
    assert changed() == []


@pytest.mark.parametrize(
    ("facts", "figure", "text"),
    [
        ({"speed_max_rpm": 16_001}, "speed", "S16000 → S16000–16001"),
        ({"speed_min_rpm": 15_999}, "speed", "S16000 → S15999–16000"),
        ({"speed_max_rpm": None, "speed_min_rpm": None}, "speed", "S16000 → no S"),
        ({"speed_carried": True}, "speed_carried", "speed now carried from the tool before"),
        ({"turns": frozenset(["ccw"])}, "turns", "turns M3 → M4"),
        ({"turns": frozenset(["cw", "ccw"])}, "turns", "turns M3 → M3 and M4"),
        ({"turns": frozenset()}, "turns", "turns M3 → not at all"),
        ({"deepest_z_um": -20_003}, "depth", "0.003 mm deeper, to Z-20.003"),
        ({"deepest_z_um": -19_997}, "depth", "0.003 mm higher, to Z-19.997"),
        ({"deepest_z_um": -22_000}, "depth", "2.0 mm deeper, to Z-22.0"),
        ({"deepest_z_um": None}, "depth", "no cut, was Z-20.0"),
        ({"deepest_z_by_offset": {"G55": -20_000}}, "depth_G54", "G54: no cut, was Z-20.0"),
        ({"deepest_z_by_offset": {}}, "work_offset", "work offset G54 → none"),
        ({"deepest_z_rapid_um": -25_000}, "depth_rapid", "lowest rapid Z5.0 → Z-25.0"),
        ({"feed_max_mm_min": 3_000.002}, "feed", "F600–3000 → F600–3000.002"),
        ({"feed_min_mm_min": 500.0}, "feed", "F600–3000 → F500–3000"),
        ({"feed_max_mm_min": None, "feed_min_mm_min": None}, "feed", "F600–3000 → no F"),
        (
            {"feed_per_revolution_mm": 0.201},
            "feed_per_revolution",
            "feed per turn 0.2 mm → 0.201 mm",
        ),
        ({"description": "DRILL 8.4"}, "description", "“DRILL 8.5” → “DRILL 8.4”"),
        ({"description": ""}, "description", "“DRILL 8.5” → no words"),
        ({"cycles": frozenset([81, 83])}, "cycles", "cycles G81 → G81, G83"),
        ({"length_offsets": frozenset([13])}, "length_offsets", "length offset H3 → H13"),
        ({"radius_offsets": frozenset()}, "radius_offsets", "radius offset D3 → none"),
        ({"coolant": frozenset()}, "coolant", "coolant flood → none"),
        ({"calls": 2}, "calls", "calls 1 → 2"),
    ],
)
def test_a_figure_that_differs_is_told_and_weighs(facts, figure, text):
    change, *_ = changed(**facts)
    assert (change.figure, change.text, change.weighs) == (figure, text, True)
    assert len(change.text) <= 70


@pytest.mark.parametrize(
    "facts",
    [
        {"deepest_z_um": -20_002},
        {"deepest_z_um": -19_998},
        {"deepest_z_rapid_um": 5_002},
        {"deepest_z_by_offset": {"G54": -20_002}},
        {"feed_max_mm_min": 3_000.001},
        {"feed_path_mm": 1_200.02},
        {"cutting_min": 0.5005},
        {"description": " DRILL   8.5 "},
    ],
)
def test_what_lies_within_the_accuracy_of_the_reading_is_the_same(facts):
    assert changed(**facts) == []


@pytest.mark.parametrize(
    ("facts", "text"),
    [
        ({"feed_path_mm": 1_200.03}, "path 1200 mm → 1200.03 mm"),
        ({"feed_path_mm": 1_300.0}, "path 1200 mm → 1300 mm"),
        ({"cutting_min": 0.6}, "cutting time 0.5 min → 0.6 min"),
        (doubt("feed_path_length"), "path not known for certain now"),
        (doubt("cutting_time"), "cutting time not known for certain now"),
    ],
)
def test_path_and_time_are_told_and_do_not_weigh(facts, text):
    assert [(change.text, change.weighs) for change in changed(**facts)] == [(text, False)]


@pytest.mark.parametrize(
    ("facts", "figure"),
    [
        ({"speed_exact": False}, "speed"),
        (doubt("spindle_speed_min"), "speed"),
        ({"turns_exact": False}, "turns"),
        ({"depth_exact": False}, "depth"),
        (doubt("deepest_z_by_work_offset"), "depth_by_offset"),
        (doubt("deepest_z_rapid"), "depth_rapid"),
        (doubt("feed_rate_max"), "feed"),
        (doubt("feed_rate_min"), "feed"),
        (doubt("feed_per_revolution_max"), "feed_per_revolution"),
        (doubt("cycles"), "cycles"),
        (doubt("length_offsets"), "length_offsets"),
        (doubt("radius_offsets"), "radius_offsets"),
        (doubt("coolant"), "coolant"),
    ],
)
def test_what_is_not_certain_on_a_side_is_a_change_that_weighs(facts, figure):
    other = replace(T3, **facts)
    for old, new, where in ((T3, other, " now"), (other, T3, " before"), (other, other, "")):
        (change,) = changes_of_tool(old, new)
        assert (change.figure, change.weighs, change.is_open) == (figure, True, True)
        assert change.text.endswith(f"not known for certain{where}")
        assert change.prints_alike


@pytest.mark.parametrize("exact", [None, {}])
def test_without_a_word_on_certainty_nothing_is_the_same(exact):
    bare = replace(T3, exact=exact)
    weighing = {change.figure for change in changes_of_tool(bare, bare) if change.weighs}
    assert {"feed", "depth_by_offset", "depth_rapid", "cycles", "length_offsets"} <= weighing


def test_a_figure_that_differs_and_is_not_certain_does_not_print_alike():
    (change,) = changed(speed_max_rpm=18_000, speed_min_rpm=18_000, speed_exact=False)
    assert (change.before, change.after) == ("S16000", "S18000, not certain")
    assert not change.prints_alike


def test_depth_is_told_for_each_work_offset_where_there_are_several():
    old = replace(T3, deepest_z_by_offset={"G54": -20_000, "G55": -10_000})
    new = replace(old, deepest_z_by_offset={"G54": -20_000, "G55": -10_003, "G56": -1_000})
    assert [change.text for change in changes_of_tool(old, new)] == [
        "G55: 0.003 mm deeper, to Z-10.003",
        "G56: cuts now, to Z-1.0",
    ]


# ---- all tools
def test_tools_are_added_gone_changed_or_the_same_in_order_of_their_numbers():
    old = [replace(T3, tool_number=n) for n in (9, 3, 5)]
    new = [replace(T3, tool_number=n, calls=1 if n == 3 else 2) for n in (3, 7, 5)]
    found = [(one.tool_number, one.status, one.weighs) for one in compare(old, new)]
    assert found == [
        (3, "same", False),
        (5, "changed", True),
        (7, "added", True),
        (9, "gone", True),
    ]


def test_a_tool_whose_path_alone_differs_is_changed_and_does_not_weigh():
    (one,) = compare([T3], [replace(T3, feed_path_mm=9.0)])
    assert (one.status, one.weighs) == ("changed", False)


@pytest.mark.parametrize(
    ("old", "new", "text"),
    [
        ([1, 2, 3, 1], [1, 2, 3, 1], None),
        ([1, 2, 3, 1], [1, 2, 3], "order of calls changed"),
        ([1, 2], [2, 1], "order of calls changed"),
        ([1, 2], [1, 7, 2], None),
        ([1, 7, 2], [1, 2], None),
        ([], [], None),
        ([1, None], [1, 2], "order of calls not known for certain before"),
        ([1, 2], [1, None], "order of calls not known for certain now"),
        ([None], [None], "order of calls not known for certain"),
    ],
)
def test_the_order_of_calls_counts_among_the_numbers_both_have(old, new, text):
    change = change_of_order(old, new)
    assert (change and change.text) == text


def test_a_long_order_is_cut_and_its_calls_are_counted():
    change = change_of_order([1, 2] * 10, [2, 1] * 10)
    assert change.before == "T1 T2 " * 6 + "… 20 calls"


READ = FileFacts(units=frozenset(["mm"]), complete=True, end="M30", number="0412")


@pytest.mark.parametrize(
    ("facts", "texts"),
    [
        ({}, []),
        ({"units": frozenset(["mm", "inch"])}, ["units mm → inch, mm"]),
        ({"units": frozenset()}, ["units mm → none"]),
        ({"end": ""}, ["ends with M30 → no end"]),
        ({"number": "0413"}, ["program number 0412 → 0413"]),
        ({"complete": False}, ["not fully read now"]),
    ],
)
def test_the_whole_file_is_compared_too(facts, texts):
    assert [change.text for change in changes_of_file(READ, replace(READ, **facts))] == texts


def test_a_file_not_fully_read_is_named_on_either_side_and_on_both():
    half = replace(READ, complete=False)
    assert [c.text for c in changes_of_file(half, READ)] == ["not fully read before"]
    assert [c.text for c in changes_of_file(half, half)] == ["not fully read"]


# ---- in one line
def test_all_of_it_stands_in_one_line():
    old = [T3, replace(T3, tool_number=4), replace(T3, tool_number=9)]
    new = [
        replace(T3, speed_max_rpm=18_000, speed_min_rpm=18_000, deepest_z_um=-22_000),
        replace(T3, tool_number=4, speed_max_rpm=18_000, speed_min_rpm=18_000),
        replace(T3, tool_number=7),
    ]
    assert said(compare(old, new), changes_of_file(READ, replace(READ, end="%"))) == (
        "T3: S16000 → S18000, 2.0 mm deeper, to Z-22.0; T4: S16000 → S18000; "
        "new: T7; gone: T9; ends with M30 → %"
    )


def test_tools_of_which_the_same_is_said_stand_together_and_many_are_counted():
    alike = [ToolComparison(n, "changed", (Change("calls", "1", "2", "x"),)) for n in (1, 2)]
    assert said(alike) == "T1, T2: x"
    many = [ToolComparison(n, "changed", (Change("calls", "", "", f"x{n}"),)) for n in range(1, 8)]
    assert said(many) == "T1: x1; T2: x2; T3: x3; T4: x4; 3 more tools changed"


def test_what_does_not_weigh_is_said_only_where_nothing_else_is():
    longer = replace(T3, feed_path_mm=1_300.0)
    assert said(compare([T3], [longer])) == "T3: path 1200 mm → 1300 mm"
    assert said(compare([T3], [replace(longer, calls=2)])) == "T3: calls 1 → 2"


def test_a_tool_in_one_line_admits_what_is_not_certain():
    assert in_one_line(T3) == "S16000, M3, Z-20.0, F600–3000"
    assert in_one_line(replace(T3, depth_exact=False)).endswith("Z-20.0 (not certain), F600–3000")


def test_every_figure_has_words_to_stand_beside_it():
    figures = [change.figure for change in changes_of_tool(T3, ToolFigures(tool_number=3))]
    assert [name for name in figures if words_for(name) == name] == []
