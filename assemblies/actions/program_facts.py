"""One program revision on one machine as the verdict sees it: rows to plain facts. Reads only."""

from __future__ import annotations

from django.utils import timezone

from assemblies.actions.approvals import standing_revision
from assemblies.actions.readings import is_current
from assemblies.models import (
    ApprovalState,
    Assembly,
    AssemblyState,
    Machine,
    ProgramApproval,
    ProgramRevision,
    Reading,
    ToolRequirement,
    ToolUse,
)
from assemblies.rules.verdict import facts
from crib.rules.finding import Finding, Level


def program_facts(
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
        top_of_stock_um=revision.top_of_stock_um,
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


def call_facts(use: ToolUse) -> facts.ToolCallFacts:
    turns = {facts.Turn.CW: use.turns_cw, facts.Turn.CCW: use.turns_ccw}
    return facts.ToolCallFacts(
        speed_max_rpm=use.spindle_speed_max_rpm,
        speed_min_rpm=use.spindle_speed_min_rpm,
        notes=tuple(_note(data) for data in use.details.get("notes", ())),
        speed_exact=use.speed_exact,
        speed_carried=use.speed_carried,
        turns=frozenset(turn for turn, seen in turns.items() if seen),
        turns_exact=use.rotation_exact,
        deepest_z_um=use.deepest_z_um,
        depth_exact=use.depth_exact,
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


def requirement_facts(
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
