"""Figures of a tool in words: what is not certain says so, what is missing is never a number."""

import pytest

from assemblies.models import Reading, ToolCall, ToolUse
from assemblies.rules.nc.reading import FIGURES
from assemblies.tables.revision_tools import call_steps, figure_lines, notes_of

EXACT = dict.fromkeys(FIGURES, True)
DETAILS = {
    "feed_per_revolution_max": None,
    "cycles": [],
    "length_offsets": [5],
    "radius_offsets": [],
    "coolant": [],
    "deepest_z_by_work_offset": {"G54": -18.2},
    "feed_path_length": 312.5,
    "cutting_time": 1.254,
    "dwell_time": 0.0,
    "exact": EXACT,
}


def use(exact=None, details=None, **fields):
    given = {
        "tool_number": 5,
        "first_line": 3,
        "spindle_speed_max_rpm": 18_000,
        "spindle_speed_min_rpm": 18_000,
        "speed_exact": True,
        "turns_cw": True,
        "rotation_exact": True,
        "feed_max_mm_min": 4000.0,
        "feed_min_mm_min": 4000.0,
        "deepest_z_um": -18_200,
        "deepest_z_rapid_um": 5_000,
        "depth_exact": True,
    }
    told = DETAILS | (details or {}) | {"exact": EXACT | (exact or {})}
    return ToolUse(**given | fields, details=told)


def shown(of, top_um=0, inch=False):
    return {line.name: line.text for line in figure_lines(of, top_um, inch)}


def test_certain_figures_are_given_plainly_and_kinds_not_used_are_left_out():
    assert shown(use()) == {
        "Speed": "18000 1/min",
        "Turns": "right (M3)",
        "Deepest Z": "Z-18.2 mm",
        "Below the top": "18.2 mm",
        "Feed": "4000 mm/min",
        "Cutting time": "1.25 min",
        "Feed path": "312.5 mm",
        "Length offset": "H as T",
    }


@pytest.mark.parametrize(
    ("name", "text", "changed"),
    [
        ("Speed", "9000 to 18000 1/min", {"spindle_speed_min_rpm": 9_000}),
        ("Speed", "at least 18000 1/min", {"speed_exact": False}),
        ("Speed", "at least 18000 1/min", {"speed_exact": False, "spindle_speed_min_rpm": 9_000}),
        ("Speed", "18000 1/min, carried from the tool before", {"speed_carried": True}),
        ("Speed", "", {"spindle_speed_max_rpm": None}),
        ("Turns", "right (M3), left (M4)", {"turns_ccw": True}),
        ("Turns", "right (M3), not certain", {"rotation_exact": False}),
        ("Turns", "", {"turns_cw": False}),
        ("Deepest Z", "Z-18.2 mm or deeper", {"depth_exact": False}),
        ("Deepest Z", "no feed move", {"deepest_z_um": None}),
        ("Deepest Z", "", {"deepest_z_um": None, "depth_exact": False}),
        ("Below the top", "at least 18.2 mm", {"depth_exact": False}),
        ("Feed", "900 to 4000 mm/min", {"feed_min_mm_min": 900.0}),
        ("Feed", "at least 4000 mm/min", {"exact": {"feed_rate_max": False}}),
        ("Feed", "no feed move", {"feed_max_mm_min": None}),
        ("Feed", "", {"feed_max_mm_min": None, "exact": {"feed_rate_max": False}}),
        ("Feed per turn", "0.15 mm", {"details": {"feed_per_revolution_max": 0.15}}),
        ("Lowest rapid", "Z-18.201 mm", {"deepest_z_rapid_um": -18_201}),
        (
            "Lowest rapid",
            "Z-19.0 mm or deeper",
            {"deepest_z_rapid_um": -19_000, "exact": {"deepest_z_rapid": False}},
        ),
        ("Cutting time", "at least 1.25 min", {"exact": {"cutting_time": False}}),
        ("Cutting time", "none", {"details": {"cutting_time": 0.0}}),
        (
            "Cutting time",
            "",
            {"details": {"cutting_time": 0.0}, "exact": {"cutting_time": False}},
        ),
        ("Feed path", "12.43 m", {"details": {"feed_path_length": 12_431.5}}),
        ("Feed path", "at least 312.5 mm", {"exact": {"feed_path_length": False}}),
        ("Dwell", "0.05 min", {"details": {"dwell_time": 0.05}}),
        ("Dwell", "", {"exact": {"dwell_time": False}}),
        ("Cycles", "G81, G83", {"details": {"cycles": [81, 83]}}),
        ("Cycles", "at least G81", {"details": {"cycles": [81]}, "exact": {"cycles": False}}),
        ("Cycles", "", {"exact": {"cycles": False}}),
        ("Length offset", "H as T, H7", {"details": {"length_offsets": [5, 7]}}),
        ("Radius offset", "D9", {"details": {"radius_offsets": [9]}}),
        ("Coolant", "flood, mist", {"details": {"coolant": ["flood", "mist"]}}),
    ],
)
def test_a_figure_says_what_is_known_of_it(name, text, changed):
    assert shown(use(**changed))[name] == text


def test_a_rapid_no_deeper_than_the_feed_is_not_told():
    assert "Lowest rapid" not in shown(use(deepest_z_rapid_um=-18_200))


def test_depths_are_told_by_work_offset_where_there_are_two():
    depths = {"G54": -18.2, "G55": -3.0}
    lines = shown(use(details={"deepest_z_by_work_offset": depths}))

    assert lines["Deepest Z in G54"] == "Z-18.2 mm"
    assert lines["Deepest Z in G55"] == "Z-3.0 mm"
    assert "Deepest Z in G54" not in shown(use())


@pytest.mark.parametrize(
    ("top_um", "text"), [(0, "18.2 mm"), (18_000, "36.2 mm"), (-200, "18.0 mm"), (None, "")]
)
def test_the_depth_is_counted_from_the_top_of_the_work(top_um, text):
    assert shown(use(), top_um)["Below the top"] == text


def test_a_program_in_inches_shows_inches_too():
    """25.4 mm are one inch exactly."""
    assert shown(use(deepest_z_um=-12_700), inch=True)["Deepest Z"] == "Z-12.7 mm = -1/2 in"


def test_a_use_of_an_older_reader_has_nothing_that_is_certain():
    old = use(depth_exact=False, deepest_z_um=None, feed_max_mm_min=None)
    old.details = {"calls": 1}

    lines = shown(old)

    names = ("Deepest Z", "Feed", "Cutting time", "Feed path", "Dwell", "Cycles", "Coolant")
    assert {name: lines[name] for name in names} == dict.fromkeys(names, "")


def test_calls_are_marked_as_repeats_by_number_and_an_unknown_one_never():
    calls = [ToolCall(tool_number=number) for number in (1, 2, 1, None, None, 2)]

    assert [step.again for step in call_steps(calls)] == [False, False, True, False, False, True]


def test_notes_stand_by_weight_and_then_by_line():
    levels = ["note", "unknown", "check", "stop_soft", "unknown"]
    notes = [{"severity": level, "line": 9 - place} for place, level in enumerate(levels)]

    ordered, left_out = notes_of(Reading(notes=notes))

    assert [(n["severity"], n["line"]) for n in ordered] == [
        ("unknown", 5),
        ("unknown", 8),
        ("stop_soft", 6),
        ("check", 7),
        ("note", 9),
    ]
    assert (left_out, notes_of(None)) == (0, ([], 0))
