"""Do the parts of one assembly go together: each way of clamping, without figures or machine."""

from __future__ import annotations

from assemblies.rules.arbor import arbor_findings, mount_findings
from assemblies.rules.collet_fit import (
    collet_range_findings,
    collet_series_finding,
    no_seat_findings,
    nut_findings,
)
from assemblies.rules.coolant import coolant_findings
from assemblies.rules.drill_chuck import drill_chuck_findings
from assemblies.rules.fixed_bore import bore_finding, shank_form_findings
from assemblies.rules.seal import seal_findings
from assemblies.rules.shank import look_alike_findings, shank_findings
from assemblies.rules.shrink_fit import shrink_findings
from assemblies.rules.sleeve import sleeve_findings
from assemblies.rules.stack import CutterPart, HolderPart, ShopLimits, Stack
from assemblies.rules.tapping import tapping_findings
from crib.rules.finding import Finding, Level
from crib.rules.standards import CLAMPING_KINDS, ReferenceTables


def seat_findings(stack: Stack, limits: ShopLimits, tables: ReferenceTables) -> list[Finding]:
    """Whether the parts of a stack go together, by their sizes and kinds alone.

    No figure set at the bench is asked for; the machine only where coolant is to come through.
    A part that is not there is not refused for being missing, except collet and nut of a collet
    chuck.

    Source: each finding names its own.

    >>> from crib.rules.finding import worst_level
    >>> worst_level(seat_findings(Stack(), ShopLimits(), ReferenceTables()))
    <Level.UNKNOWN: 'unknown'>
    """
    holder, cutter = stack.holder or HolderPart(), stack.cutter or CutterPart()
    if holder.clamping in CLAMPING_KINDS:
        findings = _by_clamping(stack, holder, cutter, limits)
    else:
        findings = _before_a_holder(stack, holder, cutter, limits)
    findings += shank_findings(cutter) + look_alike_findings(cutter)
    return findings + coolant_findings(stack, tables.tapers)


def _before_a_holder(
    stack: Stack, holder: HolderPart, cutter: CutterPart, limits: ShopLimits
) -> list[Finding]:
    """Parts come in any order: collet and sleeve are held against the shank already."""
    early = collet_range_findings(stack.collet, cutter, limits) if stack.collet else []
    return [_clamping_not_known(), *early, *sleeve_findings(holder, stack.sleeve, cutter)]


def _clamping_not_known() -> Finding:
    return Finding(
        "holder.clamping_not_known",
        Level.UNKNOWN,
        "Not recorded how this holder holds: collet, arbor or bore.",
        remedy="Record it with the holder's item.",
        source="common practice",
    )


def _by_clamping(
    stack: Stack, holder: HolderPart, cutter: CutterPart, limits: ShopLimits
) -> list[Finding]:
    wrongly_mounted = mount_findings(holder, cutter)
    if holder.takes_a_collet:
        findings = [collet_series_finding(holder, stack.collet), *nut_findings(holder, stack.nut)]
    else:
        findings = no_seat_findings(holder, stack.collet, stack.nut)
    if wrongly_mounted:
        return findings + wrongly_mounted
    findings += _cutter_in_seat(stack, holder, cutter, limits)
    findings += shank_form_findings(holder, cutter)
    return findings + tapping_findings(holder, stack.collet, cutter)


def _cutter_in_seat(
    stack: Stack, holder: HolderPart, cutter: CutterPart, limits: ShopLimits
) -> list[Finding]:
    sleeve = sleeve_findings(holder, stack.sleeve, cutter)
    if holder.takes_a_collet:
        in_collet = collet_range_findings(stack.collet, cutter, limits) if stack.collet else []
        return in_collet + seal_findings(stack.nut, cutter) + sleeve
    if holder.clamping == "drill_chuck":
        return drill_chuck_findings(holder, cutter) + sleeve
    if stack.sleeve is not None and holder.takes_a_sleeve:
        return sleeve
    findings = [bore_finding(holder, cutter), *sleeve]
    if holder.is_an_arbor:
        findings += arbor_findings(holder, cutter)
    if holder.clamping == "shrink":
        findings += shrink_findings(cutter)
    return findings
