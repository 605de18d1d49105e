"""From rows to the plain facts that `judge` looks at. Reads only, in a fixed number of queries."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from django.utils import timezone

from assemblies.actions.approvals import standing_revision
from assemblies.actions.readings import is_current, reading_of
from assemblies.actions.stack_facts import stack_of
from assemblies.models import (
    ApprovalState,
    Assembly,
    AssemblyState,
    Build,
    Decision,
    Machine,
    Measurement,
    ProgramApproval,
    ProgramRevision,
    Reading,
    SpindleCheck,
    ToolChange,
    ToolRequirement,
    ToolUse,
)
from assemblies.rules.condition import (
    collet_hours_findings,
    condition_findings,
    insert_findings,
)
from assemblies.rules.envelope import known_mass_g
from assemblies.rules.fit import stack_findings
from assemblies.rules.runout import runout_finding
from assemblies.rules.speed import speed_limit
from assemblies.rules.stack import ShopLimits, Stack, Stage
from assemblies.rules.verdict import facts
from crib.reference import tables
from crib.rules.finding import Finding, Level

#: A load at another machine counts as "last seen there" for this long.
SEEN_WITHIN = timedelta(hours=12)
#: Rules that are worked out anew at the spindle; their answers from the bench are not repeated.
_RECOMPUTED = frozenset(
    "runout condition insert speed rotation machine interface stud envelope purpose".split()
)
_RECOMPUTED_CODES = frozenset(
    {"collet.hours_over", "collet.hours_far_over", "collet.hours_not_known", "collet.hours_within"}
)


def gather_facts(
    *,
    assembly: Assembly,
    label: facts.LabelFacts,
    machine: Machine | None,
    revision: ProgramRevision | None,
    tool_number: int | None = None,
) -> facts.CheckFacts:
    """Everything known about one assembly at one machine for one program revision."""
    build = assembly.current_build or assembly.builds.order_by("-revision").first()
    stack = stack_of(build, machine=machine) if build else Stack()
    reading = reading_of(revision, machine) if revision else None
    uses = list(reading.tool_uses.all()) if reading else []
    return facts.CheckFacts(
        today=timezone.localdate(),
        label=label,
        assembly=_assembly(assembly, build, stack),
        machine=_machine(machine),
        program=_program(revision, machine, reading, uses),
        tool_number=tool_number,
        calls={use.tool_number: _call(use) for use in uses},
        requirements=_requirements(revision, machine),
        control=control_facts(assembly, machine, tool_number),
    )


def _assembly(assembly: Assembly, build: Build | None, stack: Stack) -> facts.AssemblyFacts:
    holder, cutter, figures = stack.holder, stack.cutter, stack.figures
    limit, mass = speed_limit(stack), known_mass_g(stack)
    read = Measurement.objects.latest_by_quantity(build.pk) if build else {}
    return facts.AssemblyFacts(
        number=assembly.number,
        state=facts.State(assembly.state),
        state_reason=assembly.state_note or _waiting_for(assembly, stack),
        revision=_revision(assembly, build),
        rebuilt_on=_day_of(build),
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
        cautions=_cautions(build, stack),
        condition=_condition(stack),
    )


def _revision(assembly: Assembly, build: Build | None) -> int | None:
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


def _day_of(build: Build | None):
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


def _cautions(build: Build | None, stack: Stack) -> tuple[Finding, ...] | None:
    """What was doubtful at the bench and accepted with a reason, frozen with the build.

    Facts of an item may have been put right since the release, so the fit is worked out again:
    whatever it says today that nobody has accepted comes first.
    """
    if build is None:
        return None
    frozen = [Finding.from_dict(row) for row in build.release_findings or build.findings]
    accepted = {(f.code, f.level) for f in frozen}
    today = _fit_today(stack) if build.released_at else []
    later = [f for f in today if (f.code, f.level) not in accepted]
    return tuple(f for f in (*later, *frozen) if _is_caution(f))


def _fit_today(stack: Stack) -> list[Finding]:
    return stack_findings(replace(stack, machine=None), ShopLimits(), Stage.RELEASE, tables())


def _is_caution(finding: Finding) -> bool:
    return (
        finding.level.weight >= Level.CHECK.weight
        and finding.code.split(".")[0] not in _RECOMPUTED
        and finding.code not in _RECOMPUTED_CODES
    )


def _condition(stack: Stack) -> tuple[Finding, ...]:
    limits = ShopLimits()
    found = list(condition_findings(stack))
    if stack.collet is not None:
        found += collet_hours_findings(stack.collet, limits)
    if stack.cutter is not None:
        found += insert_findings(stack.cutter)
        if stack.figures.runout_um is not None:
            router = bool(stack.machine and stack.machine.is_router)
            found.append(runout_finding(stack.figures, stack.cutter, router, limits))
    return tuple(found)


def _machine(machine: Machine | None) -> facts.MachineFacts | None:
    if machine is None:
        return None
    turns = {facts.Turn.CW: machine.turns_cw, facts.Turn.CCW: machine.turns_ccw}
    by_hand = machine.tool_change == ToolChange.HAND
    return facts.MachineFacts(
        mark=machine.mark,
        name=machine.name,
        interface=machine.interface,
        stud_rule=facts.StudRule.NEEDED if machine.uses_stud else facts.StudRule.NOT_USED,
        stud_pattern=machine.stud_pattern or None,
        change=facts.Change.BY_HAND if by_hand else facts.Change.CHANGER,
        max_length_um=machine.length_max_um,
        max_diameter_um=machine.diameter_max_um,
        max_mass_g=machine.mass_max_g,
        speed_min_rpm=machine.speed_min_rpm,
        speed_max_rpm=machine.speed_max_rpm,
        override_ceiling_percent=machine.override_ceiling_percent,
        turns=frozenset(turn for turn, able in turns.items() if able),
        touch_off_every_load=machine.touches_off_every_load,
    )


def _program(
    revision: ProgramRevision | None,
    machine: Machine | None,
    reading: Reading | None,
    uses: list[ToolUse],
) -> facts.ProgramFacts | None:
    if revision is None:
        return None
    approval, approved = _approval(revision, machine)
    return facts.ProgramFacts(
        name=revision.program.name,
        revision=revision.label,
        approval=approval,
        approved_revision=approved.revision.label if approved else None,
        approved_on=timezone.localtime(approved.at).date() if approved else None,
        reading_complete=is_current(reading) and reading.complete,
        tool_numbers=tuple(use.tool_number for use in uses) if reading else None,
    )


def _approval(
    revision: ProgramRevision, machine: Machine | None
) -> tuple[facts.Approval | None, ProgramApproval | None]:
    """How this revision stands on this machine, and the approval that stands there.

    The file itself is left in the database: it may have megabytes, and nothing here reads it.
    """
    if machine is None:
        return None, None
    rows = list(
        ProgramApproval.objects.filter(revision__program_id=revision.program_id, machine=machine)
        .select_related("revision")
        .defer("revision__content")
        .order_by("at", "id")
    )
    last = {row.revision_id: row for row in rows}
    approved = last.get(standing_revision(rows))
    if approved is not None and approved.revision_id == revision.pk:
        return facts.Approval.APPROVED, approved
    if revision.pk in last and last[revision.pk].state == ApprovalState.WITHDRAWN:
        return facts.Approval.WITHDRAWN, approved
    return facts.Approval.NONE, approved


def _call(use: ToolUse) -> facts.ToolCallFacts:
    turns = {facts.Turn.CW: use.turns_cw, facts.Turn.CCW: use.turns_ccw}
    return facts.ToolCallFacts(
        speed_max_rpm=use.spindle_speed_max_rpm,
        speed_min_rpm=use.spindle_speed_min_rpm,
        notes=tuple(_note(data) for data in use.details.get("notes", ())),
        speed_exact=use.speed_exact,
        speed_carried=use.speed_carried,
        turns=frozenset(turn for turn, seen in turns.items() if seen),
        turns_exact=use.rotation_exact,
    )


#: Letters of a finding's first line that a phone shows.
_LINE = 70


def _note(data: dict) -> Finding:
    """What the reader noted about a tool number, with the line to look at."""
    text = f"Line {data['line']}: {data['text']}"
    return Finding(
        f"program.{data['code'].replace('-', '_')}",
        Level(data["severity"]),
        text if len(text) <= _LINE else f"{text[: _LINE - 1]}…",
        remedy="Programmer: look at that line of the program.",
    )


def _requirements(
    revision: ProgramRevision | None, machine: Machine | None
) -> dict[int, facts.RequirementFacts]:
    if revision is None:
        return {}
    rows = revision.requirements.select_related("preferred__contents__parent").prefetch_related(
        "alternatives"
    )
    return {row.tool_number: _requirement(row) for row in rows}


def _requirement(row: ToolRequirement) -> facts.RequirementFacts:
    return facts.RequirementFacts(
        confirmed=row.is_confirmed,
        kind=row.kind or None,
        diameter_um=row.diameter_um,
        diameter_tolerance_um=row.diameter_tolerance_um,
        controller_diameter=row.controller_diameter,
        corner_radius_um=row.corner_radius_um,
        corner_tolerance_um=row.corner_tolerance_um,
        hand=facts.Hand(row.hand) if row.hand else None,
        flute_min_um=row.flute_min_um,
        stickout_min_um=row.stickout_min_um,
        stickout_max_um=row.stickout_max_um,
        length_rule=facts.LengthRule(row.length_rule),
        gauge_length_um=row.gauge_length_um,
        gauge_tolerance_um=row.gauge_tolerance_um,
        preferred_assembly=row.preferred.number if row.preferred else None,
        allowed_alternatives=frozenset(other.number for other in row.alternatives.all()),
        text=row.text,
        fetch=_fetch(row.preferred),
    )


def _fetch(preferred: Assembly | None) -> str:
    """Where the listed assembly stands; one that is not released is no right one to fetch."""
    if preferred is None or preferred.state != AssemblyState.RELEASED:
        return ""
    where = preferred.stands_at.shown if preferred.stands_at else "place not recorded"
    return f"{preferred.number}, {where}"


def control_facts(
    assembly: Assembly,
    machine: Machine | None,
    tool_number: int | None,
) -> facts.ControlFacts:
    """What was entered for this T here last, and where the assembly was last."""
    if machine is None:
        return facts.ControlFacts()
    there = facts.ControlFacts(seen_elsewhere=_seen_elsewhere(assembly, machine))
    return with_entered_values(there, machine, tool_number)


def with_entered_values(
    control: facts.ControlFacts, machine: Machine | None, tool_number: int | None
) -> facts.ControlFacts:
    """`control` with what was entered for this T here last.

    Whichever program asked for it: a control keeps one length and one diameter for each T.
    """
    if machine is None or tool_number is None:
        return control
    entered = (
        SpindleCheck.objects.filter(
            machine=machine, tool_number=tool_number, decision=Decision.LOADED
        )
        .only("gauge_length_um", "diameter_um")
        .first()
    )
    return replace(
        control,
        confirmed_length_um=entered.gauge_length_um if entered else None,
        confirmed_diameter_um=entered.diameter_um if entered else None,
    )


def _seen_elsewhere(assembly: Assembly, machine: Machine) -> str:
    last = (
        SpindleCheck.objects.filter(assembly=assembly, decision=Decision.LOADED)
        .select_related("machine")
        .first()
    )
    if last is None or last.machine is None or last.machine_id == machine.pk:
        return ""
    age = timezone.now() - last.at
    if age > SEEN_WITHIN:
        return ""
    minutes = int(age.total_seconds() // 60)
    ago = f"{minutes} min ago" if minutes < 60 else f"{minutes // 60} h ago"
    return f"{last.machine.name}, {ago}"
