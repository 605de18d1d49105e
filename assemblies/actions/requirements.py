"""What each tool number of a program must be: proposed by a reading, confirmed by a person."""

from __future__ import annotations

from dataclasses import asdict, dataclass, fields
from uuid import UUID

from django.core.exceptions import ValidationError
from django.utils import timezone

from assemblies.actions.approvals import withdraw_everywhere
from assemblies.models import Program, ProgramRevision, ToolRequirement
from assemblies.rules.nc.reading import ProgramReading, ProposedRequirement
from crib.actions.once import Done, do_once
from crib.models import Person
from crib.rules.refusal import Refused
from crib.rules.units import show_mm

#: Letters kept of the program's own words about a tool.
TEXT_LIMIT = 200


@dataclass(frozen=True, kw_only=True)
class RequirementFigures:
    """What one T number must be; an empty field is not stated. Lengths in [um]."""

    kind: str = ""
    diameter_um: int | None = None
    diameter_tolerance_um: int | None = None
    controller_diameter: bool = False
    corner_radius_um: int | None = None
    corner_tolerance_um: int | None = None
    hand: str = ""
    length_rule: str = "not_stated"
    gauge_length_um: int | None = None
    gauge_tolerance_um: int | None = None
    stickout_min_um: int | None = None
    stickout_max_um: int | None = None
    flute_min_um: int | None = None

    @classmethod
    def of(cls, row: ToolRequirement) -> RequirementFigures:
        return cls(**{field.name: getattr(row, field.name) for field in fields(cls)})

    def write_to(self, row: ToolRequirement) -> None:
        for field in fields(self):
            setattr(row, field.name, getattr(self, field.name))


#: Tolerance proposed with a diameter found in a comment [um]. Source: shop setting.
PROPOSED_TOLERANCE_UM = 50


def propose(program: Program, revision: ProgramRevision, readings: list[ProgramReading]) -> None:
    """A requirement for each tool number that has none: from the revision before, else comments.

    Nothing proposed counts until a person confirmed it for this very revision.
    """
    known = _stated_before(program, revision)
    from_text = {p.tool_number: p for reading in readings for p in reading.proposed_requirements}
    uses = {t: use for reading in readings for t, use in reading.tool_uses.items() if t}
    there = set(revision.requirements.values_list("tool_number", flat=True))
    for tool_number in sorted(uses.keys() - there):
        proposal = from_text.get(tool_number)
        text = uses[tool_number].description or (proposal.text if proposal else "")
        row = ToolRequirement(revision=revision, tool_number=tool_number, text=text[:TEXT_LIMIT])
        if tool_number in known:
            RequirementFigures.of(known[tool_number]).write_to(row)
        elif proposal is not None:
            _figures_from(proposal).write_to(row)
        row.save()


def _stated_before(program: Program, revision: ProgramRevision) -> dict[int, ToolRequirement]:
    """What the revision before stated, by tool number; rows that state nothing left out."""
    before = program.revisions.exclude(pk=revision.pk).order_by("-added_at", "-id").first()
    stated = before.requirements.exclude(kind="", diameter_um=None) if before else ()
    return {row.tool_number: row for row in stated}


def _figures_from(proposal: ProposedRequirement) -> RequirementFigures:
    return RequirementFigures(
        kind=proposal.kind or "",
        diameter_um=proposal.diameter_um,
        diameter_tolerance_um=PROPOSED_TOLERANCE_UM if proposal.diameter_um else None,
        corner_radius_um=proposal.corner_radius_um,
    )


def confirm_requirement(
    *,
    by: Person,
    submission: UUID,
    revision: ProgramRevision,
    tool_number: int,
    figures: RequirementFigures,
    preferred=None,
    alternatives=(),
) -> Done:
    """Say, and answer for, what one T number of one revision must be.

    An approval covers what was stated when it was given: other figures withdraw it everywhere.
    """

    def work(act):
        row = ToolRequirement.objects.filter(revision=revision, tool_number=tool_number).first()
        row = row or ToolRequirement(revision=revision, tool_number=tool_number)
        before = _plain(RequirementFigures.of(row)) if row.is_confirmed else None
        figures.write_to(row)
        row.preferred = preferred
        row.confirmed_by, row.confirmed_at = by, timezone.now()
        _check_figures(row)
        row.save()
        row.alternatives.set(alternatives)
        act.about = f"program {revision.program.name}"
        act.details = {
            "revision": revision.label,
            "T": tool_number,
            "before": before,
            "now": _plain(figures),
        }
        if before != _plain(figures):
            withdraw_everywhere(act, revision, f"T{tool_number} was stated anew")
        return row.pk

    return do_once(
        submission=submission, kind="program.confirm", by=by, needs="program.confirm", work=work
    )


def _plain(figures: RequirementFigures) -> dict:
    return {name: value for name, value in asdict(figures).items() if value not in (None, "")}


#: Wider windows are slips of the keyboard [um]. Source: common practice.
WIDEST_DIAMETER_TOLERANCE_UM = 2_000
WIDEST_LENGTH_TOLERANCE_UM = 20_000


def _check_tolerances(row: ToolRequirement) -> None:
    widest = {
        "diameter_tolerance_um": WIDEST_DIAMETER_TOLERANCE_UM,
        "corner_tolerance_um": WIDEST_DIAMETER_TOLERANCE_UM,
        "gauge_tolerance_um": WIDEST_LENGTH_TOLERANCE_UM,
    }
    for name, most_um in widest.items():
        value_um = getattr(row, name)
        if value_um is not None and value_um > most_um:
            raise Refused(
                "requirement.tolerance_wide",
                f"±{show_mm(value_um)} mm is wider than {show_mm(most_um)} mm.",
                "Look at the decimal point.",
                field=name,
            )


def _check_figures(row: ToolRequirement) -> None:
    _check_tolerances(row)
    if not row.kind or row.diameter_um is None:
        raise Refused(
            "requirement.kind_and_diameter",
            f"T{row.tool_number} needs kind and diameter before it can be confirmed.",
            "Without them nothing can be compared at the spindle.",
            field="diameter_um" if row.kind else "kind",
        )
    try:
        row.full_clean()
    except ValidationError as error:
        field, messages = next(iter(error.message_dict.items()))
        raise Refused(
            "requirement.not_valid", " ".join(messages), field="" if field == "__all__" else field
        ) from error
