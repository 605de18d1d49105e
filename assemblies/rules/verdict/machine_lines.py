"""Can this machine hold it?

Source: interfaces by their code (ISO 7388, ISO 12164-1, DIN 69893); pull stud and largest tool by
the machine maker's figures, as recorded.
"""

from __future__ import annotations

from assemblies.rules.verdict.facts import (
    AssemblyFacts,
    Change,
    CheckFacts,
    MachineFacts,
    Stud,
    StudRule,
)
from assemblies.rules.verdict.wording import agrees, length_finding, note, short_name, unknown
from crib.rules.finding import Finding, Level
from crib.rules.standards import same_code
from crib.rules.units import show_mm


def machine_findings(facts: CheckFacts) -> list[Finding]:
    """In order: taper, pull stud, length, width, mass."""
    assembly, machine = facts.assembly, facts.machine
    if machine is None:
        text = "No machine chosen. Nothing was compared with a machine."
        return [unknown("machine.not_chosen", text, "Scan the machine's plate.")]
    return [
        _interface(assembly, machine),
        _stud(assembly, machine),
        *_length(assembly, machine),
        *_diameter(assembly, machine),
        *_mass(assembly, machine),
    ]


def _interface(assembly: AssemblyFacts, machine: MachineFacts) -> Finding:
    if not assembly.interface:
        text = "The holder's taper is not on record."
        return unknown("machine.holder_interface_not_known", text, "Toolroom: enter the taper.")
    if not machine.interface:
        text = "This machine's taper is not on record."
        return unknown("machine.interface_not_known", text, "Enter it with the machine.")
    if assembly.interface == machine.interface:
        return agrees("machine.interface_agrees", f"{assembly.interface} as this machine.")
    holder = short_name(assembly.interface, "", longest=17)
    wanted = short_name(machine.interface, "", longest=17)
    return Finding(
        "machine.interface_differs",
        Level.STOP_HARD,
        f"{holder} holder. This machine takes {wanted}.",
        remedy=f"Fetch an assembly with a holder for {wanted}.",
    )


def _stud(assembly: AssemblyFacts, machine: MachineFacts) -> Finding:
    if machine.stud_rule is StudRule.NOT_USED:
        return _stud_where_none_is_used(assembly, machine)
    if machine.stud_rule is None or not machine.stud_pattern:
        text = "Which pull stud this machine needs is not on record."
        return unknown("machine.stud_pattern_not_known", text, "Enter it with the machine.")
    wanted = short_name(machine.stud_pattern, "", longest=15)
    if assembly.stud in (Stud.NONE_FITTED, Stud.NOT_USED):
        text = f"No pull stud. This machine needs stud {wanted}."
        remedy = f"Toolroom: fit stud {wanted}."
        return Finding("machine.stud_missing", Level.STOP_HARD, text, remedy=remedy)
    if assembly.stud is not Stud.FITTED or not assembly.stud_pattern:
        text = f"Pull stud not recorded. This machine needs stud {wanted}."
        remedy = "Toolroom: look at the stud and record its pattern."
        return Finding("machine.stud_not_recorded", Level.STOP_SOFT, text, remedy=remedy)
    if same_code(assembly.stud_pattern, machine.stud_pattern):
        return agrees("machine.stud_agrees", f"Stud {wanted} fitted.")
    fitted = short_name(assembly.stud_pattern, "", longest=15)
    text = f"Stud {fitted} fitted. This machine needs stud {wanted}."
    remedy = f"Toolroom: change to stud {wanted}."
    return Finding("machine.stud_differs", Level.STOP_HARD, text, remedy=remedy)


def _stud_where_none_is_used(assembly: AssemblyFacts, machine: MachineFacts) -> Finding:
    # With another taper the stud says nothing more; with the same one the records disagree.
    if assembly.stud is Stud.FITTED and assembly.interface == machine.interface:
        text = "A pull stud is fitted. This machine uses none."
        remedy = "Look at the holder; one of the two records is wrong."
        return Finding("machine.stud_not_used", Level.CHECK, text, remedy=remedy)
    return agrees("machine.stud_not_asked", "This machine uses no pull stud.")


def _length(assembly: AssemblyFacts, machine: MachineFacts) -> list[Finding]:
    return _within("length", machine, assembly.gauge_length_um, machine.max_length_um, ("long", 1))


def _diameter(assembly: AssemblyFacts, machine: MachineFacts) -> list[Finding]:
    known = [d for d in (assembly.diameter_um, assembly.nominal_diameter_um) if d is not None]
    largest_um = max(known, default=None)
    return _within("diameter", machine, largest_um, machine.max_diameter_um, ("wide", 2))


def _within(
    what: str,
    machine: MachineFacts,
    measured_um: int | None,
    limit_um: int | None,
    shown: tuple[str, int],
) -> list[Finding]:
    """One size against the machine's largest [um]; a changer needs both figures known."""
    word, decimals = shown
    told = note if machine.change is Change.BY_HAND else unknown
    if limit_um is None:
        text = f"This machine's largest tool {what} is not on record."
        return [told(f"machine.{what}_limit_not_known", text, "Enter it with the machine.")]
    limit = show_mm(limit_um, decimals)
    if measured_um is None:
        text = f"Tool {what} not on record. This machine takes {limit}."
        return [told(f"machine.{what}_not_compared", text, "Measure.")]
    if measured_um <= limit_um:
        return []
    text = f"{show_mm(measured_um, decimals)} mm {word}. This machine takes {limit}."
    remedy = "Rebuild, or use another machine."
    code = f"machine.{what}_over_limit"
    return [length_finding(code, Level.STOP_HARD, text, measured_um, limit_um, remedy)]


def _mass(assembly: AssemblyFacts, machine: MachineFacts) -> list[Finding]:
    if machine.max_mass_g is None:
        text = "This machine's largest tool mass is not on record."
        return [note("machine.mass_limit_not_known", text)]
    mass_g = assembly.mass_g
    if mass_g is None and (assembly.mass_at_least_g or 0) > machine.max_mass_g:
        mass_g = assembly.mass_at_least_g
    if mass_g is None:
        text = f"Mass not on record. This machine takes {machine.max_mass_g / 1000:.2f} kg."
        return [note("machine.mass_not_compared", text)]
    if mass_g <= machine.max_mass_g:
        return []
    mass, limit = mass_g / 1000, machine.max_mass_g / 1000
    text = f"{mass:.3f} kg. This machine takes {limit:.3f} kg."
    code, remedy = "machine.mass_over_limit", "Use another machine or a lighter build."
    return [Finding(code, Level.STOP_HARD, text, mass, limit, "kg", remedy)]
