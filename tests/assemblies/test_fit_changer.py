"""What the changer bears, what a rating says, and how slender the cutter is."""

from dataclasses import replace

import pytest

from assemblies.rules.balance import balance_findings
from assemblies.rules.condition import condition_findings
from assemblies.rules.envelope import assembly_mass_g, envelope_findings, known_mass_g
from assemblies.rules.fit import stack_findings
from assemblies.rules.moment import moment_findings, tilting_moment_mnm
from assemblies.rules.slenderness import slenderness_findings
from assemblies.rules.speed import speed_limit
from assemblies.rules.stack import (
    BuildFigures,
    CutterPart,
    HolderPart,
    MachineFacts,
    ProgramCall,
    ShopLimits,
    Stage,
)
from crib.rules.finding import Level
from tests.assemblies.stacks import BY_CLAMPING, HYDRAULIC_SLEEVE, MILL, TABLES, levels, troubles

LIMITS = ShopLimits()
HYDRAULIC = BY_CLAMPING["hydraulic"]


# Statics by hand: 2 kg at 100 mm is 2 x 9.80665 x 0.1 = 1.96133 N·m.
@pytest.mark.parametrize(
    ("mass_g", "centre_um", "plane_um", "moment_mnm"),
    [
        (2_000, 100_000, 0, 1_961.33),
        (2_000, 100_000, 100_000, 0),
        (2_000, 100_000, 150_000, 980.665),
        (2_000, 0, -100_000, 1_961.33),
        # Holder 1.10 kg at 30, nut 0.14 at 62, collet 0.10 at 50, cutter 0.25 at 90 mm.
        (1_590, 43_509, 0, 678.4),
        (1_590, 43_509, -15_000, 912.3),
    ],
)
def test_the_moment_is_mass_by_distance(mass_g, centre_um, plane_um, moment_mnm):
    found = tilting_moment_mnm(mass_g, centre_um, plane_um)
    assert found == pytest.approx(moment_mnm, abs=0.05)


@pytest.mark.parametrize(
    ("most_mnm", "expected"),
    [
        (1_962, {"envelope.moment_within": "pass"}),
        (1_961, {"envelope.moment_over": "stop_hard"}),
        (None, {}),
    ],
)
def test_the_changer_bears_so_much_and_no_more(most_mnm, expected):
    machine = MachineFacts(max_moment_mnm=most_mnm, moment_plane_um=0)
    figures = BuildFigures(mass_g=2_000, centre_um=100_000)
    assert levels(moment_findings(figures, machine)) == expected


@pytest.mark.parametrize(
    "missing", [{"mass_g": None}, {"centre_um": None}, {"moment_plane_um": None}]
)
def test_a_limit_on_the_moment_needs_mass_centre_and_plane(missing):
    facts = {"mass_g": 2_000, "centre_um": 100_000, "moment_plane_um": 0} | missing
    machine = MachineFacts(max_moment_mnm=5_000, moment_plane_um=facts.pop("moment_plane_um"))
    assert levels(moment_findings(BuildFigures(**facts), machine)) == {
        "envelope.moment_not_known": "unknown"
    }


def test_a_sum_of_parts_does_not_stand_for_weighing():
    built = replace(HYDRAULIC, figures=replace(HYDRAULIC.figures, mass_g=None, centre_um=None))
    assert assembly_mass_g(built) is not None
    said = troubles(stack_findings(built, LIMITS, Stage.RELEASE, TABLES))
    assert said == {"envelope.moment_not_known": "unknown"}


@pytest.mark.parametrize(
    ("diameter_um", "expected"),
    [
        (75_000, {}),
        (75_001, {"envelope.neighbours": "check"}),
        (125_000, {"envelope.neighbours": "check"}),
        (125_001, {"envelope.neighbours": "check", "envelope.diameter_over": "stop_hard"}),
    ],
)
def test_a_wide_cutter_keeps_its_neighbours_empty(diameter_um, expected):
    built = replace(HYDRAULIC, figures=replace(HYDRAULIC.figures, diameter_um=diameter_um))
    assert troubles(envelope_findings(built, MILL)) == expected


@pytest.mark.parametrize("stage", Stage)
def test_neighbours_are_named_while_it_is_being_built(stage):
    arbor = BY_CLAMPING["arbor"]
    wide = replace(arbor, cutter=replace(arbor.cutter, diameter_um=80_000))
    assert "envelope.neighbours" in levels(stack_findings(wide, LIMITS, stage, TABLES))


def test_a_machine_without_a_limit_beside_full_pockets_says_nothing_of_neighbours():
    machine = replace(MILL, max_diameter_beside_um=None)
    built = replace(HYDRAULIC, figures=replace(HYDRAULIC.figures, diameter_um=100_000))
    assert troubles(envelope_findings(built, machine)) == {}


# ---------------------------------------------------------------- sleeves count too
def test_a_sleeve_has_its_mass():
    built = replace(HYDRAULIC, figures=BuildFigures())
    assert assembly_mass_g(built) == 1_300 + 120 + 75
    nameless = replace(built, sleeve=replace(HYDRAULIC_SLEEVE, mass_g=None))
    assert assembly_mass_g(nameless) is None
    assert known_mass_g(nameless).at_least_g == 1_420


def test_what_is_certain_is_too_heavy_whatever_the_rest_weighs():
    built = replace(
        HYDRAULIC, figures=BuildFigures(), sleeve=replace(HYDRAULIC_SLEEVE, mass_g=None)
    )
    for most_g, level in ((1_420, "note"), (1_419, "stop_hard")):
        said = levels(envelope_findings(built, replace(MILL, max_mass_g=most_g)))
        assert level in (said.get("envelope.mass_not_known"), said.get("envelope.mass_over"))


@pytest.mark.parametrize("clamping", ["drill_chuck", "tap", "shrink", "arbor", "side_lock"])
def test_a_holder_without_a_nose_weighs_no_collet_and_no_nut(clamping):
    built = replace(BY_CLAMPING[clamping], figures=BuildFigures())
    assert assembly_mass_g(built) == built.holder.mass_g + built.cutter.mass_g


@pytest.mark.parametrize("clamping", ["collet", None, "spring"])
def test_without_collet_and_nut_the_mass_of_other_holders_is_not_known(clamping):
    built = replace(HYDRAULIC, figures=BuildFigures())
    assert assembly_mass_g(replace(built, holder=replace(built.holder, clamping=clamping))) is None


@pytest.mark.parametrize(
    ("max_rpm", "limit", "part"), [(9_000, 9_000, "sleeve"), (None, 12_000, "")]
)
def test_a_marked_sleeve_limits_the_speed(max_rpm, limit, part):
    found = speed_limit(replace(HYDRAULIC, sleeve=replace(HYDRAULIC_SLEEVE, max_rpm=max_rpm)))
    assert found.limit_rpm == limit
    assert found.unknown_parts == ()
    assert not part or found.limiting_part == part


@pytest.mark.parametrize(
    ("condition", "expected"),
    [
        ("in_service", {}),
        ("worn", {"condition.out_of_use": "stop_hard"}),
        (None, {"condition.not_known": "unknown"}),
    ],
)
def test_a_sleeve_has_a_state_like_any_part(condition, expected):
    built = replace(HYDRAULIC, sleeve=replace(HYDRAULIC_SLEEVE, condition=condition))
    assert levels(condition_findings(built)) == expected


# ---------------------------------------------------------------- balance
@pytest.mark.parametrize(
    ("grade", "speed_rpm", "expected"),
    [
        (None, None, {}),
        (63, 15_000, {}),
        (None, 15_000, {}),
        (63, None, {"balance.speed_not_known": "note"}),
    ],
)
def test_a_grade_without_its_speed_says_nothing(grade, speed_rpm, expected):
    holder = HolderPart(balance_grade_tenths=grade, balance_rpm=speed_rpm)
    assert levels(balance_findings(holder)) == expected


@pytest.mark.parametrize(("speed_rpm", "level"), [(8_000, Level.PASS), (8_001, Level.STOP_HARD)])
def test_the_rated_speed_limits_like_any_mark(speed_rpm, level):
    built = replace(
        HYDRAULIC,
        holder=replace(HYDRAULIC.holder, balance_grade_tenths=63, balance_rpm=8_000),
        call=ProgramCall(speed_rpm, "cw"),
    )
    speeds = [
        f
        for f in stack_findings(built, LIMITS, Stage.RELEASE, TABLES)
        if f.code in ("speed.within", "speed.over_limit")
    ]
    assert [f.level for f in speeds] == [level]
    assert "balance rating" in speeds[0].text


# ---------------------------------------------------------------- stick-out
# Caution above 4 diameters, common practice; 6 for carbide, from memory.
@pytest.mark.parametrize(
    ("stickout_um", "material", "noted"),
    [
        (40_000, "high-speed steel", False),
        (40_001, "high-speed steel", True),
        (40_001, None, True),
        (60_000, "solid carbide", False),
        (60_001, "solid carbide", True),
    ],
)
def test_a_long_stick_out_is_noted(stickout_um, material, noted):
    cutter = CutterPart(kind="end_mill", diameter_um=10_000, shank_um=10_000, material=material)
    said = levels(slenderness_findings(BuildFigures(stickout_um=stickout_um), cutter))
    assert said == ({"stickout.long": "note"} if noted else {})


def test_the_thinner_of_shank_and_cutting_diameter_counts():
    figures = BuildFigures(stickout_um=60_000)
    wide = CutterPart(kind="surfacing", diameter_um=80_000, shank_um=12_000)
    assert levels(slenderness_findings(figures, wide)) == {"stickout.long": "note"}


@pytest.mark.parametrize("kind", ["drill", "reamer", "countersink", "boring_bit", "tap", None])
def test_drills_and_taps_are_not_asked(kind):
    cutter = CutterPart(kind=kind, diameter_um=5_000, shank_um=5_000)
    assert slenderness_findings(BuildFigures(stickout_um=100_000), cutter) == []


def test_without_sizes_or_on_an_arbor_nothing_is_said():
    far = BuildFigures(stickout_um=100_000)
    assert slenderness_findings(far, CutterPart(kind="end_mill")) == []
    assert slenderness_findings(BuildFigures(), CutterPart("", "end_mill", "", 5_000)) == []
    shell = CutterPart(kind="face_mill", diameter_um=20_000, bore_um=16_000)
    assert slenderness_findings(far, shell) == []
