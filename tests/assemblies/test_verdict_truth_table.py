"""One fact changed in a case that matches: the word and the code that must follow."""

from datetime import date

import pytest

from assemblies.rules.verdict.facts import (
    Approval,
    Change,
    CodeKind,
    FoundBy,
    Hand,
    LengthRule,
    State,
    Stud,
    StudRule,
    Turn,
)
from assemblies.rules.verdict.judge import Word, judge
from crib.rules.finding import Finding, Level
from tests.assemblies.verdict_facts import EVERYDAY, changed, codes

MATCH, CHECK, STOP, CANT_TELL = Word.MATCH, Word.CHECK, Word.STOP, Word.CANT_TELL
BOTH_WAYS = frozenset({Turn.CW, Turn.CCW})

A_NOTE_TO_CHECK = Finding("program.length_offset", Level.CHECK, "Line 9: H6 while T5 is in use.")
A_NOTE_TO_STOP = Finding("program.no_feed", Level.STOP_SOFT, "Line 12: G95 move without F.")

#: path of the fact, its new value, the word, the code that must be among the findings
LABEL_ROWS = [
    ("label.found_by", None, CANT_TELL, "label.not_scanned"),
    ("label.found_by", FoundBy.NUMBER, CHECK, "label.found_by_number"),
    ("label.found_by", FoundBy.HOLDER_MARK, CHECK, "label.found_by_mark"),
    ("label.code_kind", None, CANT_TELL, "label.code_not_ours"),
    ("label.code_kind", CodeKind.NOT_OURS, CANT_TELL, "label.code_not_ours"),
    ("label.code_kind", CodeKind.PLACE, CANT_TELL, "label.other_kind"),
    ("label.code_kind", CodeKind.BADGE, CANT_TELL, "label.other_kind"),
    ("label.label_revision", None, CANT_TELL, "label.revision_not_known"),
    ("label.label_revision", 1, STOP, "label.void_rebuilt"),
    ("label.label_revision", 3, STOP, "label.revision_ahead"),
    ("label.cancelled", None, CANT_TELL, "label.state_not_known"),
    ("label.cancelled", True, STOP, "label.void_cancelled"),
    ("label.holder_mark_agrees", None, MATCH, "label.live"),
    ("label.assembly_number", 1042, STOP, "label.other_assembly"),
    ("label.assembly_number", None, CANT_TELL, "label.assembly_not_known"),
    ("call.speed_min_rpm", 6_000, MATCH, "speed.within_limit"),
    ("call.speed_min_rpm", 5_999, CHECK, "speed.below_lowest"),
    ("call.speed_min_rpm", 0, CHECK, "speed.below_lowest"),
    ("call.notes", (A_NOTE_TO_CHECK,), CHECK, "program.length_offset"),
    ("call.notes", (A_NOTE_TO_STOP,), STOP, "program.no_feed"),
    ("assembly.mass_at_least_g", 2_000, MATCH, "label.live"),
    ("label.holder_mark_agrees", False, STOP, "label.holder_mark_differs"),
    ("assembly.revision", None, CANT_TELL, "label.revision_not_known"),
    ("assembly.revision", 3, STOP, "label.void_rebuilt"),
    ("assembly.holder_mark", None, MATCH, "label.holder_mark_missing"),
    ("assembly", None, CANT_TELL, "label.code_not_ours"),
    ("assembly.state", None, CANT_TELL, "assembly.state_not_known"),
    ("assembly.state", State.DRAFT, STOP, "assembly.not_released"),
    ("assembly.state", State.BUILT, STOP, "assembly.not_released"),
    ("assembly.state", State.QUARANTINED, STOP, "assembly.quarantined"),
    ("assembly.state", State.RETIRED, STOP, "assembly.retired"),
    ("today", None, CANT_TELL, "label.age_not_known"),
    ("assembly.measured_on", None, CANT_TELL, "label.age_not_known"),
    ("assembly.measured_on", date(2025, 6, 10), MATCH, "label.measured_lately"),
    ("assembly.measured_on", date(2025, 6, 11), CANT_TELL, "label.measured_in_future"),
    ("assembly.measured_on", date(2024, 12, 12), MATCH, "label.measured_lately"),
    ("assembly.measured_on", date(2024, 12, 11), CHECK, "label.measured_long_ago"),
]

MACHINE_ROWS = [
    ("machine", None, CANT_TELL, "machine.not_chosen"),
    ("assembly.interface", None, CANT_TELL, "machine.holder_interface_not_known"),
    ("assembly.interface", "", CANT_TELL, "machine.holder_interface_not_known"),
    ("assembly.interface", "HSK-A63", STOP, "machine.interface_differs"),
    ("machine.interface", None, CANT_TELL, "machine.interface_not_known"),
    ("machine.interface", "HSK-A63", STOP, "machine.interface_differs"),
    ("assembly.stud", None, STOP, "machine.stud_not_recorded"),
    ("assembly.stud", Stud.UNKNOWN, STOP, "machine.stud_not_recorded"),
    ("assembly.stud", Stud.NONE_FITTED, STOP, "machine.stud_missing"),
    ("assembly.stud", Stud.NOT_USED, STOP, "machine.stud_missing"),
    ("assembly.stud_pattern", None, STOP, "machine.stud_not_recorded"),
    ("assembly.stud_pattern", "A", STOP, "machine.stud_differs"),
    ("machine.stud_pattern", None, CANT_TELL, "machine.stud_pattern_not_known"),
    ("machine.stud_pattern", "A", STOP, "machine.stud_differs"),
    ("machine.stud_rule", None, CANT_TELL, "machine.stud_pattern_not_known"),
    ("machine.stud_rule", StudRule.NOT_USED, CHECK, "machine.stud_not_used"),
    ("machine.max_length_um", None, CANT_TELL, "machine.length_limit_not_known"),
    ("machine.max_length_um", 95_000, MATCH, "program.length_agrees"),
    ("machine.max_length_um", 94_999, STOP, "machine.length_over_limit"),
    ("machine.max_diameter_um", None, CANT_TELL, "machine.diameter_limit_not_known"),
    ("machine.max_diameter_um", 12_000, MATCH, "program.diameter_agrees"),
    ("machine.max_diameter_um", 11_999, STOP, "machine.diameter_over_limit"),
    ("machine.max_mass_g", None, MATCH, "label.live"),
    ("machine.max_mass_g", 900, MATCH, "label.live"),
    ("machine.max_mass_g", 899, STOP, "machine.mass_over_limit"),
    ("assembly.mass_g", None, MATCH, "machine.mass_not_compared"),
    ("machine.change", None, MATCH, "machine.interface_agrees"),
    ("control.pocket_holds", 1042, CHECK, "machine.pocket_taken"),
    ("control.pocket_holds", 1041, MATCH, "label.live"),
]

PROGRAM_ROWS = [
    ("program", None, CANT_TELL, "program.not_chosen"),
    ("program.approval", None, CANT_TELL, "program.approval_not_known"),
    ("program.revision", None, CANT_TELL, "program.revision_not_known"),
    ("program.approval", Approval.NONE, STOP, "program.not_approved"),
    ("program.approval", Approval.WITHDRAWN, STOP, "program.withdrawn"),
    ("program.machine_listed", False, CHECK, "program.machine_not_listed"),
    ("program.reading_complete", None, CANT_TELL, "program.not_read_whole"),
    ("program.reading_complete", False, CANT_TELL, "program.not_read_whole"),
    ("program.tool_numbers", None, CANT_TELL, "program.tools_not_known"),
    ("program.tool_numbers", (3, 4), STOP, "program.tool_not_called"),
    ("program.tool_numbers", (), STOP, "program.tool_not_called"),
    ("tool_number", None, MATCH, "program.kind_agrees"),
    ("tool_number", 7, STOP, "program.tool_not_called"),
    ("tool_number", 3, STOP, "program.diameter_differs"),
    ("requirements", {}, CANT_TELL, "program.number_only"),
    ("calls", {}, CANT_TELL, "speed.not_in_program"),
]

REQUIREMENT_ROWS = [
    ("requirement.confirmed", None, CANT_TELL, "program.requirement_not_confirmed"),
    ("requirement.confirmed", False, CANT_TELL, "program.requirement_not_confirmed"),
    ("requirement.preferred_assembly", 1050, MATCH, "program.other_assembly"),
    ("assembly.number", 1056, MATCH, "program.allowed_alternative"),
    ("assembly.cutter_kind", None, CANT_TELL, "program.kind_not_known"),
    ("assembly.cutter_kind", "spiral_down", STOP, "program.kind_differs"),
    ("requirement.kind", None, CANT_TELL, "program.kind_not_stated"),
    ("requirement.kind", "spiral_up", STOP, "program.kind_differs"),
    ("requirement.diameter_um", None, CANT_TELL, "program.diameter_not_stated"),
    ("requirement.diameter_tolerance_um", None, CANT_TELL, "program.diameter_tolerance_not_stated"),
    ("assembly.diameter_um", None, CANT_TELL, "program.diameter_not_measured"),
    ("assembly.diameter_um", 12_050, MATCH, "program.diameter_agrees"),
    ("assembly.diameter_um", 12_051, STOP, "program.diameter_differs"),
    ("assembly.diameter_um", 11_950, MATCH, "program.diameter_agrees"),
    ("assembly.diameter_um", 11_949, STOP, "program.diameter_differs"),
    ("requirement.controller_diameter", True, MATCH, "program.diameter_agrees"),
    ("assembly.corner_radius_um", None, CANT_TELL, "program.radius_not_known"),
    ("assembly.corner_radius_um", 501, STOP, "program.radius_differs"),
    ("assembly.corner_radius_um", 0, STOP, "program.radius_differs"),
    ("requirement.corner_tolerance_um", 0, MATCH, "program.radius_agrees"),
    ("requirement.corner_radius_um", 0, STOP, "program.radius_differs"),
    ("assembly.gauge_length_um", None, CANT_TELL, "program.length_not_known"),
    ("assembly.gauge_length_um", 96_000, MATCH, "program.length_agrees"),
    ("assembly.gauge_length_um", 96_001, STOP, "program.length_differs"),
    ("assembly.gauge_length_um", 94_000, MATCH, "program.length_agrees"),
    ("assembly.gauge_length_um", 93_999, STOP, "program.length_differs"),
    ("requirement.gauge_length_um", None, CANT_TELL, "program.length_not_stated"),
    ("requirement.gauge_tolerance_um", None, CANT_TELL, "program.length_tolerance_not_stated"),
    ("requirement.length_rule", None, CANT_TELL, "program.length_not_stated"),
    ("requirement.length_rule", LengthRule.NOT_STATED, CANT_TELL, "program.length_not_stated"),
    ("requirement.length_rule", LengthRule.TOUCH_OFF, MATCH, "program.length_touch_off"),
    ("assembly.stickout_um", None, CANT_TELL, "program.stickout_not_known"),
    ("assembly.stickout_um", 43_000, MATCH, "program.stickout_agrees"),
    ("assembly.stickout_um", 42_999, STOP, "program.stickout_short"),
    ("assembly.stickout_um", 47_000, MATCH, "program.stickout_agrees"),
    ("assembly.stickout_um", 47_001, CHECK, "program.stickout_long"),
    ("assembly.stickout_um", 51_700, CHECK, "program.stickout_long"),
    ("assembly.stickout_um", 51_701, STOP, "program.stickout_far_too_long"),
    ("requirement.stickout_min_um", None, MATCH, "program.stickout_agrees"),
    ("requirement.stickout_max_um", None, MATCH, "program.stickout_agrees"),
    ("assembly.flute_length_um", None, CANT_TELL, "program.flute_not_known"),
    ("assembly.flute_length_um", 40_000, MATCH, "program.flute_agrees"),
    ("assembly.flute_length_um", 39_999, STOP, "program.flute_short"),
    ("assembly.hand", None, CANT_TELL, "program.hand_not_known"),
    ("assembly.hand", Hand.LEFT, STOP, "program.hand_differs"),
    ("requirement.hand", Hand.LEFT, STOP, "program.wanted_hand_differs"),
    ("call.turns", None, CANT_TELL, "program.turn_not_known"),
    ("call.turns", frozenset(), CANT_TELL, "program.turn_not_known"),
    ("call.turns", frozenset({Turn.CCW}), STOP, "program.hand_differs"),
    ("call.turns", BOTH_WAYS, STOP, "program.hand_differs"),
    ("call.turns_exact", None, CANT_TELL, "program.turn_not_exact"),
    ("call.turns_exact", False, CANT_TELL, "program.turn_not_exact"),
    ("machine.turns", None, CANT_TELL, "machine.turn_not_known"),
    ("machine.turns", frozenset({Turn.CCW}), STOP, "machine.turn_not_allowed"),
    ("machine.turns", BOTH_WAYS, MATCH, "program.hand_agrees"),
]

SPEED_ROWS = [
    ("call.speed_max_rpm", None, CANT_TELL, "speed.not_in_program"),
    ("call.speed_max_rpm", 0, CANT_TELL, "speed.not_in_program"),
    ("call.speed_max_rpm", -1, CANT_TELL, "speed.not_in_program"),
    ("call.speed_max_rpm", 24_000, MATCH, "speed.within_limit"),
    ("call.speed_max_rpm", 24_001, STOP, "speed.over_limit"),
    ("call.speed_max_rpm", 6_000, MATCH, "speed.within_limit"),
    ("call.speed_max_rpm", 5_999, CHECK, "speed.below_lowest"),
    ("call.speed_exact", None, CANT_TELL, "speed.not_exact"),
    ("call.speed_exact", False, CANT_TELL, "speed.not_exact"),
    ("call.speed_carried", None, CANT_TELL, "speed.carried_not_known"),
    ("call.speed_carried", True, CHECK, "speed.carried"),
    ("assembly.speed_limit", None, CANT_TELL, "speed.limits_not_known"),
    ("speed_limit.limit_rpm", None, CANT_TELL, "speed.no_limit_on_record"),
    ("speed_limit.unknown_parts", None, CANT_TELL, "speed.limits_not_known"),
    ("speed_limit.unknown_parts", ("holder",), CHECK, "speed.limit_not_known"),
    ("speed_limit.unknown_parts", ("nut",), CHECK, "speed.limit_not_known"),
    ("speed_limit.unknown_parts", ("cutter",), MATCH, "speed.small_cutter_unmarked"),
    ("speed_limit.unknown_parts", ("collet",), MATCH, "speed.within_limit"),
    ("speed_limit.limit_rpm", 18_000, MATCH, "speed.within_limit"),
    ("speed_limit.limit_rpm", 17_999, STOP, "speed.over_limit"),
    ("machine.speed_max_rpm", 17_999, STOP, "speed.over_limit"),
    ("machine.speed_max_rpm", None, CHECK, "speed.limit_not_known"),
    ("machine.speed_min_rpm", None, MATCH, "speed.lowest_not_known"),
    ("machine.override_ceiling_percent", None, CANT_TELL, "speed.override_not_known"),
    ("machine.override_ceiling_percent", 133, MATCH, "speed.within_limit"),
    ("machine.override_ceiling_percent", 134, CHECK, "speed.override_over_limit"),
]

CAUTION = Finding("collet.near_bottom", Level.CHECK, "Collet 0.65 under its top size.")
EMPTY_SEAT = Finding("insert.seat_empty", Level.STOP_HARD, "One seat is empty.")
BAD_RUNOUT = Finding("runout.far_over", Level.STOP_SOFT, "Runout 0.040. Limit 0.015.")
HOURS = Finding("collet.hours", Level.NOTE, "Collet 460 h of 500.")

STATE_AND_CONTROL_ROWS = [
    ("assembly.cautions", None, CANT_TELL, "state.cautions_not_known"),
    ("assembly.cautions", (CAUTION,), CHECK, "collet.near_bottom"),
    ("assembly.runout_um", None, CHECK, "state.runout_not_measured"),
    ("assembly.condition", None, CANT_TELL, "state.condition_not_known"),
    ("assembly.condition", (HOURS,), MATCH, "collet.hours"),
    ("assembly.condition", (CAUTION,), CHECK, "collet.near_bottom"),
    ("assembly.condition", (BAD_RUNOUT,), STOP, "runout.far_over"),
    ("assembly.condition", (EMPTY_SEAT,), STOP, "insert.seat_empty"),
    ("control.confirmed_length_um", 95_000, MATCH, "label.live"),
    ("control.confirmed_length_um", 94_999, CHECK, "control.values_changed"),
    ("control.confirmed_diameter_um", 12_000, MATCH, "label.live"),
    ("control.confirmed_diameter_um", 12_001, CHECK, "control.values_changed"),
    ("control.seen_elsewhere", "Mill 1, 20 min ago", CHECK, "control.seen_elsewhere"),
]

ROWS = [
    *LABEL_ROWS,
    *MACHINE_ROWS,
    *PROGRAM_ROWS,
    *REQUIREMENT_ROWS,
    *SPEED_ROWS,
    *STATE_AND_CONTROL_ROWS,
]

#: Several facts of the everyday case changed together.
COMBINATIONS = [
    # a stop outweighs an unknown, an unknown a check
    ({"assembly.hand": None, "assembly.diameter_um": 12_700}, STOP, "program.hand_not_known"),
    ({"assembly.hand": None, "call.speed_carried": True}, CANT_TELL, "speed.carried"),
    # a number found by hand never becomes a MATCH, and does not hide a stop
    ({"label.found_by": FoundBy.NUMBER, "assembly.hand": None}, CANT_TELL, "label.found_by_number"),
    (
        {"label.found_by": FoundBy.NUMBER, "label.label_revision": None},
        CHECK,
        "program.kind_agrees",
    ),
    (
        {"label.found_by": FoundBy.HOLDER_MARK, "assembly.state": State.BUILT},
        STOP,
        "label.found_by_mark",
    ),
    # a void label stays void when one of the revisions is not known
    ({"label.cancelled": True, "assembly.revision": None}, STOP, "label.void_cancelled"),
    ({"label.cancelled": True, "label.label_revision": None}, STOP, "label.void_cancelled"),
    ({"label.cancelled": True, "label.label_revision": 1}, STOP, "label.void_rebuilt"),
    # diameter: the nominal refuses, it never passes
    (
        {"assembly.diameter_um": None, "assembly.nominal_diameter_um": 12_700},
        *(STOP, "program.diameter_differs"),
    ),
    (
        {"assembly.diameter_um": None, "assembly.nominal_diameter_um": None},
        *(CANT_TELL, "program.diameter_not_known"),
    ),
    (
        {"assembly.diameter_um": 11_960, "requirement.controller_diameter": True},
        *(CHECK, "program.enter_diameter"),
    ),
    (
        {"assembly.diameter_um": 11_960, "requirement.controller_diameter": None},
        *(CANT_TELL, "program.controller_diameter_not_stated"),
    ),
    (
        {"requirement.diameter_tolerance_um": None, "assembly.diameter_um": 12_051},
        *(STOP, "program.diameter_differs"),
    ),
    (
        {"requirement.diameter_tolerance_um": 800, "assembly.diameter_um": 12_700},
        *(MATCH, "program.diameter_agrees"),
    ),
    # touching off replaces a missing length and excuses no wrong one
    (
        {"machine.touch_off_every_load": True, "requirement.length_rule": LengthRule.NOT_STATED},
        *(MATCH, "program.length_touch_off"),
    ),
    (
        {"machine.touch_off_every_load": True, "control.confirmed_length_um": 94_000},
        *(MATCH, "program.length_agrees"),
    ),
    (
        {"machine": None, "control.confirmed_length_um": 94_000},
        *(CANT_TELL, "control.values_changed"),
    ),
    (
        {"machine.touch_off_every_load": True, "assembly.gauge_length_um": 96_001},
        *(STOP, "program.length_differs"),
    ),
    (
        {
            "machine.touch_off_every_load": True,
            "machine.change": Change.BY_HAND,
            "assembly.gauge_length_um": None,
        },
        *(MATCH, "machine.length_not_compared"),
    ),
    (
        {"machine.touch_off_every_load": True, "assembly.gauge_length_um": None},
        *(CANT_TELL, "machine.length_not_compared"),
    ),
    (
        {"machine.touch_off_every_load": None, "assembly.gauge_length_um": None},
        *(CANT_TELL, "program.length_not_known"),
    ),
    (
        {"requirement.gauge_tolerance_um": None, "assembly.gauge_length_um": 96_001},
        *(STOP, "program.length_differs"),
    ),
    # a machine without studs is not asked about them
    (
        {"machine.stud_rule": StudRule.NOT_USED, "assembly.stud": Stud.NOT_USED},
        *(MATCH, "machine.stud_not_asked"),
    ),
    (
        {"machine.stud_rule": StudRule.NOT_USED, "assembly.stud": None},
        *(MATCH, "machine.stud_not_asked"),
    ),
    # by hand a missing limit of the machine is told, with a changer it is missed
    ({"machine.change": Change.BY_HAND, "machine.max_length_um": None}, MATCH, "label.live"),
    # speed: a known limit that is broken outweighs everything that is not known
    (
        {"speed_limit.unknown_parts": ("holder", "nut"), "speed_limit.limit_rpm": 16_000},
        *(STOP, "speed.limit_not_known"),
    ),
    ({"call.speed_exact": False, "call.speed_max_rpm": 24_001}, STOP, "speed.over_limit"),
    (
        {"speed_limit.limit_rpm": None, "machine.speed_max_rpm": None},
        *(CHECK, "speed.limit_not_known"),
    ),
    ({"machine": None, "speed_limit.limit_rpm": None}, CANT_TELL, "speed.no_limit_on_record"),
    # left-hand cutter, left-turning program, on a machine that turns both ways
    (
        {
            "assembly.hand": Hand.LEFT,
            "requirement.hand": Hand.LEFT,
            "call.turns": frozenset({Turn.CCW}),
            "machine.turns": BOTH_WAYS,
        },
        *(MATCH, "program.hand_agrees"),
    ),
    (
        {
            "assembly.hand": Hand.LEFT,
            "requirement.hand": None,
            "call.turns": frozenset({Turn.CCW}),
        },
        *(STOP, "machine.turn_not_allowed"),
    ),
    ({"call.turns": BOTH_WAYS, "call.turns_exact": False}, STOP, "program.hand_differs"),
    # a tool number that is missing in a program not fully read may yet be there
    ({"tool_number": 7, "program.reading_complete": False}, CANT_TELL, "program.tool_not_found"),
    # partial knowledge
    ({"program": None, "tool_number": None}, CANT_TELL, "program.not_chosen"),
    ({"program.tool_numbers": (), "tool_number": None}, CANT_TELL, "program.calls_no_tool"),
    (
        {"requirement.kind": None, "requirement.diameter_um": None},
        *(CANT_TELL, "program.text_only"),
    ),
    (
        {"requirement.kind": None, "requirement.diameter_um": None, "requirement.text": ""},
        *(CANT_TELL, "program.number_only"),
    ),
    (
        {"requirements": {}, "call.speed_max_rpm": 24_001},
        *(STOP, "program.number_only"),
    ),
    # not wanted: radius, flute, stick-out not stated and not known
    (
        {"requirement.corner_radius_um": None, "assembly.corner_radius_um": None},
        *(MATCH, "program.kind_agrees"),
    ),
    (
        {"requirement.flute_min_um": None, "assembly.flute_length_um": None},
        *(MATCH, "program.kind_agrees"),
    ),
    (
        {
            "requirement.stickout_min_um": None,
            "requirement.stickout_max_um": None,
            "assembly.stickout_um": None,
        },
        *(MATCH, "program.kind_agrees"),
    ),
]


def test_the_everyday_case_is_a_match_for_the_chosen_tool():
    verdict = judge(EVERYDAY)
    assert (verdict.word, verdict.tool_number, verdict.meets) == (MATCH, 1, (1,))
    assert verdict.reasons == ()
    assert verdict.fully_known


@pytest.mark.parametrize(("path", "value", "word", "code"), ROWS)
def test_one_changed_fact_gives_its_word_and_its_code(path, value, word, code):
    verdict = judge(changed(EVERYDAY, {path: value}))
    assert verdict.word is word
    assert code in codes(verdict)


@pytest.mark.parametrize(("changes", "word", "code"), COMBINATIONS)
def test_changed_facts_together_give_their_word_and_their_code(changes, word, code):
    verdict = judge(changed(EVERYDAY, changes))
    assert verdict.word is word
    assert code in codes(verdict)


def test_the_truth_table_is_long_enough_to_mean_something():
    assert len(ROWS) >= 120


@pytest.mark.parametrize(
    "changes", [{path: value} for path, value, *_ in ROWS] + [row[0] for row in COMBINATIONS]
)
def test_every_sentence_fits_the_screen_and_reads_as_one(changes):
    for finding in judge(changed(EVERYDAY, changes)).findings:
        assert len(finding.text) <= 70, finding.text
        assert "None" not in finding.text + finding.remedy
        assert finding.text[-1] in ".?"


@pytest.mark.parametrize(
    ("diameter_um", "word", "code"),
    [
        (15_999, MATCH, "speed.small_cutter_unmarked"),
        (16_000, CHECK, "speed.limit_not_known"),
    ],
)
def test_a_cutter_without_a_mark_is_a_check_from_16_mm(diameter_um, word, code):
    """16 mm: scope of EN 847-1."""
    verdict = judge(
        changed(
            EVERYDAY,
            {
                "assembly.diameter_um": diameter_um,
                "assembly.nominal_diameter_um": diameter_um,
                "requirement.diameter_um": diameter_um,
                "speed_limit.unknown_parts": ("cutter",),
            },
        )
    )
    assert verdict.word is word
    assert code in codes(verdict)


@pytest.mark.parametrize(("speed_rpm", "high"), [(15_038, False), (15_039, True)])
def test_a_rim_over_50_m_s_without_a_mark_is_named(speed_rpm, high):
    """63.5 mm turns at 50 m/s at 15 038 1/min: v = pi D n, by hand."""
    verdict = judge(
        changed(
            EVERYDAY,
            {
                "assembly.diameter_um": 63_500,
                "requirement.diameter_um": 63_500,
                "speed_limit.unknown_parts": ("cutter",),
                "call.speed_max_rpm": speed_rpm,
            },
        )
    )
    assert verdict.word is CHECK
    assert [f.level for f in verdict.findings if f.code == "speed.rim_high"] == (
        [Level.CHECK] if high else []
    )


def test_a_marked_cutter_is_not_asked_about_its_rim_speed():
    verdict = judge(
        changed(EVERYDAY, {"assembly.diameter_um": 80_000, "requirement.diameter_um": 80_000})
    )
    assert verdict.word is MATCH
    assert "speed.rim_high" not in codes(verdict)


@pytest.mark.parametrize("typed", ["b", " B ", "B"])
def test_capitals_and_blanks_make_no_other_stud(typed):
    verdict = judge(changed(EVERYDAY, {"assembly.stud_pattern": typed}))
    assert "machine.stud_agrees" in codes(verdict)


@pytest.mark.parametrize(
    ("at_least_g", "word"), [(3_000, MATCH), (3_001, STOP)], ids=["at the limit", "just over"]
)
def test_parts_of_known_mass_alone_can_be_too_heavy(at_least_g, word):
    facts = {"assembly.mass_g": None, "assembly.mass_at_least_g": at_least_g}
    assert judge(changed(EVERYDAY, facts)).word is word


@pytest.mark.parametrize(
    ("radius_um", "code"),
    [
        (550, "program.radius_agrees"),
        (551, "program.radius_differs"),
        (450, "program.radius_agrees"),
        (449, "program.radius_differs"),
    ],
)
def test_a_stated_tolerance_of_the_radius_decides(radius_um, code):
    facts = {"requirement.corner_tolerance_um": 50, "assembly.corner_radius_um": radius_um}
    assert code in [finding.code for finding in judge(changed(EVERYDAY, facts)).findings]
