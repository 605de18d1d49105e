"""Take any fact away from any MATCH: it stays one only where nobody asked for that fact."""

from dataclasses import fields, replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assemblies.rules.verdict.facts import (
    AssemblyFacts,
    Change,
    ControlFacts,
    Hand,
    LabelFacts,
    LengthRule,
    MachineFacts,
    ProgramFacts,
    RequirementFacts,
    SpeedLimitFacts,
    Stud,
    StudRule,
    ToolCallFacts,
    Turn,
    ZeroAt,
)
from assemblies.rules.verdict.judge import NEEDED_COMPARISONS, Word, judge
from tests.assemblies.test_verdict_truth_table import ROWS
from tests.assemblies.verdict_facts import EVERYDAY, TODAY, changed, codes

PARTS = {
    "label": LabelFacts,
    "assembly": AssemblyFacts,
    "speed_limit": SpeedLimitFacts,
    "machine": MachineFacts,
    "program": ProgramFacts,
    "call": ToolCallFacts,
    "requirement": RequirementFacts,
    "control": ControlFacts,
}
#: Every fact but the number of the assembly, which is its name and cannot be missing.
PATHS = [
    *("today", "assembly", "machine", "program", "tool_number"),
    *(
        f"{part}.{one.name}"
        for part, kind in PARTS.items()
        for one in fields(kind)
        if one.name != "number"
    ),
]
#: Written out here and not taken from the rules: what no MATCH can be without.
ALWAYS_NEEDED = [
    "today",
    "assembly",
    "machine",
    "program",
    "label.found_by",
    "label.code_kind",
    "label.assembly_number",
    "label.label_revision",
    "label.cancelled",
    "assembly.state",
    "assembly.revision",
    "assembly.interface",
    "assembly.cutter_kind",
    "assembly.diameter_um",
    "assembly.hand",
    "assembly.measured_on",
    "assembly.speed_limit",
    "assembly.coolant",
    "assembly.seat_compared",
    "assembly.read",
    "assembly.runout_read_elsewhere",
    "assembly.cautions",
    "assembly.condition",
    "speed_limit.limit_rpm",
    "speed_limit.unknown_parts",
    "machine.interface",
    "machine.stud_rule",
    "machine.speed_max_rpm",
    "machine.override_ceiling_percent",
    "machine.turns",
    "program.revision",
    "program.approval",
    "program.reading_complete",
    "program.tool_numbers",
    "call.speed_max_rpm",
    "call.speed_exact",
    "call.speed_carried",
    "call.notes",
    "call.turns",
    "call.turns_exact",
    "requirement.confirmed",
    "requirement.kind",
    "requirement.diameter_um",
    "requirement.diameter_tolerance_um",
    "control.loaded_before",
]

#: Facts that may be unknown, or not stated, in a MATCH. Everything else must be known.
#: Names, reasons and dates only word a finding; the rest is asked for only where a
#: requirement or a machine states a figure for it, and the lines see to that. The depth is no
#: part of a MATCH, and what nobody said at a control is said to be the first load.
MAY_BE_MISSING_IN_A_MATCH = frozenset(
    {
        "tool_number",
        "call.speed_min_rpm",
        "assembly.mass_at_least_g",
        "label.cancelled_reason",
        "label.holder_mark_agrees",
        "assembly.state_reason",
        "assembly.rebuilt_on",
        "assembly.holder_mark",
        "assembly.nominal_diameter_um",
        "assembly.bought_in_inches",
        "assembly.corner_radius_um",
        "assembly.flute_length_um",
        "assembly.stickout_um",
        "assembly.gauge_length_um",
        "assembly.stud",
        "assembly.stud_pattern",
        "assembly.mass_g",
        "assembly.parts_mass_g",
        "assembly.weighed_mass_g",
        "assembly.weighed_centre_um",
        "assembly.coolant_wanted",
        "assembly.runout_um",
        "speed_limit.limiting_part",
        "machine.mark",
        "machine.name",
        "machine.stud_pattern",
        "machine.change",
        "machine.pockets",
        "machine.number_names",
        "machine.zero_at",
        "machine.max_length_um",
        "machine.max_diameter_um",
        "machine.max_mass_g",
        "machine.max_diameter_beside_um",
        "machine.pockets_in_a_ring",
        "machine.max_moment_mnm",
        "machine.moment_plane_um",
        "machine.speed_min_rpm",
        "machine.touch_off_every_load",
        "program.name",
        "program.approved_revision",
        "program.approved_on",
        "program.machine_listed",
        "program.top_of_stock_um",
        "call.deepest_z_um",
        "call.depth_exact",
        "requirement.controller_diameter",
        "requirement.corner_radius_um",
        "requirement.corner_tolerance_um",
        "requirement.hand",
        "requirement.flute_min_um",
        "requirement.stickout_min_um",
        "requirement.stickout_max_um",
        "requirement.length_rule",
        "requirement.gauge_length_um",
        "requirement.gauge_tolerance_um",
        "requirement.preferred_assembly",
        "requirement.allowed_alternatives",
        "requirement.text",
        "requirement.fetch",
        "control.confirmed_length_um",
        "control.confirmed_diameter_um",
        "control.pocket",
        "control.loads",
        "control.seen_elsewhere",
        "control.came_out_worn_on",
        "control.refused_on",
        "control.refused_as",
        "control.cautions_seen",
        "control.cautions_seen_at",
    }
)


@st.composite
def matches(draw):
    """Facts that match: other sizes, hands, tapers, length rules, machines, and stated wants."""
    hand = draw(st.sampled_from(Hand))
    turns = frozenset({Turn.CW if hand is Hand.RIGHT else Turn.CCW})
    diameter_um = draw(st.integers(500, 80_000))
    tolerance_um = draw(st.integers(0, 500))
    length_um = draw(st.integers(20_000, 119_000))
    length_tolerance_um = draw(st.integers(0, 2_000))
    stickout_um = draw(st.integers(5_000, 80_000))
    top_um = draw(st.integers(-50_000, 50_000))
    lowest_um = draw(st.integers(top_um - stickout_um, top_um + 1_000))
    change = draw(st.sampled_from(Change))
    changes = {
        "tool_number": draw(st.sampled_from([1, None])),
        "assembly.measured_on": TODAY - timedelta(days=draw(st.integers(0, 180))),
        "assembly.hand": hand,
        "requirement.hand": draw(st.sampled_from([hand, None])),
        "call.turns": turns,
        "machine.turns": draw(st.sampled_from([turns, frozenset(Turn)])),
        "machine.change": change,
        "control.pocket": 1 if change is Change.CHANGER and draw(st.booleans()) else None,
        "machine.zero_at": draw(st.sampled_from(ZeroAt)),
        "program.top_of_stock_um": top_um,
        "call.deepest_z_um": draw(st.sampled_from([lowest_um, None])),
        "call.depth_exact": draw(st.booleans()),
        "machine.touch_off_every_load": draw(st.booleans()),
        "assembly.diameter_um": diameter_um,
        "assembly.nominal_diameter_um": diameter_um,
        "requirement.diameter_um": diameter_um + draw(st.integers(-tolerance_um, tolerance_um)),
        "requirement.diameter_tolerance_um": tolerance_um,
        "assembly.gauge_length_um": length_um,
        "requirement.length_rule": draw(st.sampled_from([LengthRule.WINDOW, LengthRule.TOUCH_OFF])),
        "requirement.gauge_length_um": length_um
        + draw(st.integers(-length_tolerance_um, length_tolerance_um)),
        "requirement.gauge_tolerance_um": length_tolerance_um,
        "assembly.stickout_um": stickout_um,
        "requirement.stickout_min_um": draw(st.sampled_from([stickout_um, 0, None])),
        "requirement.stickout_max_um": draw(st.sampled_from([stickout_um, 90_000, None])),
        "requirement.corner_radius_um": draw(st.sampled_from([500, None])),
        "requirement.flute_min_um": draw(st.sampled_from([42_000, None])),
        "call.speed_max_rpm": draw(st.integers(6_000, 24_000)),
    }
    if draw(st.booleans()):
        changes |= {"machine.stud_rule": StudRule.NOT_USED, "assembly.stud": Stud.NOT_USED}
    return changed(EVERYDAY, changes)


def asked_for(facts):
    """Facts of the assembly that this requirement or this machine asks for by a figure."""
    wanted, machine = facts.requirements[1], facts.machine
    window = wanted.length_rule is LengthRule.WINDOW and not machine.touch_off_every_load
    changer = machine.change is Change.CHANGER
    return {
        path
        for path, asked in {
            "assembly.corner_radius_um": wanted.corner_radius_um is not None,
            "assembly.flute_length_um": wanted.flute_min_um is not None,
            "assembly.stickout_um": (wanted.stickout_min_um, wanted.stickout_max_um)
            != (None, None),
            "assembly.gauge_length_um": window or changer,
            "requirement.gauge_length_um": wanted.length_rule is LengthRule.WINDOW,
            "requirement.gauge_tolerance_um": wanted.length_rule is LengthRule.WINDOW
            and facts.assembly.gauge_length_um is not None,
            "requirement.length_rule": not machine.touch_off_every_load,
            "machine.max_length_um": changer,
            "machine.number_names": changer,
            "control.loads": changer,
            "machine.max_diameter_um": changer,
            "assembly.weighed_mass_g": changer,
            "assembly.weighed_centre_um": changer,
            "machine.moment_plane_um": changer,
            "assembly.stud": machine.stud_rule is StudRule.NEEDED,
            "assembly.stud_pattern": machine.stud_rule is StudRule.NEEDED,
            "machine.stud_pattern": machine.stud_rule is StudRule.NEEDED,
            "requirement.controller_diameter": wanted.diameter_um != facts.assembly.diameter_um,
        }.items()
        if asked
    }


@settings(deadline=None)
@given(facts=matches(), path=st.sampled_from(PATHS))
def test_a_match_without_one_of_its_facts_is_no_match_any_more(facts, path):
    assert judge(facts).word is Word.MATCH
    needed = path not in MAY_BE_MISSING_IN_A_MATCH or path in asked_for(facts)
    without = judge(changed(facts, {path: None}))
    assert (without.word is not Word.MATCH) or not needed


@settings(deadline=None)
@given(facts=matches(), paths=st.sets(st.sampled_from(PATHS), min_size=2, max_size=6))
def test_taking_more_facts_away_never_brings_a_match_back(facts, paths):
    needed = {p for p in paths if p not in MAY_BE_MISSING_IN_A_MATCH}
    whole = {p for p in paths if "." not in p}
    parts = {p for p in paths - whole if p.partition(".")[0] not in whole}
    if "assembly" in whole or "assembly.speed_limit" in parts:
        parts = {p for p in parts if not p.startswith("speed_limit.")}
    ordered = [*sorted(parts, key=lambda p: not p.startswith("speed_limit.")), *sorted(whole)]
    without = judge(changed(facts, dict.fromkeys(ordered)))
    assert (without.word is not Word.MATCH) or not needed


@settings(deadline=None)
@given(
    diameter_um=st.integers(11_900, 12_100),
    length_um=st.integers(93_500, 96_500),
    stickout_um=st.integers(42_500, 47_500),
    flute_um=st.integers(39_500, 42_000),
    speed_rpm=st.integers(5_500, 24_500),
    deepest_z_um=st.integers(-48_000, 1_000),
)
def test_a_match_is_exactly_the_case_where_every_figure_lies_inside(
    diameter_um, length_um, stickout_um, flute_um, speed_rpm, deepest_z_um
):
    """The windows of the everyday case, written out: no code is shared with the rules."""
    inside = (
        diameter_um in range(11_950, 12_051)
        and length_um in range(94_000, 96_001)
        and stickout_um in range(43_000, 47_001)
        and flute_um in range(40_000, 42_001)
        and speed_rpm in range(6_000, 24_001)
        and deepest_z_um >= -stickout_um
    )
    changes = {
        "assembly.diameter_um": diameter_um,
        "assembly.gauge_length_um": length_um,
        "assembly.stickout_um": stickout_um,
        "assembly.flute_length_um": flute_um,
        "call.speed_max_rpm": speed_rpm,
        "call.deepest_z_um": deepest_z_um,
    }
    assert (judge(changed(EVERYDAY, changes)).word is Word.MATCH) is inside


@pytest.mark.parametrize("path", ALWAYS_NEEDED)
def test_no_match_can_be_without_this_fact(path):
    assert path not in MAY_BE_MISSING_IN_A_MATCH
    assert judge(changed(EVERYDAY, {path: None})).word is not Word.MATCH


def test_each_fact_is_either_needed_or_named_as_one_that_may_be_missing():
    named = set(ALWAYS_NEEDED) | MAY_BE_MISSING_IN_A_MATCH
    assert named == set(PATHS)


@pytest.mark.parametrize("path", ALWAYS_NEEDED)
def test_a_check_accepted_without_a_fact_never_loses_its_unknowns(path):
    """A milder finding beside it must not turn a missing fact into a fully known check."""
    facts = changed(EVERYDAY, {"call.speed_carried": True, path: None})
    verdict = judge(facts)
    assert verdict.word in (Word.CANT_TELL, Word.STOP, Word.CHECK)
    if verdict.word is Word.CHECK:
        assert not verdict.fully_known


def test_a_match_has_made_every_needed_comparison():
    found = set(codes(judge(EVERYDAY)))
    assert all(needed & found for needed in NEEDED_COMPARISONS)


def test_facts_with_nothing_known_are_never_a_match():
    nothing = replace(
        EVERYDAY,
        assembly=AssemblyFacts(number=1041),
        label=LabelFacts(found_by=None),
        machine=MachineFacts(),
        program=ProgramFacts(),
        calls={1: ToolCallFacts()},
        requirements={1: RequirementFacts()},
    )
    assert judge(nothing).word is not Word.MATCH
    assert judge(replace(nothing, tool_number=None)).word is not Word.MATCH


#: A rule that a figure on record has broken, and the figure without which nothing is broken.
#: None of them is part of a MATCH; each is told as a note, or was not asked for.
FORGIVES = frozenset(
    {
        ("speed.below_lowest", "machine.speed_min_rpm"),
        ("machine.stud_not_used", "assembly.stud"),
        ("envelope.moment_over", "machine.max_moment_mnm"),
        ("envelope.moment_not_known", "machine.max_moment_mnm"),
        ("machine.coolant_not_compared", "assembly.coolant_wanted"),
        ("machine.beside_a_wide_one", "machine.max_diameter_beside_um"),
        ("machine.neighbour_not_known", "machine.max_diameter_beside_um"),
        ("machine.mass_over_limit", "assembly.mass_g"),
        ("machine.mass_over_limit", "machine.max_mass_g"),
        ("depth.stick_out", "machine.zero_at"),
        ("depth.stick_out", "call.deepest_z_um"),
    }
)


def without(facts, path):
    """`facts` without one fact; None where there is no such fact any more."""
    try:
        return changed(facts, {path: None})
    except (AttributeError, KeyError, TypeError):
        return None


def test_nothing_that_is_no_match_becomes_one_by_forgetting_something_else():
    """Every row of the truth table with every fact that does not belong to the requirement."""
    paths = [path for path in PATHS if not path.startswith("requirement.")]
    brought_back = set()
    for changed_path, value, word, code in ROWS:
        if word is Word.MATCH:
            continue
        facts = changed(EVERYDAY, {changed_path: value})
        for path in paths:
            less = None if changed_path.startswith(path) else without(facts, path)
            if less is not None and judge(less).word is Word.MATCH:
                brought_back.add((code, path))
    assert brought_back == FORGIVES
