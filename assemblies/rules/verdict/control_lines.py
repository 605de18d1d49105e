"""Does the control agree?

Source: own rules; the control itself is not read, only what a person said of it.
"""

from __future__ import annotations

from assemblies.rules.verdict.facts import CheckFacts, ControlFacts, LengthRule
from assemblies.rules.verdict.wording import agrees, note, short_name
from crib.rules.finding import Finding, Level
from crib.rules.units import show_mm

#: What stands for the value before where nobody said what the control holds.
_NOT_SAID = "(was not known)"


def read_back(expected_tool_number: int | None, shown_number: int | None) -> Finding:
    """The number the operator reads off the control against the T of the match.

    >>> read_back(5, 6).text
    'Controller shows 6. This tool is T5.'
    """
    if expected_tool_number is None or shown_number is None:
        text = "The number the controller shows was not compared."
        remedy = "Choose the T number, then key what the controller shows."
        return Finding("control.number_not_compared", Level.UNKNOWN, text, remedy=remedy)
    if shown_number == expected_tool_number:
        return agrees("control.number_agrees", f"Controller shows {shown_number}.")
    return Finding(
        "control.number_differs",
        Level.STOP_HARD,
        f"Controller shows {shown_number}. This tool is T{expected_tool_number}.",
        shown_number,
        expected_tool_number,
        remedy=f"Key T{expected_tool_number} at the controller; read again.",
    )


def control_findings(facts: CheckFacts, tool_number: int | None) -> list[Finding]:
    """Values entered on this machine, and where the assembly was last."""
    return [
        *_entered_values(facts, tool_number),
        *_first_load(facts, tool_number),
        *_elsewhere(facts),
    ]


def _first_load(facts: CheckFacts, tool_number: int | None) -> list[Finding]:
    """Nobody has said yet what the control holds for this T: say what it has to hold."""
    told, assembly = facts.control, facts.assembly
    if tool_number is None or facts.machine is None or told.loaded_before is not False:
        return []
    if (told.confirmed_length_um, told.confirmed_diameter_um) != (None, None):
        return []
    if assembly.gauge_length_um is None:
        return []
    text = f"First load of T{tool_number} here. Control needs L {show_mm(assembly.gauge_length_um)}"
    diameter = "" if assembly.diameter_um is None else f", D {show_mm(assembly.diameter_um)}"
    return [note("control.first_load", f"{text}{diameter}.")]


def _entered_values(facts: CheckFacts, tool_number: int | None) -> list[Finding]:
    changed = [*_changed_length(facts, tool_number), *_changed_diameter(facts, tool_number)]
    if not changed:
        return []
    text = f"Enter {', '.join(changed)}."
    remedy = "Enter it at the control, then accept."
    not_said = any(_NOT_SAID in value for value in changed)
    code = "control.values_not_said" if not_said else "control.values_changed"
    return [Finding(code, Level.CHECK, text, remedy=remedy)]


def _changed_length(facts: CheckFacts, tool_number: int | None) -> list[str]:
    if length_is_touched_off(facts, tool_number):
        return []
    told = facts.control
    return _to_enter("L", facts.assembly.gauge_length_um, told.confirmed_length_um, told)


def length_is_touched_off(facts: CheckFacts, tool_number: int | None) -> bool:
    """The control finds the length of this T by touching off, whatever was measured before."""
    wanted = facts.requirements.get(tool_number)
    return (facts.machine is not None and facts.machine.touch_off_every_load is True) or (
        wanted is not None and wanted.length_rule is LengthRule.TOUCH_OFF
    )


def _to_enter(letter: str, now_um: int | None, was_um: int | None, told: ControlFacts) -> list[str]:
    """The value to enter when the control holds another one, or one that nobody said."""
    if now_um is None or was_um == now_um or (was_um is None and told.loaded_before is False):
        return []
    was = _NOT_SAID if was_um is None else f"(was {show_mm(was_um)})"
    return [f"{letter} {show_mm(now_um)} {was}"]


def _changed_diameter(facts: CheckFacts, tool_number: int | None) -> list[str]:
    now_um, told = facts.assembly.diameter_um, facts.control
    wanted = facts.requirements.get(tool_number)
    # Away from the nominal the program's own line already says what to enter.
    if wanted is not None and wanted.controller_diameter and now_um != wanted.diameter_um:
        return []
    return _to_enter("D", now_um, told.confirmed_diameter_um, told)


def _elsewhere(facts: CheckFacts) -> list[Finding]:
    place = facts.control.seen_elsewhere
    if not place:
        return []
    text = f"Last seen at {short_name(place, '', 50)}."
    remedy = "Say that it is here now."
    return [Finding("control.seen_elsewhere", Level.CHECK, text, remedy=remedy)]
