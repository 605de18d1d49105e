"""One assembly as the verdict sees it: rows to plain facts. Reads only."""

from __future__ import annotations

from dataclasses import replace

from django.utils import timezone

from assemblies.actions.shop_limits import current_limits
from assemblies.models import Assembly, AssemblyState, Build, Measurement
from assemblies.rules.condition import (
    collet_hours_findings,
    condition_findings,
    insert_findings,
)
from assemblies.rules.envelope import known_mass_g
from assemblies.rules.fit import stack_findings
from assemblies.rules.runout import runout_finding
from assemblies.rules.speed import speed_limit
from assemblies.rules.stack import Stack, Stage
from assemblies.rules.verdict import facts
from crib.reference import tables
from crib.rules.finding import Finding, Level

#: Rules that are worked out anew at the spindle; their answers from the bench are not repeated.
_RECOMPUTED = frozenset(
    "runout condition insert speed rotation machine interface stud envelope purpose".split()
)
_RECOMPUTED_CODES = frozenset(
    {"collet.hours_over", "collet.hours_far_over", "collet.hours_not_known", "collet.hours_within"}
)


def assembly_facts(assembly: Assembly, build: Build | None, stack: Stack) -> facts.AssemblyFacts:
    holder, cutter, figures = stack.holder, stack.cutter, stack.figures
    limit, mass = speed_limit(stack), known_mass_g(stack)
    read = Measurement.objects.latest_by_quantity(build.pk) if build else {}
    return facts.AssemblyFacts(
        number=assembly.number,
        state=facts.State(assembly.state),
        state_reason=assembly.state_note or _waiting_for(assembly, stack),
        revision=revision_of(assembly, build),
        rebuilt_on=day_of(build),
        holder_mark=holder.mark if holder else None,
        interface=holder.interface if holder else None,
        stud=facts.Stud(stack.stud.state),
        stud_pattern=stack.stud.pattern,
        cutter_kind=cutter.kind if cutter else None,
        diameter_um=figures.diameter_um,
        nominal_diameter_um=cutter.diameter_um if cutter else None,
        bought_in_inches=cutter.bought_in_inches if cutter else False,
        corner_radius_um=_corner_radius(build, read),
        hand=facts.Hand(cutter.hand) if cutter and cutter.hand else None,
        flute_length_um=cutter.flute_um if cutter else None,
        stickout_um=figures.stickout_um,
        gauge_length_um=figures.gauge_length_um,
        measured_on=_measured_on(read),
        mass_g=mass.total_g,
        mass_at_least_g=mass.at_least_g,
        runout_um=figures.runout_um,
        speed_limit=facts.SpeedLimitFacts(
            limit_rpm=limit.limit_rpm,
            limiting_part=limit.limiting_part,
            unknown_parts=limit.unknown_parts,
        ),
        cautions=cautions_of(build, stack),
        condition=_condition(stack),
    )


def revision_of(assembly: Assembly, build: Build | None) -> int | None:
    """The revision that counts: a draft is the next one in the making, and no label's."""
    if build is None or not build.is_draft:
        return build.revision if build else None
    return 1 + max(assembly.builds.values_list("revision", flat=True), default=0)


def _waiting_for(assembly: Assembly, stack: Stack) -> str:
    """Why a built assembly is not released yet, as far as the figures tell."""
    if assembly.state != AssemblyState.BUILT:
        return ""
    missing = [
        name
        for name, value in (
            ("gauge length", stack.figures.gauge_length_um),
            ("diameter", stack.figures.diameter_um),
            ("runout", stack.figures.runout_um),
        )
        if value is None
    ]
    return f"{', '.join(missing)} not measured" if missing else ""


def day_of(build: Build | None):
    if build is None:
        return None
    return timezone.localtime(build.built_at or build.started_at).date()


def _measured_on(read: dict[str, Measurement]):
    """Day from which length and diameter both hold: the older one is what the limit asks about."""
    days = [read[name].at for name in ("gauge_length", "diameter") if name in read]
    return timezone.localtime(min(days)).date() if days else None


def _corner_radius(build: Build | None, read: dict[str, Measurement]) -> int | None:
    """Measured on this build, else the nominal radius of the cutter; None when neither is known."""
    if build is None:
        return None
    if "corner_radius" in read:
        return read["corner_radius"].value_um
    cutter = build.parts.filter(role="cutter").values_list(
        "item__cutter_facts__corner_radius_um", flat=True
    )
    return cutter.first()


def cautions_of(build: Build | None, stack: Stack) -> tuple[Finding, ...] | None:
    """What was doubtful at the bench and accepted with a reason, frozen with the build.

    Facts of an item may have been put right since the release, so the fit is worked out again:
    whatever it says today that nobody has accepted comes first.
    """
    if build is None:
        return None
    frozen = _frozen(build)
    accepted = {_what_was_said(f) for f in frozen}
    today = _fit_today(stack) if build.released_at else []
    later = [f for f in today if _what_was_said(f) not in accepted]
    return tuple(f for f in (*later, *frozen) if _is_caution(f))


def _what_was_said(finding: Finding) -> tuple:
    """The same rule with other figures is another caution, which nobody has accepted."""
    return finding.code, finding.level, finding.measured, finding.limit


def _frozen(build: Build) -> list[Finding]:
    return [Finding.from_dict(row) for row in build.release_findings or build.findings]


def accepted_at_the_bench(build: Build | None) -> list[Finding]:
    """What the spindle repeats of the bench, without what only today's facts say."""
    return [f for f in _frozen(build) if _is_caution(f)] if build is not None else []


def _fit_today(stack: Stack) -> list[Finding]:
    return stack_findings(replace(stack, machine=None), current_limits(), Stage.RELEASE, tables())


def _is_caution(finding: Finding) -> bool:
    return (
        finding.level.weight >= Level.CHECK.weight
        and finding.code.split(".")[0] not in _RECOMPUTED
        and finding.code not in _RECOMPUTED_CODES
    )


def _condition(stack: Stack) -> tuple[Finding, ...]:
    limits = current_limits()
    found = list(condition_findings(stack))
    if stack.collet is not None:
        found += collet_hours_findings(stack.collet, limits)
    if stack.cutter is not None:
        found += insert_findings(stack.cutter)
        if stack.figures.runout_um is not None:
            router = bool(stack.machine and stack.machine.is_router)
            found.append(runout_finding(stack.figures, stack.cutter, router, limits))
    return tuple(found)
