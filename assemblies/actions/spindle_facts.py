"""From rows to the plain facts that `judge` looks at. Reads only, in a fixed number of queries."""

from __future__ import annotations

from dataclasses import replace

from django.utils import timezone

from assemblies.actions import stack_facts
from assemblies.actions.assembly_facts import (
    accepted_at_the_bench,
    assembly_facts,
    with_runout_of_the_cutter,
)
from assemblies.actions.load_facts import cautions_seen, refused_since, told_by_loads
from assemblies.actions.past_uses import (
    Since,
    found_since,
    mass_that_counts,
    spread_since,
    uses_of,
)
from assemblies.actions.program_facts import call_facts, program_facts, requirement_facts
from assemblies.actions.readings import reading_of
from assemblies.actions.setup_sheet_rows import BuildRows
from assemblies.actions.shop_limits import spindle_limits
from assemblies.models import (
    Assembly,
    Build,
    Decision,
    Machine,
    Measurement,
    ProgramRevision,
    SpindleCheck,
    ToolChange,
    Weighing,
)
from assemblies.rules.stack import Stack
from assemblies.rules.verdict import facts


def gather_facts(
    *,
    assembly: Assembly,
    label: facts.LabelFacts,
    machine: Machine | None,
    revision: ProgramRevision | None,
    tool_number: int | None = None,
    pocket: int | None = None,
) -> facts.CheckFacts:
    """Everything known about one assembly at one machine for one program revision.

    Program, machine, requirements and calls do not depend on the assembly. `pocket` is where it
    is to go: None is the spindle, or on a machine where T names the pocket that one.
    """
    build = assembly.current_build or assembly.builds.order_by("-revision").first()
    rows, limits = _rows(build), spindle_limits()
    weighed = build.weighings.first() if build else None
    stack = _stack(build, rows, machine, weighed) if build else Stack()
    since = _since(build, rows, mass_that_counts(machine, weighed))
    # Before the approval: whoever states something anew withdraws it in the same moment.
    requirements = requirement_facts(revision, machine)
    reading = reading_of(revision, machine) if revision else None
    uses = list(reading.tool_uses.all()) if reading else []
    return facts.CheckFacts(
        today=timezone.localdate(),
        label=label,
        assembly=assembly_facts(assembly, build, rows, stack, limits.bench, since),
        machine=_machine(machine),
        program=program_facts(revision, machine, reading, uses),
        tool_number=tool_number,
        calls={use.tool_number: call_facts(use) for use in uses},
        requirements=requirements,
        control=control_facts(assembly, build, machine, tool_number, pocket),
        limits=limits,
    )


def _rows(build: Build | None) -> BuildRows:
    if build is None:
        return BuildRows({}, {})
    readings = Measurement.objects.latest_by_quantity(build.pk)
    rows = BuildRows(stack_facts.parts_of(build), readings)
    return with_runout_of_the_cutter({build.pk: rows})[build.pk]


def _since(build: Build | None, rows: BuildRows, weighed: Weighing | None) -> Since:
    """What came out after the release about its readings and the instruments used."""
    if build is None:
        return Since()
    found = found_since({build.pk: uses_of(build, rows.readings, weighed)})[build.pk]
    return replace(found, findings=(*found.findings, *spread_since(build, rows.readings)))


def _stack(
    build: Build, rows: BuildRows, machine: Machine | None, weighed: Weighing | None
) -> Stack:
    stack = stack_facts.put_together(
        build,
        rows.parts,
        collet=stack_facts.collet_part(rows.parts.get("collet")),
        readings=rows.readings,
        weighed=weighed,
    )
    return replace(stack, machine=stack_facts.machine_facts(machine) if machine else None)


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
        pockets=machine.pockets or None,
        number_names=facts.NumberNames(machine.number_names),
        zero_at=facts.ZeroAt(machine.zero_at),
        max_length_um=machine.length_max_um,
        max_diameter_um=machine.diameter_max_um,
        max_mass_g=machine.mass_max_g,
        max_diameter_beside_um=machine.diameter_beside_max_um,
        pockets_in_a_ring=machine.tool_change != ToolChange.LINEAR,
        max_moment_mnm=machine.moment_max_mnm,
        moment_plane_um=machine.moment_plane_um,
        speed_min_rpm=machine.speed_min_rpm,
        speed_max_rpm=machine.speed_max_rpm,
        override_ceiling_percent=machine.override_ceiling_percent,
        turns=frozenset(turn for turn, able in turns.items() if able),
        touch_off_every_load=machine.touches_off_every_load,
    )


def control_facts(
    assembly: Assembly,
    build: Build | None,
    machine: Machine | None,
    tool_number: int | None,
    pocket: int | None = None,
) -> facts.ControlFacts:
    """What was said at this machine: what is in it, what was accepted, what was entered."""
    if machine is None:
        return facts.ControlFacts()
    seen, seen_at = cautions_seen(build, machine, accepted_at_the_bench(build))
    refused = refused_since([build]).get(build.pk, {}) if build else {}
    told = facts.ControlFacts(
        pocket=pocket,
        cautions_seen=seen,
        cautions_seen_at=seen_at,
        **told_by_loads(assembly, build, machine),
        **refused,
    )
    return with_entered_values(told, machine, tool_number)


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
        loaded_before=entered is not None,
        confirmed_length_um=entered.gauge_length_um if entered else None,
        confirmed_diameter_um=entered.diameter_um if entered else None,
    )
