"""Is there room in the machine and its changer: length, diameter, neighbours, mass, moment."""

from __future__ import annotations

from dataclasses import dataclass

from assemblies.rules.closure import expected_gauge_um
from assemblies.rules.moment import moment_findings
from assemblies.rules.stack import HolderPart, MachineFacts, Stack
from assemblies.rules.wording import in_mm, in_thousands
from crib.rules.finding import Finding, Level
from crib.rules.units import show_mm

_MACHINE = "machine maker's limits, as recorded"
_CUTTING, _NOSE = "Cutting Ø", "Nut or nose Ø"


def envelope_findings(stack: Stack, machine: MachineFacts) -> list[Finding]:
    """Gauge length, diameters, mass and tilting moment against the machine's limits.

    A nut or nose may be wider than the cutter; where its diameter is recorded it has to pass too.

    Source: limits are the machine maker's; there are no general ones.

    >>> from assemblies.rules.stack import BuildFigures
    >>> stack = Stack(figures=BuildFigures(gauge_length_um=114_000))
    >>> envelope_findings(stack, MachineFacts(max_gauge_length_um=110_000))[0].code
    'envelope.length_over'
    """
    length_um, diameter_um = _length_um(stack), _diameter_um(stack)
    nose_um = stack.holder.nose_diameter_um if stack.holder else None
    return [
        _size_finding("length", "Gauge length", length_um, machine.max_gauge_length_um, 1),
        _size_finding("diameter", _CUTTING, diameter_um, machine.max_diameter_um, 2),
        *_nose_findings(nose_um, machine.max_diameter_um),
        *_beside_findings(diameter_um, nose_um, machine),
        _mass_finding(known_mass_g(stack), machine.max_mass_g),
        *moment_findings(stack.figures, machine),
    ]


def _nose_findings(nose_um: int | None, most_um: int | None) -> list[Finding]:
    """Says that a nut or nose is too wide, whatever the cutter measures."""
    if nose_um is None or most_um is None or nose_um <= most_um:
        return []
    return [_size_finding("diameter", _NOSE, nose_um, most_um, 2)]


def _beside_findings(
    cutting_um: int | None, nose_um: int | None, machine: MachineFacts
) -> list[Finding]:
    """Whether full pockets on both sides leave room; nothing where no limit is recorded."""
    most_um = machine.max_diameter_beside_um
    diameter_um, words = max(
        (cutting_um or 0, _CUTTING), (nose_um or 0, _NOSE), key=lambda size: size[0]
    )
    if most_um is None or diameter_um <= most_um:
        return []
    return [
        Finding(
            "envelope.neighbours",
            Level.CHECK,
            f"{words} {show_mm(diameter_um)}. Beside full pockets {show_mm(most_um)}.",
            measured=in_mm(diameter_um),
            limit=in_mm(most_um),
            unit="mm",
            remedy="Keep both neighbouring pockets empty.",
            source=_MACHINE,
        )
    ]


def _length_um(stack: Stack) -> int | None:
    if stack.figures.gauge_length_um is not None:
        return stack.figures.gauge_length_um
    return expected_gauge_um(stack.holder or HolderPart(), stack.figures.stickout_um)


def _diameter_um(stack: Stack) -> int | None:
    nominal_um = stack.cutter.diameter_um if stack.cutter else None
    return max(
        (um for um in (nominal_um, stack.figures.diameter_um) if um is not None), default=None
    )


@dataclass(frozen=True, slots=True)
class KnownMass:
    """Mass of an assembly [g]: the whole, None when a part is not known; and what is certain."""

    total_g: int | None
    at_least_g: int


def assembly_mass_g(stack: Stack) -> int | None:
    """Mass [g]: as weighed, else the sum of the parts; None when one part is not known.

    Source: sum of holder, collet, nut, sleeve and cutter; a pull stud belongs to its holder.

    >>> assembly_mass_g(Stack()) is None
    True
    """
    return known_mass_g(stack).total_g


def known_mass_g(stack: Stack) -> KnownMass:
    """Mass [g] as far as it is known: parts of known mass are there, whatever the others weigh.

    Source: sum of holder, collet, nut, sleeve and cutter; a pull stud belongs to its holder.

    >>> known_mass_g(Stack(holder=HolderPart(mass_g=900)))
    KnownMass(total_g=None, at_least_g=900)
    """
    if stack.figures.mass_g is not None:
        return KnownMass(stack.figures.mass_g, stack.figures.mass_g)
    parts = [stack.holder, stack.cutter]
    if not (stack.holder and (stack.holder.is_an_arbor or stack.holder.holds_a_shank)):
        parts += [stack.collet, stack.nut]
    if stack.sleeve is not None:
        parts.append(stack.sleeve)
    masses = [part.mass_g if part else None for part in parts]
    known = sum(mass for mass in masses if mass is not None)
    return KnownMass(None if None in masses else known, known)


def _size_finding(
    what: str, words: str, size_um: int | None, most_um: int | None, decimals: int
) -> Finding:
    if size_um is None or most_um is None:
        whose = words if size_um is None else f"Machine's limit for {words.lower()}"
        return Finding(
            f"envelope.{what}_not_known",
            Level.UNKNOWN,
            f"{whose} not recorded.",
            remedy="Record it.",
            source=_MACHINE,
        )
    over = size_um > most_um
    gap = f", {show_mm(size_um - most_um, decimals)} over" if over else ""
    return Finding(
        f"envelope.{what}_over" if over else f"envelope.{what}_within",
        Level.STOP_HARD if over else Level.PASS,
        f"{words} {show_mm(size_um, decimals)}{gap}. Machine limit {show_mm(most_um, decimals)}.",
        measured=in_mm(size_um),
        limit=in_mm(most_um),
        unit="mm",
        remedy="Rebuild it smaller, or use another machine." if over else "",
        source=_MACHINE,
    )


def _mass_finding(mass: KnownMass, most_g: int | None) -> Finding:
    # What is certain may be too much already, whatever the parts not known weigh.
    certain_over = most_g is not None and mass.at_least_g > most_g
    mass_g = mass.at_least_g if mass.total_g is None and certain_over else mass.total_g
    if mass_g is None or most_g is None:
        whose = "Mass of the assembly" if mass_g is None else "Machine's limit for mass"
        return Finding(
            "envelope.mass_not_known", Level.NOTE, f"{whose} not recorded.", source=_MACHINE
        )
    over = mass_g > most_g
    return Finding(
        "envelope.mass_over" if over else "envelope.mass_within",
        Level.STOP_HARD if over else Level.PASS,
        f"Mass {in_thousands(mass_g)} kg. Machine limit {in_thousands(most_g)} kg.",
        measured=mass_g / 1000,
        limit=most_g / 1000,
        unit="kg",
        remedy="Use a lighter holder, or another machine." if over else "",
        source=_MACHINE,
    )
