"""Coolant through the whole assembly."""

from dataclasses import replace

import pytest

from assemblies.rules.coolant import coolant_findings
from assemblies.rules.stack import StudPart, StudState
from tests.assemblies.stacks import BY_CLAMPING, STACK, TABLES, levels

HYDRAULIC = replace(BY_CLAMPING["hydraulic"], coolant_wanted=True)
#: The everyday collet stack with every part made for coolant.
COLLET_WAY = replace(
    STACK,
    coolant_wanted=True,
    machine=replace(STACK.machine, coolant_through=True),
    stud=StudPart(StudState.FITTED, "B", coolant_through=True),
    holder=replace(STACK.holder, coolant_through=True),
    collet=replace(STACK.collet, sealed=True),
    nut=replace(STACK.nut, sealed=False),
    cutter=replace(STACK.cutter, coolant_through=True),
)


def said(built):
    return levels(coolant_findings(built, TABLES.tapers))


def changed(built, part, **values):
    return replace(built, **{part: replace(getattr(built, part), **values)})


@pytest.mark.parametrize("built", [HYDRAULIC, COLLET_WAY], ids=["hydraulic", "collet"])
def test_coolant_comes_through_where_every_part_lets_it(built):
    assert said(built) == {"coolant.through": "pass"}


ON_THE_WAY = [
    (HYDRAULIC, "machine", "coolant_through"),
    (HYDRAULIC, "holder", "coolant_through"),
    (HYDRAULIC, "sleeve", "sealed"),
    (HYDRAULIC, "cutter", "coolant_through"),
    (COLLET_WAY, "stud", "coolant_through"),
    (COLLET_WAY, "collet", "sealed"),
]


@pytest.mark.parametrize(("built", "part", "name"), ON_THE_WAY)
def test_one_closed_part_stops_it_and_one_unknown_part_leaves_it_open(built, part, name):
    assert said(changed(built, part, **{name: False})) == {"coolant.closed": "stop_soft"}
    assert said(changed(built, part, **{name: None})) == {"coolant.not_known": "unknown"}


@pytest.mark.parametrize(("built", "part", "name"), ON_THE_WAY)
@pytest.mark.parametrize("wanted", [False, None])
def test_where_no_coolant_is_wanted_no_part_is_asked(built, part, name, wanted):
    closed = changed(replace(built, coolant_wanted=wanted), part, **{name: False})
    assert set(said(closed).values()) <= {"note"}


@pytest.mark.parametrize(
    ("collet", "nut", "seal_max_um", "expected"),
    [
        (True, None, None, {"coolant.through": "pass"}),
        (False, True, 12_000, {"coolant.through": "pass"}),
        (None, True, 12_000, {"coolant.through": "pass"}),
        (False, True, 11_999, {"coolant.closed": "stop_soft"}),
        (False, True, None, {"coolant.not_known": "unknown"}),
        (False, False, None, {"coolant.closed": "stop_soft"}),
        (False, None, None, {"coolant.not_known": "unknown"}),
        (None, False, None, {"coolant.not_known": "unknown"}),
        (None, None, None, {"coolant.not_known": "unknown"}),
    ],
)
def test_collet_or_nut_closes_the_nose_around_the_shank(collet, nut, seal_max_um, expected):
    built = changed(COLLET_WAY, "collet", sealed=collet)
    built = changed(built, "nut", sealed=nut, seal_max_um=seal_max_um, seal_min_um=11_000)
    assert said(built) == expected


def test_a_taper_without_a_stud_is_not_asked_for_one():
    hollow = changed(COLLET_WAY, "holder", interface="HSK-A63")
    assert said(changed(hollow, "stud", coolant_through=None)) == {"coolant.through": "pass"}


def test_a_machine_whose_drawbar_takes_no_stud_is_not_asked_for_one():
    built = changed(COLLET_WAY, "stud", state=StudState.NONE_FITTED, coolant_through=None)
    drawbar = changed(built, "machine", stud_pattern="not_used")
    assert said(drawbar) == {"coolant.through": "pass"}
    assert said(built) == {"coolant.not_known": "unknown"}


def test_without_a_machine_the_parts_are_judged_alone():
    assert said(replace(COLLET_WAY, machine=None)) == {"coolant.through": "pass"}


def test_parts_that_are_not_there_are_not_known():
    empty = replace(HYDRAULIC, holder=None, cutter=None, sleeve=None)
    findings = coolant_findings(empty, TABLES.tapers)
    assert [str(f.level) for f in findings] == ["unknown", "unknown"]


@pytest.mark.parametrize(
    ("machine", "cutter", "expected"),
    [
        (True, True, {"coolant.not_said": "note"}),
        (True, False, {}),
        (True, None, {}),
        (False, True, {}),
        (None, True, {}),
    ],
)
def test_nobody_said_and_both_could_is_a_note(machine, cutter, expected):
    built = changed(replace(HYDRAULIC, coolant_wanted=None), "machine", coolant_through=machine)
    assert said(changed(built, "cutter", coolant_through=cutter)) == expected
