"""What a new revision's tool numbers start with: carried on, asked again, or proposed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime

from django.utils import timezone
from django.utils.dateformat import format as format_date

from assemblies.actions.carried import Changes, in_one_line, ways_that_count
from assemblies.actions.requirements import TEXT_LIMIT, RequirementFigures
from assemblies.actions.stack_facts import stack_of
from assemblies.models import (
    Assembly,
    AssemblyState,
    Decision,
    Machine,
    ProgramRevision,
    SpindleCheck,
    ToolRequirement,
    ToolUse,
)
from assemblies.models.programs import LengthRule
from assemblies.rules.nc.reading import ProgramReading, ProposedRequirement
from assemblies.rules.stack import Stack

#: Tolerance proposed with a diameter found in a comment or on an assembly [um].
#: Source: shop setting.
PROPOSED_TOLERANCE_UM = 50
#: Window proposed round the gauge length of the assembly used last [um]. Source: shop setting.
PROPOSED_WINDOW_UM = 1_000
#: Loads that say nothing about what the tool number ought to be.
_NO_EXAMPLE = ("record_wrong",)


@dataclass(frozen=True)
class Proposal:
    """Figures for a person to confirm, and in words where they come from."""

    figures: RequirementFigures
    words: str
    preferred: Assembly | None = None


def propose(revision: ProgramRevision, made: dict[str, ProgramReading] | None = None) -> None:
    """A requirement for each tool number that the readings call and that has none.

    What a person confirmed for the revision before, and what the program still does in the same
    way, stays confirmed; what changed is asked again. Everything else is only proposed.
    """
    there = set(revision.requirements.values_list("tool_number", flat=True))
    texts = _texts_of(revision)
    before = _revision_before(revision)
    stated = _stated_by(before)
    changes = Changes.between(before, revision, ways_that_count()) if stated else None
    comments = _from_comments((made or {}).values())
    for tool_number in sorted(texts.keys() - there - {0}):
        text = texts[tool_number] or comments.get(tool_number, _NOTHING).text
        row = ToolRequirement(revision=revision, tool_number=tool_number, text=text[:TEXT_LIMIT])
        if tool_number in stated:
            _take_over(row, stated[tool_number], before, changes.of(tool_number))
        else:
            _write(row, _first_proposal(revision, tool_number, comments.get(tool_number)))


def _texts_of(revision: ProgramRevision) -> dict[int, str]:
    """The program's words about each tool number that one of its readings calls."""
    texts: dict[int, str] = {}
    uses = ToolUse.objects.filter(reading__revision=revision).order_by("reading_id")
    for number, text in uses.values_list("tool_number", "description"):
        texts[number] = texts.get(number) or text
    return texts


# ---- from the revision before
def _revision_before(revision: ProgramRevision) -> ProgramRevision | None:
    others = revision.program.revisions.exclude(pk=revision.pk).defer("content")
    return others.filter(added_at__lte=revision.added_at).order_by("-added_at", "-id").first()


def _stated_by(before: ProgramRevision | None) -> dict[int, ToolRequirement]:
    """What the revision before stated, by tool number; rows that state nothing left out."""
    if before is None:
        return {}
    rows = before.requirements.exclude(kind="", diameter_um=None)
    rows = rows.select_related("preferred", "carried_from").prefetch_related("alternatives")
    return {row.tool_number: row for row in rows}


def _take_over(
    row: ToolRequirement, old: ToolRequirement, before: ProgramRevision, reasons: list[str]
) -> None:
    """Copy what was stated; its confirmation goes along only where there is no reason against."""
    RequirementFigures.of(old).write_to(row)
    row.preferred = old.preferred
    row.proposed_from = f"revision {before.label}"
    if old.asked_again_because:
        # Still open: nobody answered it for the revision before either.
        row.proposed_from = old.proposed_from
        reasons = list(dict.fromkeys([old.asked_again_because, *reasons]))
    if reasons and (old.is_confirmed or old.asked_again_because):
        row.asked_again_because = in_one_line(reasons)
    elif old.is_confirmed:
        row.confirmed_by_id, row.confirmed_at = old.confirmed_by_id, old.confirmed_at
        row.carried_from = old.carried_from or old
    row.save()
    row.alternatives.set(old.alternatives.all())


# ---- from comments and from what was loaded
_NOTHING = ProposedRequirement(0, "", 0)


def _from_comments(readings: Iterable[ProgramReading]) -> dict[int, ProposedRequirement]:
    """What comments say of each tool number; ways that differ leave the figure open."""
    found: dict[int, ProposedRequirement] = {}
    for reading in readings:
        for one in reading.proposed_requirements:
            found[one.tool_number] = _agreed(found.get(one.tool_number, one), one)
    return found


def _agreed(first: ProposedRequirement, other: ProposedRequirement) -> ProposedRequirement:
    names = ("diameter_um", "corner_radius_um", "kind")
    differ = [name for name in names if getattr(first, name) != getattr(other, name)]
    return replace(first, **dict.fromkeys(differ))


def _first_proposal(
    revision: ProgramRevision, tool_number: int, comment: ProposedRequirement | None
) -> Proposal | None:
    """From the program's own words, completed by the assembly used last where the two agree."""
    used = last_loaded(revision, tool_number)
    if comment is None or not (comment.kind or comment.diameter_um):
        return used
    figures = RequirementFigures(
        kind=comment.kind or "",
        diameter_um=comment.diameter_um,
        diameter_tolerance_um=PROPOSED_TOLERANCE_UM if comment.diameter_um else None,
        corner_radius_um=comment.corner_radius_um,
    )
    if used is None or not _agree(figures, used.figures):
        return Proposal(figures, "a comment of the program")
    full = replace(used.figures, corner_radius_um=comment.corner_radius_um)
    return Proposal(full, used.words, used.preferred)


def _agree(said: RequirementFigures, used: RequirementFigures) -> bool:
    """Whether nothing a comment says speaks against the assembly."""
    near_um = abs((said.diameter_um or used.diameter_um) - used.diameter_um)
    return said.kind in ("", used.kind) and near_um <= PROPOSED_TOLERANCE_UM


def _write(row: ToolRequirement, proposal: Proposal | None) -> None:
    if proposal is not None:
        proposal.figures.write_to(row)
        row.preferred, row.proposed_from = proposal.preferred, proposal.words
    row.save()


def last_loaded(revision: ProgramRevision, tool_number: int) -> Proposal | None:
    """What the assembly loaded last under this tool number of this program would ask for.

    None where nothing was loaded, where it was loaded against a stop, or where the program said
    something else about the tool then.
    """
    check = _last_check(revision, tool_number)
    if check is None or _words_then(check) != _texts_of(revision).get(tool_number, ""):
        return None
    stack = stack_of(check.build)
    if stack.cutter is None or not stack.cutter.kind:
        return None
    retired = check.assembly.state == AssemblyState.RETIRED
    words = f"assembly {check.build}, loaded {_day(check.at)}"
    preferred = None if retired else check.assembly
    return Proposal(_figures_of_stack(stack, check.machine), words, preferred)


def _last_check(revision: ProgramRevision, tool_number: int) -> SpindleCheck | None:
    loaded = SpindleCheck.objects.filter(
        revision__program_id=revision.program_id,
        tool_number=tool_number,
        decision=Decision.LOADED,
        build__isnull=False,
    )
    loaded = loaded.exclude(verdict="stop").exclude(reason__in=_NO_EXAMPLE)
    return loaded.select_related("build__assembly", "assembly", "machine").first()


def _words_then(check: SpindleCheck) -> str:
    uses = ToolUse.objects.filter(
        reading__revision_id=check.revision_id, tool_number=check.tool_number
    )
    return next((text for text in uses.values_list("description", flat=True) if text), "")


def _day(at: datetime) -> str:
    return format_date(timezone.localtime(at), "j F")


def _figures_of_stack(stack: Stack, machine: Machine | None) -> RequirementFigures:
    """The nominal diameter while the measured one is near it; a window round the gauge length."""
    cutter, measured = stack.cutter, stack.figures
    diameter_um = cutter.diameter_um
    if measured.diameter_um is not None and diameter_um is not None:
        near = abs(measured.diameter_um - diameter_um) <= PROPOSED_TOLERANCE_UM
        diameter_um = diameter_um if near else measured.diameter_um
    figures = RequirementFigures(
        kind=cutter.kind,
        diameter_um=diameter_um,
        diameter_tolerance_um=None if diameter_um is None else PROPOSED_TOLERANCE_UM,
        hand=cutter.hand or "",
    )
    if measured.gauge_length_um is not None:
        return replace(
            figures,
            length_rule=LengthRule.WINDOW,
            gauge_length_um=measured.gauge_length_um,
            gauge_tolerance_um=PROPOSED_WINDOW_UM,
        )
    touched = machine is not None and machine.touches_off_every_load
    return replace(figures, length_rule=LengthRule.TOUCH_OFF) if touched else figures
