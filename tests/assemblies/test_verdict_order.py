"""Which reason comes first, which T the verdict is about, and who may load."""

from dataclasses import replace

import pytest

from assemblies.rules.verdict.control_lines import read_back
from assemblies.rules.verdict.facts import Approval, CodeKind, FoundBy, Hand, State, Stud, Turn
from assemblies.rules.verdict.judge import AcceptedBy, Word, judge, may_accept, may_override
from crib.rules.finding import Finding, Level
from tests.assemblies.verdict_facts import EVERYDAY, WANTED, call, changed, codes, reason_codes

ROLES = ("operator", "toolroom", "programmer", "buyer", "lead", "admin", "nobody we know")


def test_hard_stops_come_before_soft_ones_and_each_keeps_the_order_of_comparison():
    verdict = judge(
        changed(
            EVERYDAY,
            {
                "assembly.diameter_um": 12_700,  # soft, of the program
                "assembly.cutter_kind": "straight",  # soft, of the program, compared earlier
                "assembly.interface": "HSK-A63",  # hard, of the machine
                "call.speed_max_rpm": 30_000,  # hard, of the speed
                "assembly.state": State.BUILT,  # hard, of the assembly
            },
        )
    )
    assert codes(verdict)[:5] == [
        "assembly.not_released",
        "machine.interface_differs",
        "speed.over_limit",
        "program.kind_differs",
        "program.diameter_differs",
    ]
    assert len(verdict.reasons) == 3
    assert verdict.more_count == 2


def test_unknowns_come_before_checks():
    verdict = judge(changed(EVERYDAY, {"call.speed_carried": True, "assembly.hand": None}))
    assert reason_codes(verdict) == ["program.hand_not_known", "speed.carried"]


def test_a_mismatch_says_which_tool_it_would_be():
    verdict = judge(changed(EVERYDAY, {"tool_number": 3}))
    assert (verdict.word, verdict.tool_number, verdict.meets) == (Word.STOP, 3, (1,))
    assert verdict.meets_text == "Meets T1, not T3."
    assert "program.meets_other_tool" in codes(verdict)


def test_without_a_chosen_tool_the_one_it_meets_is_judged():
    verdict = judge(changed(EVERYDAY, {"tool_number": None}))
    assert (verdict.word, verdict.tool_number) == (Word.MATCH, 1)


def test_without_a_chosen_tool_two_that_are_met_are_asked_about():
    twice = {**WANTED, 3: WANTED[1]}
    verdict = judge(replace(EVERYDAY, tool_number=None, requirements=twice))
    assert (verdict.word, verdict.tool_number, verdict.meets) == (Word.CANT_TELL, None, (1, 3))
    assert verdict.tool_choice_needed
    assert verdict.expected_text == ""
    assert reason_codes(verdict) == ["program.several_tools"]
    assert not any(may_accept(verdict, role) for role in ROLES)


def test_a_stop_of_the_label_is_not_hidden_by_the_question_which_tool():
    twice = {**WANTED, 3: WANTED[1]}
    facts = replace(EVERYDAY, tool_number=None, requirements=twice)
    verdict = judge(changed(facts, {"label.label_revision": 1}))
    assert verdict.word is Word.STOP
    assert reason_codes(verdict)[0] == "label.void_rebuilt"


def test_a_pocket_that_is_not_there_is_not_hidden_by_the_question_which_tool():
    twice = {**WANTED, 3: WANTED[1]}
    facts = replace(EVERYDAY, tool_number=None, requirements=twice)
    verdict = judge(changed(facts, {"control.pocket": 13}))
    assert (verdict.word, verdict.hard_stop) == (Word.STOP, True)
    assert reason_codes(verdict) == ["machine.pocket_not_there", "program.several_tools"]


@pytest.mark.parametrize(
    ("kind", "diameter_um", "nearest"),
    [
        ("compression", 12_700, 1),
        ("compression", 26_000, 1),  # the same kind comes before the nearer diameter
        ("spiral_down", 12_000, 3),
        ("drill", 8_100, 3),
        ("drill", 25_000, 4),
    ],
)
def test_where_none_is_met_the_nearest_tool_says_why(kind, diameter_um, nearest):
    changes = {
        "tool_number": None,
        "assembly.cutter_kind": kind,
        "assembly.diameter_um": diameter_um,
    }
    verdict = judge(changed(EVERYDAY, changes))
    assert (verdict.word, verdict.tool_number, verdict.meets) == (Word.STOP, nearest, ())


def test_a_requirement_without_a_diameter_is_never_the_nearest_of_its_kind():
    vague = {**WANTED, 3: replace(WANTED[1], diameter_um=None)}
    facts = replace(EVERYDAY, tool_number=None, requirements=vague)
    verdict = judge(changed(facts, {"assembly.diameter_um": 12_700}))
    assert (verdict.word, verdict.tool_number) == (Word.STOP, 1)


GROUPS = [
    "label_findings",
    "machine_findings",
    "program_findings",
    "requirement_findings",
    "turning_findings",
    "speed_findings",
]


@pytest.mark.parametrize("group", GROUPS)
def test_a_group_that_found_nothing_is_unknown_and_no_match(monkeypatch, group):
    monkeypatch.setattr(f"assemblies.rules.verdict.judge.{group}", lambda *facts: [])
    verdict = judge(EVERYDAY)
    assert verdict.word is Word.CANT_TELL
    assert reason_codes(verdict) == ["verdict.not_compared"]
    beside_a_check = judge(changed(EVERYDAY, {"control.seen_elsewhere": "Mill 1"}))
    assert beside_a_check.word is Word.CANT_TELL


def test_only_tools_the_program_calls_can_be_met():
    facts = changed(EVERYDAY, {"tool_number": None, "program.tool_numbers": (3, 4)})
    verdict = judge(facts)
    assert verdict.meets == ()
    assert verdict.word is Word.STOP


def test_an_unconfirmed_requirement_is_never_met():
    verdict = judge(changed(EVERYDAY, {"requirement.confirmed": False, "tool_number": None}))
    assert (verdict.word, verdict.tool_number, verdict.meets) == (Word.CANT_TELL, 1, ())


def test_a_program_of_numbers_only_asks_which_number():
    verdict = judge(replace(EVERYDAY, tool_number=None, requirements={}))
    assert verdict.word is Word.CANT_TELL
    assert verdict.tool_choice_needed
    assert reason_codes(verdict) == ["program.tool_not_chosen"]


def test_a_program_of_one_number_only_is_judged_by_that_number():
    facts = changed(EVERYDAY, {"tool_number": None, "program.tool_numbers": (1,)})
    verdict = judge(replace(facts, requirements={}, calls={1: call(30_000)}))
    assert (verdict.word, verdict.tool_number) == (Word.STOP, 1)
    assert reason_codes(verdict)[0] == "speed.over_limit"


def test_a_text_is_shown_and_never_compared():
    changes = {"requirement.kind": None, "requirement.diameter_um": None}
    verdict = judge(changed(EVERYDAY, changes))
    assert verdict.word is Word.CANT_TELL
    assert "12MM COMPRESSION" in verdict.expected_text


OPERATORS, LEADS = {"operator", "toolroom", "lead"}, {"toolroom", "lead"}


@pytest.mark.parametrize(
    ("changes", "accepted_by", "accept", "override"),
    [
        ({}, AcceptedBy.OPERATOR, OPERATORS, set()),
        ({"call.speed_carried": True}, AcceptedBy.OPERATOR, OPERATORS, set()),
        ({"assembly.hand": None}, AcceptedBy.OPERATOR, OPERATORS, set()),
        ({"assembly.diameter_um": 12_700}, AcceptedBy.LEAD, set(), LEADS),
        ({"assembly.diameter_um": 12_700, "assembly.hand": None}, AcceptedBy.LEAD, set(), LEADS),
        ({"assembly.state": State.BUILT}, AcceptedBy.NOBODY, set(), set()),
        (
            {"assembly.state": State.BUILT, "assembly.diameter_um": 12_700},
            *(AcceptedBy.NOBODY, set(), set()),
        ),
        ({"label.code_kind": CodeKind.PLACE}, AcceptedBy.NOBODY, set(), set()),
        ({"assembly": None}, AcceptedBy.NOBODY, set(), set()),
    ],
)
def test_who_may_load_follows_from_the_worst_finding(changes, accepted_by, accept, override):
    verdict = judge(changed(EVERYDAY, changes))
    assert verdict.can_accept_by is accepted_by
    assert {role for role in ROLES if may_accept(verdict, role)} == accept
    assert {role for role in ROLES if may_override(verdict, [role])} == override
    assert may_override(verdict, ROLES) is bool(override)
    assert not may_override(verdict, [])


def test_an_override_names_each_soft_stop_once_and_nothing_else():
    changes = {
        "assembly.diameter_um": 12_700,
        "assembly.gauge_length_um": 97_000,
        "assembly.hand": None,
        "call.speed_carried": True,
    }
    verdict = judge(changed(EVERYDAY, changes))
    assert verdict.override_rules == ("program.diameter_differs", "program.length_differs")
    assert (verdict.overridable, verdict.hard_stop) == (True, False)
    twice = (Finding("grip.too_short", Level.STOP_SOFT, "Grip 20.0 mm."),) * 2
    verdict = judge(changed(EVERYDAY, {"assembly.cautions": twice}))
    assert verdict.override_rules == ("grip.too_short",)


def test_a_hard_stop_beside_soft_ones_leaves_nothing_to_override():
    changes = {"assembly.diameter_um": 12_700, "label.label_revision": 1}
    verdict = judge(changed(EVERYDAY, changes))
    assert (verdict.overridable, verdict.hard_stop) == (False, True)
    assert verdict.override_rules == ("program.diameter_differs",)


def test_nobody_overrides_before_the_tool_is_chosen():
    twice = {**WANTED, 3: WANTED[1]}
    facts = replace(EVERYDAY, tool_number=None, requirements=twice)
    verdict = judge(changed(facts, {"program.approval": Approval.NONE}))
    assert (verdict.word, verdict.tool_choice_needed) == (Word.STOP, True)
    assert not verdict.overridable
    assert not may_override(verdict, ROLES)
    assert not any(may_accept(verdict, role) for role in ROLES)


HARD = [
    ("label.label_revision", 1),
    ("label.label_revision", 3),
    ("label.cancelled", True),
    ("label.holder_mark_agrees", False),
    ("assembly.state", State.QUARANTINED),
    ("assembly.interface", "HSK-A63"),
    ("assembly.stud", Stud.NONE_FITTED),
    ("assembly.stud_pattern", "A"),
    ("machine.max_length_um", 94_999),
    ("machine.max_diameter_um", 11_999),
    ("machine.max_mass_g", 899),
    ("control.pocket", 4),
    ("control.pocket", 13),
    ("program.approval", Approval.WITHDRAWN),
    ("requirement.hand", Hand.LEFT),
    ("call.turns", frozenset({Turn.CCW})),
    ("machine.turns", frozenset({Turn.CCW})),
    ("call.speed_max_rpm", 24_001),
]
SOFT = [
    ("assembly.stud", Stud.UNKNOWN),
    ("program.approval", Approval.NONE),
    ("program.tool_numbers", (3, 4)),
    ("assembly.cutter_kind", "spiral_down"),
    ("assembly.diameter_um", 12_051),
    ("assembly.corner_radius_um", 501),
    ("assembly.gauge_length_um", 96_001),
    ("assembly.stickout_um", 42_999),
    ("assembly.stickout_um", 51_701),
    ("assembly.flute_length_um", 39_999),
]


@pytest.mark.parametrize(
    ("path", "value", "level"),
    [(*row, Level.STOP_HARD) for row in HARD] + [(*row, Level.STOP_SOFT) for row in SOFT],
)
def test_each_stop_is_as_hard_as_the_list_says(path, value, level):
    verdict = judge(changed(EVERYDAY, {path: value}))
    assert verdict.reasons[0].level is level
    assert verdict.can_accept_by is _CLASS[level]
    assert (verdict.hard_stop, verdict.overridable) == (
        level is Level.STOP_HARD,
        level is Level.STOP_SOFT,
    )


_CLASS = {Level.STOP_HARD: AcceptedBy.NOBODY, Level.STOP_SOFT: AcceptedBy.LEAD}


def test_each_unknown_is_listed_with_the_verdict():
    verdict = judge(changed(EVERYDAY, {"assembly.hand": None, "assembly.corner_radius_um": None}))
    assert not verdict.fully_known
    assert len(verdict.unknowns) == 2


@pytest.mark.parametrize(
    "changes",
    [
        {"label.found_by": FoundBy.NUMBER},
        {"label.found_by": FoundBy.HOLDER_MARK},
        {"speed_limit.unknown_parts": ("nut",)},
    ],
)
def test_a_check_about_something_unknown_is_not_fully_known(changes):
    verdict = judge(changed(EVERYDAY, changes))
    assert verdict.word is Word.CHECK
    assert not verdict.fully_known
    assert len(verdict.unknowns) == 1


def test_a_check_about_a_known_thing_is_fully_known():
    assert judge(changed(EVERYDAY, {"call.speed_carried": True})).fully_known


def test_a_withdrawn_revision_is_hard_and_an_unapproved_one_soft():
    withdrawn = judge(changed(EVERYDAY, {"program.approval": Approval.WITHDRAWN}))
    unapproved = judge(changed(EVERYDAY, {"program.approval": Approval.NONE}))
    assert withdrawn.reasons[0].level is Level.STOP_HARD
    assert unapproved.reasons[0].level is Level.STOP_SOFT
    assert "Approved is C (3 June)" in unapproved.reasons[0].text


@pytest.mark.parametrize(
    ("expected", "shown", "level", "code"),
    [
        (5, 5, Level.PASS, "control.number_agrees"),
        (5, 6, Level.STOP_HARD, "control.number_differs"),
        (5, 0, Level.STOP_HARD, "control.number_differs"),
        (0, 0, Level.PASS, "control.number_agrees"),
        (5, None, Level.UNKNOWN, "control.number_not_compared"),
        (None, 5, Level.UNKNOWN, "control.number_not_compared"),
        (None, None, Level.UNKNOWN, "control.number_not_compared"),
    ],
)
def test_the_number_read_back_must_be_the_tool_of_the_match(expected, shown, level, code):
    finding = read_back(expected, shown)
    assert (finding.level, finding.code) == (level, code)


def test_findings_carry_their_numbers_in_millimetres():
    other = {"assembly.number": 1042, "assembly.diameter_um": 12_700}
    finding = judge(changed(EVERYDAY, other)).reasons[0]
    assert (finding.measured, finding.limit, finding.unit) == (12.7, 12.0, "mm")
    assert finding.remedy == "Right one: 1041, rack B3."


def test_the_refused_assembly_is_never_named_as_the_right_one():
    refused = judge(changed(EVERYDAY, {"assembly.gauge_length_um": 114_000})).reasons[0]
    assert refused.remedy == "Rebuild to the length the program wants."


def test_a_caution_worse_than_a_check_keeps_its_weight():
    bad = Finding("grip.unknown", Level.UNKNOWN, "Grip length not on record.")
    assert judge(changed(EVERYDAY, {"assembly.cautions": (bad,)})).word is Word.CANT_TELL
