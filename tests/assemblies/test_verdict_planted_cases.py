"""The stories of the invented example shop, as facts, and what the check must answer."""

from dataclasses import replace
from datetime import date

import pytest

from assemblies.rules.verdict.facts import (
    Approval,
    AssemblyFacts,
    Change,
    CheckFacts,
    ControlFacts,
    Hand,
    LabelFacts,
    LengthRule,
    MachineFacts,
    NumberNames,
    RequirementFacts,
    SpeedLimitFacts,
    State,
    Stud,
    StudRule,
)
from assemblies.rules.verdict.judge import Word, judge
from crib.rules.finding import Finding, Level
from tests.assemblies.verdict_facts import (
    CABINET_SIDE,
    CLOCKWISE,
    EVERYDAY,
    LABEL,
    SPIRAL,
    TODAY,
    WANTED,
    call,
    changed,
    codes,
    reason_codes,
    wanted,
)
from tests.assemblies.verdict_facts import ROUTER_2 as LIMITED

# Nobody wrote down what this shop's changers bear, nor weighed with a centre.
ROUTER_2 = replace(LIMITED, max_moment_mnm=None, moment_plane_um=None, max_diameter_beside_um=None)
ROUTER_1 = replace(
    ROUTER_2,
    mark="R1",
    name="Router 1",
    stud_pattern="A",
    change=Change.BY_HAND,
    max_length_um=130_000,
    max_diameter_um=100_000,
)
MILL_1 = MachineFacts(
    mark="M1",
    name="Mill 1",
    interface="HSK-A63",
    stud_rule=StudRule.NOT_USED,
    change=Change.CHANGER,
    pockets=24,
    number_names=NumberNames.SLOT,
    max_length_um=250_000,
    max_diameter_um=75_000,
    speed_min_rpm=50,
    speed_max_rpm=12_000,
    override_ceiling_percent=100,
    turns=CLOCKWISE,
)

SHOP_SIGN = replace(
    CABINET_SIDE,
    name="HM-0377",
    revision="B",
    approved_revision="B",
    tool_numbers=(4, 5, 6),
)
SHOP_SIGN_CALLS = {4: call(9_000), 5: call(18_000), 6: call(15_000)}
SHOP_SIGN_WANTS = {
    4: wanted("surfacing", 80_000, 200, 83_000, (30_000, 36_000)),
    5: wanted("spiral_up", 6_000, 30, 77_000, (25_000, 29_000)),
    6: wanted("v_groove", 32_000, 100, 97_000, (40_000, 50_000)),
}
HINGE_PLATE = replace(
    CABINET_SIDE,
    name="HM-0520",
    revision="B",
    approved_revision="B",
    tool_numbers=(1, 2, 4, 5),
)
HINGE_PLATE_CALLS = {1: call(4_000), 2: call(12_000), 4: call(3_000), 5: call(250)}
HINGE_PLATE_WANTS = {
    1: wanted("face_mill", 50_000, 200, 100_000, (39_000, 41_000)),
    2: wanted("end_mill", 10_000, 200, 132_000, (28_000, 34_000), controller_diameter=True),
    4: wanted("drill", 8_500, 50, 177_000, (75_000, 80_000), gauge_tolerance_um=1_500),
    5: wanted("tap", 10_000, 100, 170_000, (65_000, 75_000), gauge_tolerance_um=1_500),
}


def assembly(number, revision, holder_mark, kind, diameter_um, stickout_um, length_um, **more):
    limit_rpm = more.pop("limit_rpm", 24_000)
    return AssemblyFacts(
        **{
            "number": number,
            "state": State.RELEASED,
            "revision": revision,
            "holder_mark": holder_mark,
            "interface": "ISO 30",
            "stud": Stud.FITTED,
            "stud_pattern": "A",
            "cutter_kind": kind,
            "diameter_um": diameter_um,
            "nominal_diameter_um": diameter_um,
            "hand": Hand.RIGHT,
            "stickout_um": stickout_um,
            "gauge_length_um": length_um,
            "measured_on": date(2025, 5, 20),
            "coolant": (),
            "seat_compared": True,
            "runout_um": 10,
            "speed_limit": SpeedLimitFacts(limit_rpm=limit_rpm, limiting_part="cutter"),
            "cautions": (),
            "condition": (),
            **more,
        }
    )


HALF_INCH = assembly(
    *(1042, 1, "H-05", "compression", 12_700, 47_000, 97_000),
    stud_pattern="B",
    bought_in_inches=True,
    corner_radius_um=500,
    flute_length_um=41_000,
)
DOWN_CUT = assembly(1043, 3, "H-06", "spiral_down", 8_000, 32_000, 82_000, stud_pattern="B")
UP_CUT = assembly(1044, 1, "H-07", "spiral_up", 6_000, 27_000, 77_000)
QUARTER_INCH = assembly(
    *(1045, 1, "H-03", "spiral_up", 6_350, 28_000, 78_000), bought_in_inches=True
)
SURFACING = assembly(1046, 1, "H-01", "surfacing", 80_000, 33_000, 83_000, limit_rpm=12_000)
V_GROOVE = assembly(1047, 2, "H-02", "v_groove", 32_000, 64_000, 114_000, limit_rpm=18_000)
ROUND_OVER = assembly(
    *(1048, 1, "H-09", "round_over", 26_000, 38_000, 88_000),
    state=State.BUILT,
    stud=Stud.NONE_FITTED,
    stud_pattern=None,
    limit_rpm=18_000,
)
IN_THE_MILL = {"interface": "HSK-A63", "stud": Stud.NOT_USED, "stud_pattern": None}
RESHARPENED = assembly(
    *(1051, 4, "H-10", "end_mill", 9_860, 32_000, 132_000),
    **IN_THE_MILL,
    nominal_diameter_um=10_000,
    limit_rpm=30_000,
)
DRILL = assembly(1052, 1, "H-11", "drill", 8_500, 77_000, 177_000, **IN_THE_MILL, limit_rpm=12_000)
TAP = assembly(1053, 1, "H-12", "tap", 10_000, 70_000, 170_000, **IN_THE_MILL, limit_rpm=2_000)
FACE_MILL = assembly(
    1054, 1, "H-13", "face_mill", 50_000, 40_000, 100_000, **IN_THE_MILL, limit_rpm=12_000
)


def at(machine, program, calls, wants, built, tool_number, label_revision=None):
    revision = built.revision if label_revision is None else label_revision
    return CheckFacts(
        today=TODAY,
        label=replace(LABEL, assembly_number=built.number, label_revision=revision),
        assembly=built,
        machine=machine,
        program=program,
        tool_number=tool_number,
        calls=calls,
        requirements=wants,
        control=ControlFacts(loads=()),
    )


def cabinet(built, tool_number, label_revision=None):
    calls = EVERYDAY.calls
    return at(ROUTER_2, CABINET_SIDE, calls, WANTED, built, tool_number, label_revision)


def sign(built, tool_number):
    return at(ROUTER_1, SHOP_SIGN, SHOP_SIGN_CALLS, SHOP_SIGN_WANTS, built, tool_number)


def hinge(built, tool_number):
    return at(MILL_1, HINGE_PLATE, HINGE_PLATE_CALLS, HINGE_PLATE_WANTS, built, tool_number)


def caution(code, text):
    return Finding(code, Level.CHECK, text)


def test_f1_the_everyday_case_matches_t1():
    verdict = judge(cabinet(SPIRAL, 1))
    assert (verdict.word, verdict.tool_number) == (Word.MATCH, 1)


def test_f2_half_an_inch_is_not_twelve_millimetres():
    verdict = judge(cabinet(HALF_INCH, 1))
    assert verdict.word is Word.STOP
    assert reason_codes(verdict) == ["program.diameter_differs", "program.length_differs"]
    assert verdict.reasons[0].text == "12.70 mm = 1/2 in. Program wants 12.00 (0.70 bigger)."
    assert verdict.reasons[1].text == "97.0 mm. Program wants 95.0 ±1.0 (2.0 longer)."


def test_f3_the_tag_of_the_revision_before_is_void_and_the_new_one_matches():
    rebuilt = replace(DOWN_CUT, rebuilt_on=date(2025, 5, 12))
    stale = judge(cabinet(rebuilt, 3, label_revision=2))
    assert stale.word is Word.STOP
    assert reason_codes(stale) == ["label.void_rebuilt"]
    assert stale.reasons[0].text == "Label void: rebuilt on 12 May. This is revision 2, now 3."
    assert judge(cabinet(rebuilt, 3)).word is Word.MATCH


def test_f4_a_worn_collet_and_its_runout_are_two_checks():
    worn = replace(
        UP_CUT,
        runout_um=28,
        condition=(
            caution("runout.over", "Runout 0.028. Limit 0.020."),
            caution("collet.hours_over", "Collet 640 h of 500."),
        ),
    )
    verdict = judge(sign(worn, 5))
    assert verdict.word is Word.CHECK
    assert reason_codes(verdict) == ["runout.over", "collet.hours_over"]


def test_f5_a_quarter_inch_is_not_six_and_its_collet_is_listed_below():
    closed = replace(
        QUARTER_INCH,
        cautions=(caution("collet.near_bottom", "Collet 0.65 under its top size."),),
    )
    verdict = judge(sign(closed, 5))
    assert verdict.word is Word.STOP
    assert reason_codes(verdict) == ["program.diameter_differs", "collet.near_bottom"]
    assert verdict.reasons[0].text == "6.35 mm = 1/4 in. Program wants 6.00 (0.35 bigger)."


def test_f7_the_old_revision_runs_the_large_cutter_too_fast():
    old = replace(
        SHOP_SIGN,
        revision="A",
        approval=Approval.NONE,
        approved_on=date(2025, 6, 3),
    )
    unstated = {
        "gauge_length_um": None,
        "gauge_tolerance_um": None,
        "length_rule": None,
        "stickout_min_um": None,
        "stickout_max_um": None,
    }
    wants = {t: replace(want, **unstated) for t, want in SHOP_SIGN_WANTS.items()}
    calls = {**SHOP_SIGN_CALLS, 4: call(16_000)}
    verdict = judge(at(ROUTER_1, old, calls, wants, SURFACING, 4))
    assert verdict.word is Word.STOP
    assert reason_codes(verdict)[:2] == ["speed.over_limit", "program.not_approved"]
    assert verdict.reasons[0].text == "S16000 (rim 67 m/s). Limit of the cutter is 12000 1/min."
    assert verdict.reasons[1].text == "Revision A. Approved is B (3 June)."


def test_f7_the_same_cutter_matches_with_the_approved_revision():
    assert judge(sign(SURFACING, 4)).word is Word.MATCH


def test_f8_a_tool_left_out_too_long_stops_twice_and_names_its_grip():
    short_grip = replace(
        V_GROOVE, cautions=(caution("grip.under_80_percent", "Grip 28.0 is 70 % of the collet."),)
    )
    verdict = judge(sign(short_grip, 6))
    assert verdict.word is Word.STOP
    assert reason_codes(verdict) == [
        "program.length_differs",
        "program.stickout_far_too_long",
        "grip.under_80_percent",
    ]
    assert verdict.reasons[0].text == "114.0 mm. Program wants 97.0 ±1.0 (17.0 longer)."
    assert verdict.reasons[1].text == "Stick-out 64.0. Program allows 40.0–50.0."


@pytest.mark.parametrize(
    ("stud", "code"),
    [(Stud.NONE_FITTED, "machine.stud_missing"), (Stud.UNKNOWN, "machine.stud_not_recorded")],
)
def test_f9_not_released_without_a_stud_and_with_a_closed_collet(stud, code):
    closed = replace(
        ROUND_OVER,
        stud=stud,
        cautions=(caution("collet.near_bottom", "Collet 1.00 under its top size."),),
    )
    verdict = judge(cabinet(closed, 4))
    assert verdict.word is Word.STOP
    assert reason_codes(verdict) == ["assembly.not_released", code, "collet.near_bottom"]


def test_f10_the_same_taper_with_the_other_stud_stops():
    elsewhere = replace(
        SHOP_SIGN, approval=Approval.NONE, approved_revision=None, machine_listed=False
    )
    facts = at(ROUTER_2, elsewhere, SHOP_SIGN_CALLS, SHOP_SIGN_WANTS, SURFACING, None)
    verdict = judge(facts)
    assert (verdict.word, verdict.tool_number) == (Word.STOP, 4)
    assert verdict.reasons[0].text == "Stud A fitted. This machine needs stud B."
    assert "program.not_approved" in reason_codes(verdict)
    assert "program.machine_not_listed" in codes(verdict)


def test_f10_the_other_stud_stops_without_any_program():
    verdict = judge(replace(sign(SURFACING, None), machine=ROUTER_2, program=None))
    assert verdict.word is Word.STOP
    assert reason_codes(verdict)[0] == "machine.stud_differs"


def test_f11_a_resharpened_cutter_says_what_to_enter():
    verdict = judge(hinge(RESHARPENED, 2))
    assert verdict.word is Word.CHECK
    assert reason_codes(verdict) == ["program.enter_diameter"]
    assert verdict.reasons[0].text == "Enter L 132.00, D 9.86 (was 10.00)."
    assert verdict.meets == (2,)


@pytest.mark.parametrize(
    "changes",
    [
        {"machine.touch_off_every_load": True},
        {"requirement.length_rule": LengthRule.TOUCH_OFF},
        {"machine.touch_off_every_load": True, "control.confirmed_length_um": 131_000},
        {"machine.touch_off_every_load": True, "control.confirmed_diameter_um": 10_000},
    ],
)
def test_f11_where_the_length_is_touched_off_only_the_diameter_is_entered(changes):
    verdict = judge(changed(hinge(RESHARPENED, 2), changes))
    assert [reason.text for reason in verdict.reasons] == ["Enter D 9.86 (was 10.00)."]


def test_f12_a_mark_that_differs_by_eye_is_a_hard_stop():
    facts = sign(UP_CUT, 5)
    verdict = judge(changed(facts, {"label.holder_mark_agrees": False}))
    assert verdict.word is Word.STOP
    assert verdict.reasons[0].text == "Mark on the holder must read H-07. It differs."


def test_f13_the_wrong_taper_is_named_first():
    verdict = judge(hinge(SPIRAL, 2))
    assert verdict.word is Word.STOP
    assert verdict.reasons[0].text == "ISO 30 holder. This machine takes HSK-A63."
    assert not any(code.startswith("machine.stud") for code in reason_codes(verdict))


def test_f15_a_program_known_by_number_only_gets_the_machine_side_checks():
    facts = replace(cabinet(SPIRAL, 2), program=None, calls={2: call(15_000)}, requirements={})
    verdict = judge(facts)
    assert verdict.word is Word.CANT_TELL
    assert reason_codes(verdict) == ["program.not_chosen"]
    within = next(f for f in verdict.findings if f.code == "speed.within_limit")
    assert (within.measured, within.limit) == (15_000, 24_000)
    assert {"machine.interface_agrees", "machine.stud_agrees"} <= set(codes(verdict))
    assert "compression spiral, Ø 12.00 mm, length 95.0" in verdict.identity_text


@pytest.mark.parametrize(("built", "tool_number"), [(DRILL, 4), (TAP, 5), (FACE_MILL, 1)])
def test_the_ordinary_tools_of_the_mill_match(built, tool_number):
    for chosen in (tool_number, None):
        verdict = judge(hinge(built, chosen))
        assert (verdict.word, verdict.tool_number) == (Word.MATCH, tool_number)


def test_an_alternative_that_is_allowed_is_still_compared():
    twin = replace(HALF_INCH, number=1056)
    verdict = judge(cabinet(twin, 1))
    assert verdict.word is Word.STOP
    assert "program.allowed_alternative" in codes(verdict)


def test_the_listed_assembly_is_still_compared():
    other = replace(SPIRAL, cutter_kind="spiral_down")
    assert judge(cabinet(other, 1)).word is Word.STOP


def test_a_requirement_without_figures_and_without_words_is_said_so():
    facts = replace(cabinet(SPIRAL, 1), requirements={1: RequirementFacts(confirmed=True)})
    verdict = judge(facts)
    assert verdict.word is Word.CANT_TELL
    assert verdict.expected_text == "T1: not stated"


def test_a_code_of_something_else_never_becomes_a_tool():
    verdict = judge(replace(EVERYDAY, assembly=None, label=LabelFacts(found_by=None)))
    assert verdict.word is Word.CANT_TELL
    assert reason_codes(verdict) == ["label.code_not_ours"]


def test_an_unnamed_program_and_machine_are_still_compared():
    facts = changed(EVERYDAY, {"program.name": None, "machine.name": None, "machine.mark": None})
    assert judge(facts).word is Word.MATCH
    assert judge(changed(facts, {"program.machine_listed": False})).word is Word.CHECK
