"""Speed limit of the whole assembly, and a program's speed against it."""

from dataclasses import replace

import pytest

from assemblies.rules.speed import (
    SpeedLimit,
    general_speeds_rpm,
    mark_findings,
    rim_findings,
    rim_speed_limit_rpm,
    rim_speed_m_s,
    speed_findings,
    speed_limit,
)
from assemblies.rules.stack import BuildFigures, CutterPart, HolderPart, StudState
from tests.assemblies.stacks import COLLET, CUTTER, HOLDER, NUT, ROUTER_2, STUD, levels, stack


def test_the_lowest_part_sets_the_limit_and_is_named():
    # Worked example, computed by hand: 24000, 20000, 16000, 24000; S18000 is refused.
    built = stack(
        holder=replace(HOLDER, max_rpm=24_000),
        nut=replace(NUT, max_rpm=20_000),
        cutter=replace(CUTTER, max_rpm=16_000),
        machine=replace(ROUTER_2, max_rpm=24_000),
    )
    limit = speed_limit(built)
    assert limit == SpeedLimit(16_000, "cutter", (), ())
    assert levels(speed_findings(limit, 18_000, 100, built.cutter)) == {
        "speed.over_limit": "stop_hard"
    }


@pytest.mark.parametrize(
    ("changes", "limit_rpm", "part"),
    [
        ({"holder": replace(HOLDER, max_rpm=9_000)}, 9_000, "holder"),
        ({"holder": replace(HOLDER, balance_rpm=8_000)}, 8_000, "balance rating"),
        ({"nut": replace(NUT, max_rpm=7_000)}, 7_000, "nut"),
        ({"collet": replace(COLLET, max_rpm=6_000)}, 6_000, "collet"),
        ({"stud": replace(STUD, max_rpm=5_000)}, 5_000, "pull stud"),
        ({"machine": replace(ROUTER_2, max_rpm=4_000)}, 4_000, "machine spindle"),
        ({"cutter": replace(CUTTER, max_rpm=3_000)}, 3_000, "cutter"),
    ],
)
def test_every_part_may_be_the_one_that_limits(changes, limit_rpm, part):
    limit = speed_limit(stack(**changes))
    assert (limit.limit_rpm, limit.limiting_part, limit.unknown_parts) == (limit_rpm, part, ())


@pytest.mark.parametrize(
    ("changes", "unknown", "unmarked"),
    [
        ({"holder": replace(HOLDER, max_rpm=None)}, ("holder",), ()),
        ({"nut": replace(NUT, max_rpm=None)}, ("nut",), ()),
        ({"nut": None}, ("nut",), ()),
        ({"machine": replace(ROUTER_2, max_rpm=None)}, ("machine spindle",), ()),
        ({"collet": replace(COLLET, max_rpm=None)}, (), ()),
        ({"stud": replace(STUD, max_rpm=None)}, (), ()),
        ({"cutter": replace(CUTTER, max_rpm=None)}, (), ("cutter",)),
        ({"cutter": replace(CUTTER, max_rpm=None, diameter_um=15_999)}, (), ("cutter",)),
        # EN 847-1 scope: from 16 mm cutting circle a mark is expected.
        ({"cutter": replace(CUTTER, max_rpm=None, diameter_um=16_000)}, ("cutter",), ()),
        ({"cutter": None, "figures": BuildFigures()}, ("cutter",), ()),
    ],
)
def test_a_part_whose_limit_is_not_known_is_named(changes, unknown, unmarked):
    limit = speed_limit(stack(**changes))
    assert (limit.unknown_parts, limit.unmarked_parts) == (unknown, unmarked)
    assert limit.limit_rpm == 24_000


def test_a_cutter_measured_above_16_mm_needs_its_mark():
    built = stack(
        cutter=replace(CUTTER, diameter_um=15_900, max_rpm=None),
        figures=BuildFigures(diameter_um=16_000),
    )
    assert speed_limit(built).unknown_parts == ("cutter",)


def test_an_arbor_needs_no_nut():
    built = stack(holder=replace(HOLDER, clamping="arbor"), nut=None, collet=None)
    assert speed_limit(built).unknown_parts == ()


LIMIT = SpeedLimit(12_000, "cutter")


@pytest.mark.parametrize(
    ("speed_rpm", "ceiling_percent", "expected"),
    [
        (12_000, 100, {"speed.within": "pass"}),
        (12_001, 100, {"speed.over_limit": "stop_hard"}),
        (10_000, 120, {"speed.within": "pass"}),
        (10_001, 120, {"speed.override_over_limit": "check"}),
        (12_000, 101, {"speed.override_over_limit": "check"}),
        (12_001, 120, {"speed.over_limit": "stop_hard"}),
        (None, 100, {"speed.not_in_program": "unknown"}),
        (0, 100, {"speed.not_in_program": "unknown"}),
    ],
)
def test_a_programs_speed_is_held_against_the_limit(speed_rpm, ceiling_percent, expected):
    assert levels(speed_findings(LIMIT, speed_rpm, ceiling_percent, None)) == expected


def test_an_unknown_limit_is_a_check_until_a_known_one_is_passed():
    limit = SpeedLimit(12_000, "nut", ("holder",))
    assert levels(speed_findings(limit, 12_000, 100, None)) == {
        "speed.within": "pass",
        "speed.limit_not_known": "check",
    }
    assert levels(speed_findings(limit, 12_001, 100, None)) == {
        "speed.over_limit": "stop_hard",
        "speed.limit_not_known": "check",
    }


@pytest.mark.parametrize(
    ("limit", "expected"),
    [
        (SpeedLimit(12_000, "nut"), {"speed.limit_known": "pass"}),
        (SpeedLimit(12_000, "nut", ("holder",)), {"speed.limit_not_known": "check"}),
        (SpeedLimit(None, ""), {"speed.limit_not_known": "unknown"}),
        (SpeedLimit(None, "", ("holder", "nut")), {"speed.limit_not_known": "unknown"}),
    ],
)
def test_marks_pass_only_when_none_is_missing(limit, expected):
    assert levels(mark_findings(limit)) == expected


def test_no_known_limit_at_all_is_unknown():
    bare = stack(holder=HolderPart(), nut=None, cutter=None, machine=None)
    limit = speed_limit(replace(bare, figures=BuildFigures()))
    assert limit.limit_rpm is None
    assert levels(speed_findings(limit, 1, 100, None)) == {"speed.limit_not_known": "unknown"}
    assert levels(mark_findings(limit)) == {"speed.limit_not_known": "unknown"}


def test_a_small_cutter_without_a_mark_is_noted():
    limit = SpeedLimit(12_000, "nut", (), ("cutter",))
    assert levels(speed_findings(limit, 9_000, 100, CUTTER))["speed.small_cutter_unmarked"] == (
        "note"
    )
    assert levels(mark_findings(limit)) == {
        "speed.limit_known": "pass",
        "speed.small_cutter_unmarked": "note",
    }


@pytest.mark.parametrize(("speed_rpm", "asked"), [(5_999, True), (6_000, False)])
def test_a_speed_below_the_spindles_lowest_is_questioned(speed_rpm, asked):
    found = levels(speed_findings(LIMIT, speed_rpm, 100, None, lowest_rpm=6_000))
    assert found.get("speed.under_machine") == ("check" if asked else None)


# Rim speeds: 3 in at 24000 and 10000 and 25000, printed on public woodworking pages.
@pytest.mark.parametrize(
    ("diameter_um", "speed_rpm", "m_s", "tolerance"),
    [
        (76_200, 24_000, 18_850 * 0.3048 / 60, 0.006),  # 18850 ft/min
        (76_200, 10_000, 7_854 * 0.3048 / 60, 0.006),  # 7854 ft/min
        (76_200, 25_000, 223 * 0.44704, 0.25),  # 223 mph
        (63_500, 18_000, 59.847, 0.001),  # by hand
        (80_000, 16_000, 67.0, 0.05),  # planted case of the example shop
    ],
)
def test_rim_speed_agrees_with_published_values(diameter_um, speed_rpm, m_s, tolerance):
    assert rim_speed_m_s(diameter_um, speed_rpm) == pytest.approx(m_s, abs=tolerance)


def test_the_speed_for_a_rim_speed_is_rounded_down():
    assert rim_speed_limit_rpm(63_500, 50) == 15_038
    assert rim_speed_m_s(63_500, 15_038) <= 50 < rim_speed_m_s(63_500, 15_039)


@pytest.mark.parametrize(
    ("max_rpm", "speed_rpm", "expected"),
    [
        (None, 15_038, {}),
        (None, 15_039, {"speed.rim_fast": "check"}),
        (18_000, 18_000, {}),  # a marked cutter is judged by its mark
    ],
)
def test_an_unmarked_cutter_with_a_fast_rim_is_questioned(max_rpm, speed_rpm, expected):
    cutter = CutterPart(diameter_um=63_500, max_rpm=max_rpm)
    assert levels(rim_findings(speed_rpm, cutter, 50)) == expected


def test_rim_speed_without_a_diameter_is_unknown():
    assert levels(rim_findings(9_000, CutterPart(), 50)) == {"speed.rim_not_known": "unknown"}


# General table of two public woodworking pages: row edges overlap, the slower row is taken.
@pytest.mark.parametrize(
    ("diameter_um", "speeds_rpm"),
    [
        (25_399, (22_000, 24_000)),
        (25_400, (18_000, 22_000)),
        (50_799, (18_000, 22_000)),
        (50_800, (12_000, 16_000)),
        (63_500, (8_000, 12_000)),
        (88_900, (8_000, 12_000)),
        (88_901, None),
    ],
)
def test_the_general_table_gives_an_edge_to_the_slower_row(diameter_um, speeds_rpm):
    assert general_speeds_rpm(diameter_um) == speeds_rpm


def test_a_stud_counts_only_when_it_is_marked():
    built = stack(stud=replace(STUD, state=StudState.FITTED, max_rpm=None))
    assert speed_limit(built).unknown_parts == ()
