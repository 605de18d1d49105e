"""The front door: whole stacks, stages, and the planted cases of the example shop."""

from dataclasses import fields, replace

import pytest

from assemblies.rules.cautions import BUILD_STEPS, CAUTIONS, FOOTER
from assemblies.rules.fit import runs_on_a_router, stack_findings
from assemblies.rules.stack import (
    BuildFigures,
    CutterPart,
    HolderPart,
    MachineFacts,
    NutPart,
    ProgramCall,
    ShopLimits,
    SleevePart,
    Stack,
    Stage,
    StudPart,
    StudState,
)
from crib.rules.finding import Level, worst_level
from tests.assemblies.stacks import (
    ARBOR_STACK,
    BY_CLAMPING,
    COLLET,
    CUTTER,
    FIGURES,
    HOLDER,
    NUT,
    ROUTER_2,
    STACK,
    TABLES,
    stack,
    troubles,
)

LIMITS = ShopLimits()


def found(built, stage=Stage.RELEASE):
    return troubles(stack_findings(built, LIMITS, stage, TABLES))


@pytest.mark.parametrize("stage", Stage)
def test_the_everyday_stack_passes_at_every_stage(stage):
    findings = stack_findings(STACK, LIMITS, stage, TABLES)
    assert troubles(findings) == {}
    assert len(findings) > 10


@pytest.mark.parametrize("stage", Stage)
def test_a_stack_of_nothing_never_passes(stage):
    empty = Stack(machine=MachineFacts(), call=ProgramCall())
    findings = stack_findings(empty, LIMITS, stage, TABLES)
    assert worst_level(findings).weight >= Level.UNKNOWN.weight
    assert [f.code for f in findings if f.level == Level.PASS] == []


#: Facts whose absence no rule may take for agreement. The rest are names, optional marks, or
#: settings that have a default.
NEEDED = {
    "holder": "interface clamping series nose_thread gauge_length_um max_rpm condition",
    "collet": "series clamp_max_um clamp_min_um hours condition",
    "nut": "series thread nut_type max_rpm condition",
    "cutter": "shank_um plain_shank_um overall_um hand insert_seats condition",
    "figures": "stickout_um grip_um torque_mnm gauge_length_um diameter_um runout_um",
    "machine": "interface stud_pattern max_rpm rotations max_gauge_length_um max_diameter_um",
    "call": "speed_rpm rotation",
    "stud": "pattern",
}
ONE_BY_ONE = [(part, name) for part, names in NEEDED.items() for name in names.split()]


@pytest.mark.parametrize(("part", "name"), ONE_BY_ONE)
def test_each_fact_that_is_missing_is_noticed(part, name):
    built = replace(STACK, **{part: replace(getattr(STACK, part), **{name: None})})
    assert found(built), f"{part}.{name} went unnoticed"


@pytest.mark.parametrize("part", ["holder", "collet", "nut", "cutter"])
def test_each_part_that_is_missing_is_noticed(part):
    assert f"{part}.missing" in found(replace(STACK, **{part: None}))


def test_every_needed_fact_is_a_field():
    for part, names in NEEDED.items():
        known = {field.name for field in fields(getattr(STACK, part))}
        assert set(names.split()) <= known


def test_a_build_is_not_asked_for_what_is_measured_later():
    fresh = stack(figures=BuildFigures(), machine=None, call=None)
    assert found(fresh, Stage.BUILD) == {}
    assert found(fresh, Stage.RELEASE) == {
        "grip.not_known": "unknown",
        "length.not_known": "unknown",
        "gauge.not_known": "unknown",
        "torque.not_known": "unknown",
        "runout.not_known": "unknown",
        "diameter.not_known": "unknown",
    }


def test_a_build_judges_the_figures_that_are_there():
    figures = BuildFigures(grip_um=20_000, torque_mnm=50_000)
    assert found(stack(figures=figures), Stage.BUILD) == {
        "grip.too_short": "stop_soft",
        "torque.below": "check",
    }


def test_a_machine_is_judged_at_every_stage_once_it_is_given():
    mill = MachineFacts(mark="M1", interface="HSK-A63", max_rpm=12_000, is_router=False)
    for stage in Stage:
        assert "interface.differs" in found(stack(machine=mill, call=None), stage)
        assert "interface.differs" not in found(stack(machine=None, call=None), stage)


def test_room_in_the_machine_is_asked_for_once_it_is_measured():
    small = replace(ROUTER_2, max_diameter_um=10_000)
    fresh = stack(machine=small, figures=BuildFigures(), call=None)
    assert found(fresh, Stage.BUILD) == {"envelope.diameter_over": "stop_hard"}
    assert "envelope.length_not_known" in found(fresh, Stage.RELEASE)


def test_a_router_is_known_by_the_machine_or_else_by_the_holder():
    assert runs_on_a_router(stack(machine=None), TABLES)
    assert not runs_on_a_router(stack(machine=replace(ROUTER_2, is_router=False)), TABLES)
    assert runs_on_a_router(stack(machine=replace(ROUTER_2, is_router=None)), TABLES)
    hollow = replace(HOLDER, interface="HSK-F63")
    assert not runs_on_a_router(stack(machine=None, holder=hollow), TABLES)


ER25_HOLDER = replace(HOLDER, series="ER25", nose_thread="M32x1.5")
ER25_NUT = replace(NUT, series="ER25", thread="M32x1.5")


def test_planted_case_worn_collet_and_runout():
    # 1044: 6 mm in 6-5 ER25, 80 N·m, collet 640 of 500 h, runout 0.028.
    built = stack(
        holder=ER25_HOLDER,
        nut=ER25_NUT,
        collet=replace(
            COLLET,
            series="ER25",
            clamp_max_um=6_000,
            clamp_min_um=5_000,
            length_um=34_000,
            hours=640,
        ),
        cutter=replace(
            CUTTER,
            diameter_um=6_000,
            shank_um=6_000,
            overall_um=60_000,
            flute_um=22_000,
            plain_shank_um=36_000,
        ),
        figures=BuildFigures(27_000, 33_000, 80_000, 77_000, 6_000, 28),
    )
    assert found(built) == {"runout.over": "check", "collet.hours_over": "check"}


def test_planted_case_quarter_inch_shank_in_a_7_6_collet():
    built = stack(
        collet=replace(COLLET, clamp_max_um=7_000, clamp_min_um=6_000),
        cutter=replace(
            CUTTER,
            diameter_um=6_350,
            shank_um=6_350,
            overall_um=64_000,
            flute_um=22_000,
            bought_in_inches=True,
        ),
        figures=BuildFigures(28_000, 36_000, 136_000, 78_000, 6_350, 18),
    )
    assert found(built) == {"collet.closed_far": "check"}


def test_planted_case_impossible_draft():
    # 1049: 6.35 shank in a 6-5 collet; stud not recorded.
    built = stack(
        holder=ER25_HOLDER,
        nut=ER25_NUT,
        stud=StudPart(),
        collet=replace(
            COLLET, series="ER25", clamp_max_um=6_000, clamp_min_um=5_000, length_um=34_000
        ),
        cutter=replace(CUTTER, diameter_um=6_350, shank_um=6_350),
        figures=BuildFigures(),
        machine=None,
        call=None,
    )
    assert found(built, Stage.BUILD) == {
        "collet.shank_too_large": "stop_hard",
        "stud.not_known": "unknown",
    }
    release = found(built, Stage.RELEASE)
    assert release["collet.shank_too_large"] == "stop_hard"
    assert release["stud.not_known"] == "stop_soft"


def test_planted_case_no_stud_and_collet_at_the_bottom_of_its_range():
    built = stack(
        stud=StudPart(StudState.NONE_FITTED),
        collet=replace(COLLET, clamp_max_um=13_000, clamp_min_um=12_000),
        machine=None,
        call=None,
    )
    assert found(built, Stage.RELEASE) == {
        "stud.missing": "stop_hard",
        "collet.closed_far": "check",
    }


def test_planted_case_other_stud():
    built = stack(stud=StudPart(StudState.FITTED, "A"))
    assert found(built) == {"stud.differs": "stop_hard"}


def test_planted_case_grip_of_70_percent():
    # 1047: V-groove cutter 64 mm out, 28 of 40 mm held.
    built = stack(
        cutter=replace(
            CUTTER, diameter_um=32_000, overall_um=92_000, flute_um=20_000, max_rpm=18_000
        ),
        figures=BuildFigures(64_000, 28_000, 136_000, 114_000, 32_000, 20),
        call=ProgramCall(15_000, "cw"),
    )
    assert found(built) == {"grip.below_advice": "check"}


def test_planted_case_old_program_runs_the_large_cutter_too_fast():
    large = replace(CUTTER, diameter_um=80_000, max_rpm=12_000)
    figures = replace(FIGURES, diameter_um=80_000)
    built = stack(cutter=large, figures=figures, call=ProgramCall(16_000, "cw"))
    assert found(built) == {"speed.over_limit": "stop_hard"}
    assert found(replace(built, call=ProgramCall(9_000, "cw"))) == {}


def test_planted_case_left_hand_cutter():
    built = stack(cutter=replace(CUTTER, hand="left"), machine=None, call=ProgramCall(None, "cw"))
    assert found(built, Stage.BUILD)["rotation.program_differs"] == "stop_hard"


def test_planted_case_face_mill_on_its_arbor():
    # 1054: 50 mm face mill on a 22 mm arbor: no collet, no nut, no grip, no stud.
    assert found(ARBOR_STACK) == {}


def bad_stacks():
    """Stacks that are wrong in many ways at once, to hear every kind of message."""
    yield STACK
    yield Stack(machine=MachineFacts(), call=ProgramCall())
    yield stack(
        holder=replace(HOLDER, interface="HSK-F63", series="ER25", nose_thread="M32x1.5"),
        nut=NutPart("N-9", "ER20", "M24x1", "mini", condition="lost"),
        stud=StudPart(StudState.FITTED, "P40T-1"),
        collet=replace(COLLET, hours=9_000, condition="quarantined"),
        cutter=replace(
            CUTTER,
            shank_um=25_400,
            shank_measured_um=25_100,
            hand="left",
            max_rpm=None,
            diameter_um=80_000,
            insert_seats=12,
            empty_seats=11,
            bought_in_inches=True,
            condition="regrind",
        ),
        figures=BuildFigures(123_456, 38_500, 250_500, 95_000, 80_123, 333, 4_500),
        call=ProgramCall(24_000, "cw"),
    )
    yield stack(
        holder=replace(HOLDER, clamping="side_lock", bore_um=12_000),
        cutter=replace(CUTTER, shank_form="HA"),
        call=ProgramCall(5_000, None),
    )
    yield stack(machine=replace(ROUTER_2, override_ceiling_percent=150))
    yield stack(figures=replace(FIGURES, grip_um=12_345, torque_mnm=136_500))
    yield stack(figures=replace(FIGURES, grip_um=39_500))
    yield stack(figures=replace(FIGURES, grip_um=41_500))
    yield stack(holder=replace(HOLDER, interface=None), nut=replace(NUT, max_rpm=None))
    yield stack(collet=None, nut=None, cutter=replace(CUTTER, max_rpm=None, diameter_um=None))
    yield stack(stud=StudPart(StudState.FITTED), cutter=replace(CUTTER, plain_shank_um=None))
    yield from wrong_in_every_seat()


def wrong_in_every_seat():
    """Each way of clamping with a cutter, a sleeve and lengths that it does not take."""
    wrong_sleeve = SleevePart("S-1", "milling_chuck", 32_000, 25_400, 30_000, condition="worn")
    for built in BY_CLAMPING.values():
        cutter, holder = built.cutter, built.holder
        strange = replace(
            cutter,
            kind="t_slot",
            shank_um=cutter.shank_um and 25_400,
            shank_measured_um=cutter.shank_um and 25_385,
            shank_form="HE",
            material="high-speed steel, coated all over",
            keyway_um=20_500,
            square_um=14_500,
        )
        figures = replace(built.figures, grip_um=123_456, torque_mnm=12_345)
        yield replace(built, cutter=strange, sleeve=wrong_sleeve, figures=figures)
        yield replace(built, cutter=replace(strange, kind="tap", pitch_um=None, shank_form="HB"))
        yield replace(built, cutter=strange, sleeve=SleevePart(), coolant_wanted=True)
        yield replace(built, holder=HolderPart(clamping=holder.clamping), coolant_wanted=True)
        yield replace(built, cutter=CutterPart(), nut=NutPart(sealed=True))
        yield replace(built, cutter=CutterPart(kind="tap"), sleeve=SleevePart())
        thin = replace(cutter, shank_measured_um=cutter.shank_um and cutter.shank_um - 17)
        tight = replace(holder, grip_min_um=39_999, screw_torque_mnm=136_500)
        yield replace(built, cutter=thin, holder=tight, figures=replace(figures, grip_um=30_001))


@pytest.mark.parametrize("stage", Stage)
def test_every_message_fits_on_one_line_and_names_its_source(stage):
    findings = [
        finding
        for built in bad_stacks()
        for finding in stack_findings(built, LIMITS, stage, TABLES)
    ]
    assert len({finding.code for finding in findings}) > 60
    assert sorted({f.text for f in findings if len(f.text) > 70}) == []
    assert [f.code for f in findings if not f.source] == []
    in_trouble = [f for f in findings if f.level not in (Level.PASS, Level.NOTE)]
    assert [f.code for f in in_trouble if not f.remedy] == []
    assert [f.code for f in findings if f.measured is not None and not f.unit] == []


def test_a_finding_survives_being_stored():
    for finding in stack_findings(STACK, LIMITS, Stage.RELEASE, TABLES):
        assert type(finding).from_dict(finding.as_dict()) == finding


def test_cautions_defer_to_makers_and_local_rules():
    assert FOOTER.startswith("Follow the machine and tool makers' instructions")
    assert {caution.where for caution in CAUTIONS} == {"build", "label", "spindle", "care"}
    assert len({caution.code for caution in CAUTIONS}) == len(CAUTIONS)
    assert len(BUILD_STEPS) == 7
    assert [c.code for c in CAUTIONS if "safe" in c.text.lower()] == []


def test_a_collet_is_held_against_the_shank_before_there_is_a_holder():
    """Parts are scanned in any order; the refusal comes on the scan that does not fit."""
    small = replace(STACK.cutter, shank_um=20_000)
    assert found(stack(holder=None, cutter=small), Stage.BUILD)["collet.shank_too_large"]


def test_a_draft_says_what_to_tighten_to():
    fresh = stack(figures=BuildFigures(), machine=None, call=None)
    said = [f for f in stack_findings(fresh, LIMITS, Stage.BUILD, TABLES) if f.code == "torque.aim"]
    assert [(f.level, f.text) for f in said] == [("note", "Tighten to 136 N·m, at most 170.")]
