"""What state is it in? Worked out at the bench and by the life rules, told here.

Source: each finding brings its own; how long an acceptance is not asked again is an own rule.
"""

from __future__ import annotations

from dataclasses import replace

from assemblies.rules.verdict.facts import AssemblyFacts, CheckFacts, ControlFacts
from assemblies.rules.verdict.wording import agrees, day_and_month, short_name, unknown
from crib.rules.finding import Finding, Level


def state_findings(facts: CheckFacts) -> list[Finding]:
    """Cautions accepted at the build, how it came out last, condition; not read is not clean."""
    return [
        _seat(facts.assembly),
        *_cautions(facts.assembly, facts.control),
        *_came_out_worn(facts),
        *_refused(facts),
        *_runout(facts.assembly),
        *_condition(facts.assembly),
    ]


def _seat(assembly: AssemblyFacts) -> Finding:
    """Whatever the way of clamping: a rule that had nothing to compare is no agreement."""
    if assembly.seat_compared:
        return agrees("state.seat_compared", "Cutter and its seat go together on today's records.")
    remedy = "Toolroom: see what is not recorded of holder, collet, sleeve or cutter."
    return unknown("state.seat_not_compared", "Cutter and its seat could not be compared.", remedy)


def _cautions(assembly: AssemblyFacts, control: ControlFacts) -> list[Finding]:
    if assembly.cautions is None:
        return [unknown("state.cautions_not_known", "The findings of the build are not known.")]
    return [_once_a_shift(caution, control) for caution in assembly.cautions]


def _once_a_shift(caution: Finding, control: ControlFacts) -> Finding:
    """A check that was accepted here in this shift, word for word, weighs no more until the next.

    What is not known, and what stops, is asked each time.
    """
    if caution.level is not Level.CHECK or caution not in (control.cautions_seen or ()):
        return caution
    at = (
        "in this shift"
        if control.cautions_seen_at is None
        else f"at {control.cautions_seen_at:%H:%M}"
    )
    return replace(caution, level=Level.NOTE, remedy=f"Accepted here {at}.")


def _came_out_worn(facts: CheckFacts) -> list[Finding]:
    worn_on = facts.control.came_out_worn_on
    if worn_on is None:
        return []
    text = f"Came out worn on {day_and_month(worn_on, facts.today)}, not rebuilt since."
    remedy = "Look at the edges. Toolroom: rebuild it."
    return [Finding("state.came_out_worn", Level.CHECK, text, remedy=remedy)]


def _refused(facts: CheckFacts) -> list[Finding]:
    refused_on = facts.control.refused_on
    if refused_on is None:
        return []
    how = short_name(facts.control.refused_as, "not said why")
    text = f"Refused on {day_and_month(refused_on, facts.today)}: {how}. Not rebuilt since."
    remedy = "Look at it. Toolroom: rebuild it."
    return [Finding("state.refused", Level.CHECK, text, remedy=remedy)]


def _runout(assembly: AssemblyFacts) -> list[Finding]:
    if assembly.runout_um is not None and assembly.runout_read_elsewhere is False:
        return []
    text = "Runout not measured."
    if assembly.runout_um is not None:
        text = "Runout read on nose or test bar, not on the cutter."
    remedy = "Measure it at the bench, or look at it turning slowly."
    return [Finding("state.runout_not_measured", Level.CHECK, text, remedy=remedy)]


def _condition(assembly: AssemblyFacts) -> list[Finding]:
    if assembly.condition is None:
        text = "Wear and care of the parts were not looked up."
        return [unknown("state.condition_not_known", text)]
    return list(assembly.condition)
