"""One assembly as the verdict sees it: rows to plain facts. Reads only."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from django.utils import timezone

from assemblies.actions.past_uses import Since
from assemblies.actions.setup_sheet_rows import BuildRows
from assemblies.models import Assembly, AssemblyState, Build, Measurement, Quantity, ReadOn
from assemblies.rules.condition import (
    collet_hours_findings,
    condition_findings,
    insert_findings,
)
from assemblies.rules.coolant import coolant_findings
from assemblies.rules.envelope import known_mass_g
from assemblies.rules.fit import stack_findings
from assemblies.rules.runout import runout_finding
from assemblies.rules.speed import speed_limit
from assemblies.rules.stack import ShopLimits, Stack, Stage
from assemblies.rules.verdict import facts
from crib.reference import tables
from crib.rules.finding import Finding, Level

#: Rules that are worked out anew at the spindle; their answers from the bench are not repeated.
_RECOMPUTED = frozenset(
    "runout condition insert speed rotation machine interface stud envelope purpose coolant".split()
)
_RECOMPUTED_CODES = frozenset(
    {"collet.hours_over", "collet.hours_far_over", "collet.hours_not_known", "collet.hours_within"}
)
#: One of these from today's fit rules: the cutter was held against what holds it. Those that
#: stop or doubt stand beside them as findings of their own.
_SEAT_COMPARED = frozenset(
    {
        *("collet.shank_fits", "collet.closed_far", "collet.shank_too_large"),
        *("collet.shank_too_small", "bore.same", "bore.differs", "sleeve.bore_same"),
        *("sleeve.bore_differs", "chuck.shank_fits", "chuck.shank_too_large"),
        *("chuck.shank_too_small", "cutter.no_bore", "cutter.no_shank"),
    }
)


def assembly_facts(
    assembly: Assembly,
    build: Build | None,
    rows: BuildRows,
    stack: Stack,
    limits: ShopLimits,
    since: Since,
) -> facts.AssemblyFacts:
    """One assembly on today's facts and limits; a draft asks for the last revision, others nothing.

    `rows` and `stack` are those of `build`, `since` is what came out about its instruments.
    """
    today = fit_today(stack, limits)
    holder, cutter, figures = stack.holder, stack.cutter, stack.figures
    limit, mass = speed_limit(stack, limits.mark_needed_from_um), known_mass_g(stack)
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
        corner_radius_um=_corner_radius(rows),
        hand=facts.Hand(cutter.hand) if cutter and cutter.hand else None,
        flute_length_um=cutter.flute_um if cutter else None,
        stickout_um=figures.stickout_um,
        gauge_length_um=figures.gauge_length_um,
        measured_on=rows.measured_on,
        mass_g=mass.total_g,
        mass_at_least_g=mass.at_least_g,
        weighed_mass_g=figures.mass_g,
        weighed_centre_um=figures.centre_um,
        parts_mass_g=known_mass_g(replace(stack, figures=replace(figures, mass_g=None))).at_least_g,
        coolant_wanted=stack.coolant_wanted,
        coolant=tuple(coolant_findings(stack, tables().tapers)),
        seat_compared=any(f.code in _SEAT_COMPARED for f in today),
        runout_um=figures.runout_um,
        runout_read_elsewhere=_read_elsewhere(rows),
        read={name: _read_as(row) for name, row in rows.readings.items()},
        speed_limit=facts.SpeedLimitFacts(
            limit_rpm=limit.limit_rpm,
            limiting_part=limit.limiting_part,
            unknown_parts=limit.unknown_parts,
        ),
        cautions=cautions_of(build, (*today, *since.findings), since.passed),
        condition=condition_of(stack, limits),
    )


#: Runout read there says nothing of how the cutter runs.
_NOT_ON_THE_CUTTER = frozenset({ReadOn.NOSE, ReadOn.BAR})


def _read_elsewhere(rows: BuildRows) -> bool:
    row = rows.readings.get(Quantity.RUNOUT)
    return row is not None and row.read_on in _NOT_ON_THE_CUTTER


def with_runout_of_the_cutter(rows: Mapping[int, BuildRows]) -> dict[int, BuildRows]:
    """`rows` where a runout read on nose or test bar hides no worse one, read on the cutter.

    By the key of the build; one query, none where every last runout was read on the cutter.
    """
    found = dict(rows)
    asked = [key for key, one in found.items() if _read_elsewhere(one)]
    if not asked:
        return found
    on_cutter = Measurement.objects.filter(build__in=asked, quantity=Quantity.RUNOUT)
    on_cutter = on_cutter.exclude(read_on__in=_NOT_ON_THE_CUTTER).order_by("at", "id")
    for key, row in {row.build_id: row for row in on_cutter}.items():
        if row.value_um >= found[key].readings[Quantity.RUNOUT].value_um:
            readings = found[key].readings | {Quantity.RUNOUT: row}
            found[key] = replace(found[key], readings=readings)
    return found


def _read_as(row: Measurement) -> facts.ReadAs:
    single_um = row.readings_um or [row.value_um]
    return facts.ReadAs(min(single_um), max(single_um), row.uncertainty_um)


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


def _corner_radius(rows: BuildRows) -> int | None:
    """Measured on this build, else the nominal radius of the cutter; None when neither is known."""
    measured_um, cutter = rows.read_um("corner_radius"), rows.facts("cutter")
    if measured_um is not None or cutter is None:
        return measured_um
    return cutter.corner_radius_um


#: Not known of an instrument, and not known to be wrong: accepted with a reason it is a check.
#: Source: own rule; it is asked anew for each load.
_ACCEPTED_AS_A_CHECK = frozenset({"instrument.never_calibrated", "instrument.interval_not_set"})


def cautions_of(
    build: Build | None, today: Iterable[Finding], passed: frozenset[str] = frozenset()
) -> tuple[Finding, ...] | None:
    """What was doubtful at the bench and accepted with a reason, frozen with the build.

    Facts of an item, a limit of the shop, or what is known of an instrument may have changed since
    the release: whatever the rules say `today` that nobody has accepted comes first. What was
    not known of an instrument is answered when it is among those that `passed` since, by mark.
    """
    if build is None:
        return None
    frozen = _frozen(build)
    accepted = {_what_was_said(f) for f in frozen}
    told = today if build.released_at else ()
    later = [f for f in told if _what_was_said(f) not in accepted]
    kept = (_as_accepted(f) for f in frozen if not _is_answered(f, passed))
    return tuple(f for f in (*later, *kept) if _is_caution(f))


def _is_answered(finding: Finding, passed: frozenset[str]) -> bool:
    if finding.code not in _ACCEPTED_AS_A_CHECK:
        return False
    return any(finding.text.startswith((f"{mark}:", f"{mark} calibrated ")) for mark in passed)


def _as_accepted(finding: Finding) -> Finding:
    if finding.code not in _ACCEPTED_AS_A_CHECK:
        return finding
    return replace(finding, level=Level.CHECK, remedy="Accepted at the bench. Look at it yourself.")


def _what_was_said(finding: Finding) -> tuple:
    """The same rule with other figures is another caution, which nobody has accepted.

    Where a rule has no figures its words name the part it speaks of.
    """
    figures = (finding.measured, finding.limit)
    return finding.code, finding.level, *(figures if figures != (None, None) else (finding.text,))


def _frozen(build: Build) -> list[Finding]:
    return [Finding.from_dict(row) for row in build.release_findings or build.findings]


def accepted_at_the_bench(build: Build | None) -> list[Finding]:
    """What the spindle repeats of the bench, without what only today's facts say."""
    return [f for f in _frozen(build) if _is_caution(f)] if build is not None else []


def fit_today(stack: Stack, limits: ShopLimits) -> list[Finding]:
    """What the fit rules say of the stack by itself, on today's facts and limits.

    What a machine and a program say of it stands in lines of the verdict.
    """
    return stack_findings(replace(stack, machine=None), limits, Stage.RELEASE, tables())


def _is_caution(finding: Finding) -> bool:
    return (
        finding.level.weight >= Level.CHECK.weight
        and finding.code.split(".")[0] not in _RECOMPUTED
        and finding.code not in _RECOMPUTED_CODES
    )


def condition_of(stack: Stack, limits: ShopLimits) -> tuple[Finding, ...]:
    """Wear, hours, inserts and runout as they are today."""
    found = list(condition_findings(stack))
    if stack.collet is not None:
        found += collet_hours_findings(stack.collet, limits)
    if stack.cutter is not None:
        found += insert_findings(stack.cutter)
        if stack.figures.runout_um is not None:
            router = bool(stack.machine and stack.machine.is_router)
            found.append(runout_finding(stack.figures, stack.cutter, router, limits))
    return tuple(found)
