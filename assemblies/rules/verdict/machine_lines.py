"""Can this machine hold it?

Source: interfaces by their code (ISO 7388, ISO 12164-1, DIN 69893); pull stud, largest tool and
tilting moment by the machine maker's figures, as recorded; coolant: one closed part stops it.
"""

from __future__ import annotations

from assemblies.rules.moment import moment_findings
from assemblies.rules.stack import BuildFigures
from assemblies.rules.stack import MachineFacts as ChangerLimits
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

#: Masses of parts come from lists; by more than this [%] an assembly does not weigh less.
#: Source: own rule.
PARTS_HEAVIER_PERCENT = 10


def machine_findings(facts: CheckFacts) -> list[Finding]:
    """In order: taper, pull stud, length, width, mass, tilting moment, coolant."""
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
        *_weighed_too_light(assembly, machine),
        *_moment(assembly, machine),
        *_coolant(assembly),
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
    wide_um = largest_diameter_um(assembly)
    return _within("diameter", machine, wide_um, machine.max_diameter_um, ("wide", 2))


def largest_diameter_um(assembly: AssemblyFacts) -> int | None:
    """Largest known cutting diameter [um], measured or nominal: the safe side for room."""
    known = [d for d in (assembly.diameter_um, assembly.nominal_diameter_um) if d is not None]
    return max(known, default=None)


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


def _weighed_too_light(assembly: AssemblyFacts, machine: MachineFacts) -> list[Finding]:
    """Another assembly stood on the scale, or a figure was keyed wrong; only where mass counts."""
    asked = (machine.max_mass_g, machine.max_moment_mnm) != (None, None)
    weighed_g, parts_g = assembly.weighed_mass_g, assembly.parts_mass_g
    if not asked or machine.change is Change.BY_HAND or weighed_g is None or parts_g is None:
        return []
    if parts_g * 100 <= weighed_g * (100 + PARTS_HEAVIER_PERCENT):
        return []
    text = f"Weighed {weighed_g / 1000:.2f} kg, lighter than its parts: {parts_g / 1000:.2f}."
    code, remedy = "machine.weighed_too_light", "Weigh it again."
    return [
        Finding(code, Level.CHECK, text, weighed_g / 1000, parts_g / 1000, "kg", remedy),
    ]


def _moment(assembly: AssemblyFacts, machine: MachineFacts) -> list[Finding]:
    """Only an arm or a gripper tilts; a hand does not ask, whatever is on record."""
    if machine.change is Change.BY_HAND:
        return []
    weighed = BuildFigures(mass_g=assembly.weighed_mass_g, centre_um=assembly.weighed_centre_um)
    limits = ChangerLimits(
        max_moment_mnm=machine.max_moment_mnm, moment_plane_um=machine.moment_plane_um
    )
    return moment_findings(weighed, limits)


def _coolant(assembly: AssemblyFacts) -> list[Finding]:
    """What the fit rules say of coolant on this machine; wanted and not answered is not known."""
    if assembly.coolant is None or (assembly.coolant_wanted and not assembly.coolant):
        text = "Whether coolant comes through was not worked out."
        return [unknown("machine.coolant_not_compared", text)]
    return list(assembly.coolant)
