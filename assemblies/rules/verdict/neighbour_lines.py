"""Is there room beside it: wide tools in a changer, and the pockets next to them.

Source: the machine maker's largest diameter with both neighbouring pockets full, as recorded; what
is in the machine as it was said when it was loaded. That one full neighbour stops as well, where
the maker's figure speaks of both, is an own rule: soft, as somebody may know better.
"""

from __future__ import annotations

from collections.abc import Mapping

from assemblies.rules.verdict.facts import Change, CheckFacts, LoadedTool, MachineFacts
from assemblies.rules.verdict.machine_lines import largest_diameter_um
from assemblies.rules.verdict.wording import length_finding, unknown
from crib.rules.finding import Finding, Level
from crib.rules.units import show_mm


def neighbour_findings(facts: CheckFacts, pocket_number: int | None) -> list[Finding]:
    """Too wide for its neighbours in `pocket_number`, or they for it; nothing without a limit.

    A tool of unknown diameter is said to be one in the lines of the machine.
    """
    limit_um, own_um = facts.machine.max_diameter_beside_um, largest_diameter_um(facts.assembly)
    if limit_um is None or facts.machine.change is Change.BY_HAND:
        return []
    held = _held(facts)
    wide = own_um is not None and own_um > limit_um
    if facts.machine.pockets is None and pocket_number is not None:
        any_wide = wide or any(_may_be_wide(load, limit_um) for load in held.values())
        return [_end_not_known()] if any_wide else []
    return [
        *(_own(facts.machine, held, pocket_number, own_um) if wide else []),
        *(_beside(facts.machine, held, pocket_number) if pocket_number is not None else []),
    ]


def _held(facts: CheckFacts) -> dict[int, LoadedTool]:
    """What other pockets hold, by pocket."""
    others = (
        load
        for load in facts.control.loads or ()
        if load.assembly_number != facts.assembly.number and load.pocket is not None
    )
    return {load.pocket: load for load in others}


def _may_be_wide(load: LoadedTool, limit_um: int) -> bool:
    return load.diameter_um is None or load.diameter_um > limit_um


def _end_not_known() -> Finding:
    text = "Number of pockets not on record: which are next to it is unknown."
    return unknown("machine.neighbours_not_known", text, "Enter it with the machine.")


def neighbours(machine: MachineFacts, pocket_number: int) -> tuple[int, ...]:
    """The pockets next to one, in order; round the ring unless the machine is known to have none.

    How many pockets the machine has must be known.

    >>> neighbours(MachineFacts(pockets=12), 1)
    (2, 12)
    >>> neighbours(MachineFacts(pockets=12, pockets_in_a_ring=False), 12)
    (11,)
    """
    beside = {pocket_number - 1, pocket_number + 1}
    if machine.pockets_in_a_ring is False:
        beside = {p for p in beside if 0 < p <= machine.pockets}
    else:
        beside = {(p - 1) % machine.pockets + 1 for p in beside}
    return tuple(sorted(beside - {pocket_number}))


def _own(
    machine: MachineFacts, held: Mapping[int, LoadedTool], pocket: int | None, own_um: int
) -> list[Finding]:
    limit_um = machine.max_diameter_beside_um
    wide, limit = show_mm(own_um), show_mm(limit_um)
    beside = neighbours(machine, pocket) if pocket is not None else ()
    full = [held[p] for p in beside if p in held]
    if not full:
        text = f"Ø {wide}. Beside full pockets Ø {limit} at most."
        remedy = "Keep both neighbouring pockets empty."
        code = "machine.neighbours_to_be_empty"
        return [length_finding(code, Level.CHECK, text, own_um, limit_um, remedy)]
    level = Level.STOP_HARD if len(full) == len(beside) > 1 else Level.STOP_SOFT
    pockets = " and ".join(str(load.pocket) for load in full)
    text = f"Ø {wide}. Beside full pockets Ø {limit} at most; full: {pockets}."
    names = " and ".join(str(load.assembly_number) for load in full)
    remedy = f"Take {names} out first, or use another pocket."
    return [length_finding("machine.neighbour_full", level, text, own_um, limit_um, remedy)]


def _beside(machine: MachineFacts, held: Mapping[int, LoadedTool], pocket: int) -> list[Finding]:
    """What a wide tool in a neighbouring pocket says of this one."""
    found = (
        _beside_one(machine, held, held[p], pocket)
        for p in neighbours(machine, pocket)
        if p in held
    )
    return [finding for finding in found if finding is not None]


def _beside_one(
    machine: MachineFacts, held: Mapping[int, LoadedTool], load: LoadedTool, pocket: int
) -> Finding | None:
    limit_um, held_there = machine.max_diameter_beside_um, f"Pocket {load.pocket} holds"
    if load.diameter_um is None:
        text = f"{held_there} {load.assembly_number}. Its diameter is not on record."
        return unknown("machine.neighbour_not_known", text, "Look whether there is room.")
    if load.diameter_um <= limit_um:
        return None
    beside = neighbours(machine, load.pocket)
    both = len(beside) > 1 and all(p == pocket or p in held for p in beside)
    wide = show_mm(load.diameter_um)
    text = f"{held_there} {load.assembly_number}, Ø {wide}: its neighbours stay empty."
    remedy = f"Use another pocket, or take {load.assembly_number} out first."
    level = Level.STOP_HARD if both else Level.STOP_SOFT
    return length_finding(
        "machine.beside_a_wide_one", level, text, load.diameter_um, limit_um, remedy
    )
