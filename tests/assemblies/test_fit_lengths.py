"""Overall length, gauge length, machine envelope."""

from dataclasses import replace

import pytest

from assemblies.rules.closure import closure_finding, expected_gauge_um, overall_finding
from assemblies.rules.envelope import assembly_mass_g, envelope_findings
from assemblies.rules.fit import stack_findings
from assemblies.rules.stack import (
    BuildFigures,
    CutterPart,
    HolderPart,
    ShopLimits,
    Stack,
    Stage,
)
from crib.rules.finding import Level
from crib.rules.standards import ReferenceTables
from tests.assemblies.stacks import CUTTER, FIGURES, HOLDER, ROUTER_2, levels, stack, troubles

LIMITS = ShopLimits()


# Worked example, by hand: holder 60, cutter 76 long, 32 held: stick-out 44, tip at 104.
@pytest.mark.parametrize(
    ("stickout_um", "grip_um", "level"),
    [
        (44_000, 32_000, Level.PASS),
        (43_000, 32_000, Level.PASS),  # no equality: the face may stand back
        (44_001, 32_000, Level.STOP_HARD),
        (None, 32_000, Level.UNKNOWN),
        (44_000, None, Level.UNKNOWN),
    ],
)
def test_grip_and_stick_out_fit_into_the_cutter(stickout_um, grip_um, level):
    assert overall_finding(CutterPart(overall_um=76_000), stickout_um, grip_um).level == level


def test_a_cutter_of_unknown_length_cannot_be_judged():
    assert overall_finding(CutterPart(), 44_000, 32_000).level == Level.UNKNOWN


def test_holder_and_stick_out_promise_the_gauge_length():
    assert expected_gauge_um(HolderPart(gauge_length_um=60_000), 44_000) == 104_000


@pytest.mark.parametrize(
    ("measured_um", "level"),
    [
        (104_000, Level.PASS),
        (104_500, Level.PASS),
        (104_501, Level.CHECK),
        (103_500, Level.PASS),
        (103_499, Level.CHECK),
        (None, Level.UNKNOWN),
    ],
)
def test_the_measured_gauge_length_closes_within_half_a_millimetre(measured_um, level):
    figures = BuildFigures(stickout_um=44_000, gauge_length_um=measured_um)
    holder = HolderPart(gauge_length_um=60_000)
    assert closure_finding(holder, figures, LIMITS).level == level


def test_closure_needs_holder_and_stick_out():
    figures = BuildFigures(gauge_length_um=104_000)
    assert closure_finding(HolderPart(gauge_length_um=60_000), figures, LIMITS).level == (
        Level.UNKNOWN
    )
    with_stickout = replace(figures, stickout_um=44_000)
    assert closure_finding(HolderPart(), with_stickout, LIMITS).level == Level.UNKNOWN


@pytest.mark.parametrize(
    ("machine", "expected"),
    [
        ({}, {}),
        ({"max_gauge_length_um": 95_000}, {}),
        ({"max_gauge_length_um": 94_999}, {"envelope.length_over": "stop_hard"}),
        ({"max_gauge_length_um": None}, {"envelope.length_not_known": "unknown"}),
        ({"max_diameter_um": 12_000}, {}),
        ({"max_diameter_um": 11_999}, {"envelope.diameter_over": "stop_hard"}),
        ({"max_diameter_um": None}, {"envelope.diameter_not_known": "unknown"}),
        ({"max_mass_g": 960}, {}),
        ({"max_mass_g": 959}, {"envelope.mass_over": "stop_hard"}),
    ],
)
def test_the_assembly_has_room_in_the_machine(machine, expected):
    assert troubles(envelope_findings(stack(), replace(ROUTER_2, **machine))) == expected


def test_a_mass_or_a_mass_limit_that_is_not_known_is_a_note():
    light = stack(cutter=replace(CUTTER, mass_g=None))
    assert assembly_mass_g(light) is None
    for built, machine in ((light, ROUTER_2), (stack(), replace(ROUTER_2, max_mass_g=None))):
        assert levels(envelope_findings(built, machine))["envelope.mass_not_known"] == "note"


def test_mass_is_weighed_or_the_sum_of_every_part():
    assert assembly_mass_g(stack()) == 600 + 100 + 140 + 120
    assert assembly_mass_g(stack(figures=replace(FIGURES, mass_g=975))) == 975
    assert assembly_mass_g(stack(nut=None)) is None
    arbor = replace(HOLDER, clamping="arbor")
    assert assembly_mass_g(stack(holder=arbor, collet=None, nut=None)) == 720


def test_a_length_not_measured_is_taken_from_holder_and_stick_out():
    built = stack(figures=replace(FIGURES, gauge_length_um=None))
    machine = replace(ROUTER_2, max_gauge_length_um=94_999)
    assert levels(envelope_findings(built, machine))["envelope.length_over"] == "stop_hard"


def test_the_larger_of_nominal_and_measured_diameter_must_have_room():
    built = stack(figures=replace(FIGURES, diameter_um=12_100))
    machine = replace(ROUTER_2, max_diameter_um=12_050)
    assert levels(envelope_findings(built, machine))["envelope.diameter_over"] == "stop_hard"


@pytest.mark.parametrize(
    ("clamping", "stickout_um", "code"),
    [
        ("arbor", 40_500, "length.within_overall"),
        ("arbor", 40_501, "length.over_overall"),
        ("shrink", 40_001, "length.over_overall"),
    ],
)
def test_a_measured_height_on_an_arbor_may_lie_a_little_above_the_recorded_one(
    clamping, stickout_um, code
):
    built = Stack(
        holder=HolderPart(clamping=clamping),
        cutter=CutterPart(overall_um=40_000),
        figures=BuildFigures(stickout_um=stickout_um, grip_um=0),
    )
    found = stack_findings(built, ShopLimits(), Stage.RELEASE, ReferenceTables())

    assert code in {finding.code for finding in found}
