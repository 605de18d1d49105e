"""Is its place in this machine free, and is its T number?

Five numbers are never mixed: the pocket is compared with the T number only on machines where
the number names the pocket.

Source: own rules; NIST IR 6556 (2000), where T selects the slot of the changer; what is in a
machine as it was said when it was loaded.
"""

from __future__ import annotations

from assemblies.rules.verdict.facts import (
    Change,
    CheckFacts,
    LoadedTool,
    MachineFacts,
    NumberNames,
)
from assemblies.rules.verdict.neighbour_lines import neighbour_findings
from assemblies.rules.verdict.wording import note, unknown
from crib.rules.finding import Finding, Level


def pocket_findings(facts: CheckFacts, tool_number: int | None) -> list[Finding]:
    """In order: the pocket as such, what is in the way, its neighbours, where it is already."""
    machine, asked = facts.machine, facts.control.pocket
    if machine is None:
        return []
    if machine.change is Change.BY_HAND:
        # What was left in a pocket of a changer that is gone still has its number.
        left = _in_the_way(facts, tool_number) if facts.control.loads else []
        return [*_no_pockets(asked), *left, *_already_here(facts)]
    return [
        *_pocket_there(machine, asked),
        *_pocket_of_number(machine, asked, tool_number),
        *_in_the_way(facts, tool_number),
        *neighbour_findings(facts, pocket_meant(machine, asked, tool_number)),
        *_already_here(facts),
    ]


def pocket_meant(
    machine: MachineFacts, asked_number: int | None, tool_number: int | None
) -> int | None:
    """The pocket it goes to; None is the spindle.

    >>> machine = MachineFacts(number_names=NumberNames.SLOT, pockets=12)
    >>> pocket_meant(machine, None, 5), pocket_meant(machine, None, 20)
    (5, None)
    """
    names_it = machine.number_names is NumberNames.SLOT and machine.change is not Change.BY_HAND
    if asked_number is not None or not names_it or not _is_pocket(machine, tool_number):
        return asked_number
    return tool_number


def _is_pocket(machine: MachineFacts, number: int | None) -> bool:
    if number is None or number < 1:
        return False
    return machine.pockets is None or number <= machine.pockets


def _no_pockets(asked: int | None) -> list[Finding]:
    if asked is None:
        return []
    text = f"Pocket {asked} was named. Tools of this machine are changed by hand."
    return [_no_such_pocket(text)]


def _no_such_pocket(text: str) -> Finding:
    remedy = "Look at the machine and its pockets again."
    return Finding("machine.pocket_not_there", Level.STOP_HARD, text, remedy=remedy)


def _pocket_there(machine: MachineFacts, asked: int | None) -> list[Finding]:
    if asked is not None and not _is_pocket(machine, asked):
        has = "" if machine.pockets is None else f" It has {machine.pockets}."
        return [_no_such_pocket(f"This machine has no pocket {asked}.{has}")]
    if machine.pockets is None:
        text = "How many pockets this machine has is not on record."
        return [note("machine.pockets_not_known", text, "Enter it with the machine.")]
    return []


def _pocket_of_number(
    machine: MachineFacts, asked: int | None, tool_number: int | None
) -> list[Finding]:
    if tool_number is None or machine.number_names is NumberNames.TOOL:
        return []
    if machine.number_names is None:
        text = "Whether T names the pocket on this machine is not on record."
        return [unknown("machine.number_names_not_known", text, "Enter it with the machine.")]
    if asked not in (None, tool_number):
        text = f"T{tool_number} is pocket {tool_number} on this machine, not pocket {asked}."
        remedy = f"Put it in pocket {tool_number}."
        return [Finding("machine.pocket_is_not_number", Level.STOP_HARD, text, remedy=remedy)]
    if _is_pocket(machine, tool_number):
        return []
    has = "" if machine.pockets is None else f" It has {machine.pockets}."
    text = f"T{tool_number} names no pocket of this machine.{has}"
    remedy = "Into the spindle by hand, or ask the programmer."
    return [Finding("machine.number_has_no_pocket", Level.CHECK, text, remedy=remedy)]


def _in_the_way(facts: CheckFacts, tool_number: int | None) -> list[Finding]:
    """Another assembly in the same pocket, or under the same number elsewhere in the machine.

    In the spindle the next tool takes the place of the last one, so that is in nobody's way.
    """
    loads = facts.control.loads
    if loads is None:
        text = "What is in this machine was not looked up."
        return [unknown("machine.pockets_not_looked_up", text)]
    pocket = pocket_meant(facts.machine, facts.control.pocket, tool_number)
    others = [load for load in loads if load.assembly_number != facts.assembly.number]
    in_pocket = [load for load in others if load.pocket is not None and load.pocket == pocket]
    under_number = [
        load
        for load in others
        if None not in (tool_number, load.tool_number)
        and load.tool_number == tool_number
        and load not in in_pocket
        and not (pocket is None and load.pocket is None)
    ]
    return [
        *(_pocket_taken(load) for load in in_pocket),
        *(_number_taken(load) for load in under_number),
    ]


def _pocket_taken(load: LoadedTool) -> Finding:
    text = f"Pocket {load.pocket} still holds {load.assembly_number}."
    remedy = "Take it out, or choose another pocket."
    return Finding("machine.pocket_taken", Level.CHECK, text, remedy=remedy)


def _number_taken(load: LoadedTool) -> Finding:
    text = f"T{load.tool_number} is still {load.assembly_number} in {_place(load)}."
    remedy = "Take it out first."
    return Finding("machine.number_taken", Level.CHECK, text, remedy=remedy)


def _already_here(facts: CheckFacts) -> list[Finding]:
    here = [
        load for load in facts.control.loads or () if load.assembly_number == facts.assembly.number
    ]
    return [
        note("machine.already_here", f"By the record it is in {_place(load)} here.")
        for load in here
    ]


def _place(load: LoadedTool) -> str:
    return "the spindle" if load.pocket is None else f"pocket {load.pocket}"
