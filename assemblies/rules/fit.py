"""Front door of the fit rules: one stack in, every finding out."""

from __future__ import annotations

from dataclasses import replace

from assemblies.rules.balance import balance_findings
from assemblies.rules.bore_grip import bore_grip_findings
from assemblies.rules.closure import closure_finding, overall_finding, room_findings
from assemblies.rules.condition import (
    collet_hours_findings,
    condition_findings,
    insert_findings,
)
from assemblies.rules.diameter import diameter_finding
from assemblies.rules.envelope import envelope_findings
from assemblies.rules.grip import collet_grip_findings
from assemblies.rules.interface import interface_finding, stud_findings
from assemblies.rules.rotation import rotation_findings
from assemblies.rules.runout import runout_finding
from assemblies.rules.screw_torque import screw_findings
from assemblies.rules.seats import seat_findings
from assemblies.rules.slenderness import slenderness_findings
from assemblies.rules.speed import mark_findings, speed_findings, speed_limit
from assemblies.rules.stack import CutterPart, HolderPart, ShopLimits, Stack, Stage
from assemblies.rules.torque import torque_aim_finding, torque_finding
from crib.rules.finding import Finding, Level
from crib.rules.standards import ReferenceTables, taper_coded


def stack_findings(
    stack: Stack, limits: ShopLimits, stage: Stage, tables: ReferenceTables
) -> list[Finding]:
    """Every finding about a stack, in the order of building it.

    `BUILD` asks whether the parts go together and judges the figures that are there; `RELEASE`
    asks for every figure and for the pull stud. A machine and a program's call are judged at
    every stage, once they are given.

    Source: each finding names its own.

    >>> from crib.rules.finding import worst_level
    >>> findings = stack_findings(Stack(), ShopLimits(), Stage.BUILD, ReferenceTables())
    >>> worst_level(findings)
    <Level.UNKNOWN: 'unknown'>
    """
    holder, cutter = stack.holder or HolderPart(), stack.cutter or CutterPart()
    findings = _missing_parts(stack)
    findings += _machine_findings(stack, holder, tables, stage)
    findings += seat_findings(stack, limits, tables)
    findings += _figure_findings(stack, holder, cutter, limits, stage, tables)
    findings += _motion_findings(stack, cutter, limits) + balance_findings(holder)
    findings += condition_findings(stack) + insert_findings(cutter)
    if stack.collet is not None:
        findings += collet_hours_findings(stack.collet, limits)
    return findings


def runs_on_a_router(stack: Stack, tables: ReferenceTables) -> bool:
    """Whether the wider limits of a router apply: the machine says so, else the holder's form.

    Not known counts as "no", which is the stricter answer.

    Source: common practice.

    >>> runs_on_a_router(Stack(), ReferenceTables())
    False
    """
    if stack.machine is not None and stack.machine.is_router is not None:
        return stack.machine.is_router
    row = taper_coded(tables.tapers, stack.holder.interface) if stack.holder else None
    return row is not None and row.for_routers


def _missing_parts(stack: Stack) -> list[Finding]:
    return [
        Finding(
            f"{name}.missing",
            Level.UNKNOWN,
            f"No {name} recorded.",
            remedy=f"Say which {name} it is.",
            source="common practice",
        )
        for name, part in (("holder", stack.holder), ("cutter", stack.cutter))
        if part is None
    ]


def _machine_findings(
    stack: Stack, holder: HolderPart, tables: ReferenceTables, stage: Stage
) -> list[Finding]:
    machine = stack.machine
    stud = stud_findings(holder, stack.stud, machine, tables.tapers, stage)
    if machine is None:
        return stud
    room = envelope_findings(stack, machine)
    if stage == Stage.BUILD:
        # Lengths are still to be measured; what is over already is said all the same.
        room = [f for f in room if f.level.is_stop or f.level == Level.CHECK]
    return [interface_finding(holder, machine, tables.tapers), *stud, *room]


def _figure_findings(
    stack: Stack,
    holder: HolderPart,
    cutter: CutterPart,
    limits: ShopLimits,
    stage: Stage,
    tables: ReferenceTables,
) -> list[Finding]:
    """What was set and measured; before release only what is there is judged."""
    figures = stack.figures
    grip_um = 0 if holder.is_an_arbor else figures.grip_um
    early = stage == Stage.BUILD
    for_router = runs_on_a_router(stack, tables)
    findings = []
    if not (early and figures.grip_um is None):
        findings += _grip_findings(stack, holder, cutter, limits, tables, for_router)
    spare_um = limits.closure_um if holder.is_an_arbor else 0
    if not (early and (figures.stickout_um is None or grip_um is None)):
        findings.append(overall_finding(cutter, figures.stickout_um, grip_um, spare_um=spare_um))
    findings += room_findings(holder, cutter, figures.stickout_um, limits)
    if not (early and figures.gauge_length_um is None):
        findings.append(closure_finding(holder, figures, limits))
    findings += _torque_findings(stack, holder, cutter, stage, tables)
    if not (early and figures.runout_um is None):
        findings.append(runout_finding(figures, cutter, for_router, limits))
    if not (early and figures.diameter_um is None):
        findings.append(diameter_finding(figures, cutter, limits))
    return findings + slenderness_findings(figures, cutter)


def _torque_findings(
    stack: Stack, holder: HolderPart, cutter: CutterPart, stage: Stage, tables: ReferenceTables
) -> list[Finding]:
    torque_mnm, bands = stack.figures.torque_mnm, tables.torque_bands
    if stack.nut is None:
        return screw_findings(torque_mnm, holder, stage)
    if stage == Stage.BUILD and torque_mnm is None:
        return [torque_aim_finding(stack.nut, cutter, bands)]
    return [torque_finding(torque_mnm, stack.nut, cutter, bands)]


def _grip_findings(
    stack: Stack,
    holder: HolderPart,
    cutter: CutterPart,
    limits: ShopLimits,
    tables: ReferenceTables,
    for_router: bool,
) -> list[Finding]:
    grip_um = stack.figures.grip_um
    if holder.takes_a_collet and stack.collet is not None:
        return collet_grip_findings(
            grip_um,
            stack.collet,
            cutter,
            limits,
            tables.collet_series,
            for_router,
            holder.grip_min_um,
        )
    if holder.holds_a_shank:
        sleeve = stack.sleeve if holder.takes_a_sleeve else None
        return bore_grip_findings(grip_um, holder, cutter, limits, tables.grip_rules, sleeve)
    return []


def _motion_findings(stack: Stack, cutter: CutterPart, limits: ShopLimits) -> list[Finding]:
    """Speed and rotation: against the program where one is given, else what the marks say.

    The larger of nominal and measured diameter is the one whose rim is fast.
    """
    sizes_um = [um for um in (cutter.diameter_um, stack.figures.diameter_um) if um is not None]
    cutter = replace(cutter, diameter_um=max(sizes_um, default=None))
    limit = speed_limit(stack, limits.mark_needed_from_um)
    machine = stack.machine
    if stack.call is None:
        speed = mark_findings(limit)
    else:
        speed = speed_findings(
            limit,
            stack.call.speed_rpm,
            machine.override_ceiling_percent if machine else 100,
            cutter,
            rim_caution_m_s=limits.rim_caution_m_s,
            lowest_rpm=machine.min_rpm if machine else None,
        )
    return speed + rotation_findings(cutter, stack.call, machine)
