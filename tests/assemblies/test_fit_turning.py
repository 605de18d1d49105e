"""Rotation and runout."""

from dataclasses import replace

import pytest

from assemblies.rules.rotation import rotation_findings
from assemblies.rules.runout import runout_finding, runout_limit_um
from assemblies.rules.stack import BuildFigures, CutterPart, ProgramCall, ShopLimits
from crib.rules.finding import Level
from tests.assemblies.stacks import ROUTER_2, levels

LIMITS = ShopLimits()


# ISO 6983-1, from memory: M3 turns clockwise, seen from the spindle; a right-hand cutter needs it.
@pytest.mark.parametrize(
    ("hand", "rotation", "level"),
    [
        ("right", "cw", Level.PASS),
        ("right", "ccw", Level.STOP_HARD),
        ("left", "ccw", Level.PASS),
        ("left", "cw", Level.STOP_HARD),
        ("neutral", "cw", Level.UNKNOWN),
        ("right", None, Level.UNKNOWN),
        (None, "cw", Level.UNKNOWN),
        ("", "cw", Level.UNKNOWN),
    ],
)
def test_the_cutter_turns_as_the_program_does(hand, rotation, level):
    (found,) = rotation_findings(CutterPart(hand=hand), ProgramCall(rotation=rotation), None)
    assert found.level == level


@pytest.mark.parametrize(
    ("hand", "rotations", "level"),
    [
        ("right", {"cw"}, Level.PASS),
        ("left", {"cw"}, Level.STOP_HARD),
        ("left", {"cw", "ccw"}, Level.PASS),
        ("right", set(), Level.STOP_HARD),
        ("right", None, Level.UNKNOWN),
    ],
)
def test_the_cutter_turns_as_the_machine_may(hand, rotations, level):
    allowed = None if rotations is None else frozenset(rotations)
    machine = replace(ROUTER_2, rotations=allowed)
    (found,) = rotation_findings(CutterPart(hand=hand), None, machine)
    assert found.level == level


def test_a_left_hand_cutter_for_a_program_turning_right_is_told_so():
    # Planted case: a left-hand boring bit picked for a program that starts with M3.
    (found,) = rotation_findings(CutterPart(hand="left"), ProgramCall(rotation="cw"), None)
    assert found.text == "Left-hand cutter. Program turns right (M3)."


# The shop's default bands: upper edges included, doubled on a router.
@pytest.mark.parametrize(
    ("diameter_um", "mill_um", "router_um"),
    [
        (3_000, 5, 10),
        (3_001, 10, 20),
        (6_000, 10, 20),
        (6_001, 15, 30),
        (12_000, 15, 30),
        (12_001, 25, 50),
        (80_000, 25, 50),
    ],
)
def test_the_runout_limit_goes_by_cutting_diameter(diameter_um, mill_um, router_um):
    assert runout_limit_um(diameter_um, False, LIMITS) == mill_um
    assert runout_limit_um(diameter_um, True, LIMITS) == router_um


def runout(runout_um, *, nominal_um=6_000, measured_um=None, router=True, limits=LIMITS):
    figures = BuildFigures(runout_um=runout_um, diameter_um=measured_um)
    return levels([runout_finding(figures, CutterPart(diameter_um=nominal_um), router, limits)])


@pytest.mark.parametrize(
    ("runout_um", "expected"),
    [
        (0, {"runout.within": "pass"}),
        (20, {"runout.within": "pass"}),
        (21, {"runout.over": "check"}),
        (28, {"runout.over": "check"}),  # planted case
        (40, {"runout.over": "check"}),
        (41, {"runout.far_over": "stop_soft"}),
        (None, {"runout.not_known": "unknown"}),
    ],
)
def test_runout_of_a_6_mm_cutter_on_a_router(runout_um, expected):
    assert runout(runout_um) == expected


def test_a_mill_allows_half_of_it():
    assert runout(10, router=False) == {"runout.within": "pass"}
    assert runout(11, router=False) == {"runout.over": "check"}
    assert runout(21, router=False) == {"runout.far_over": "stop_soft"}


def test_the_stricter_of_nominal_and_measured_diameter_counts():
    assert runout(21, measured_um=6_002) == {"runout.over": "check"}
    assert runout(21, nominal_um=6_500, measured_um=5_990) == {"runout.over": "check"}


def test_a_limit_that_is_not_known_is_not_passed():
    assert runout(1, nominal_um=None) == {"runout.limit_not_known": "unknown"}
    short = replace(LIMITS, runout_bands_um=((3_000, 5),))
    assert runout(1, limits=short) == {"runout.limit_not_known": "unknown"}
