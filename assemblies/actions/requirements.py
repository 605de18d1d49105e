"""What a person says of a program: what each tool number must be, and where the work begins."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass, fields
from datetime import datetime
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db.models import Q
from django.utils import timezone

from assemblies.actions.approvals import withdraw_everywhere
from assemblies.actions.carried import ask_again
from assemblies.actions.readings import held
from assemblies.models import ProgramRevision, ToolRequirement
from crib.actions.once import Done, do_once
from crib.models import Act, Person
from crib.rules.refusal import Refused
from crib.rules.units import LONGEST_UM, show_mm

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

    An approval covers what was stated when it was given: other figures withdraw it everywhere,
    and later revisions that carried the old ones on are asked again.
    """

    def work(act):
        ours = held(revision)
        row = ours.requirements.filter(tool_number=tool_number).first()
        row = row or ToolRequirement(revision=ours, tool_number=tool_number)
        before = _plain(RequirementFigures.of(row)) if row.is_confirmed else None
        answered_at = row.confirmed_at
        figures.write_to(row)
        row.preferred = preferred
        row.confirmed_by, row.confirmed_at = by, timezone.now()
        row.carried_from, row.asked_again_because = None, ""
        _check_figures(row)
        row.save()
        row.alternatives.set(alternatives)
        act.about = f"program {ours.program.name}"
        act.details = {
            "revision": ours.label,
            "T": tool_number,
            "before": before,
            "now": _plain(figures),
        }
        if before != _plain(figures):
            withdraw_everywhere(act, ours, f"T{tool_number} was stated anew")
            if answered_at is not None:
                act.details["asked_again"] = _ask_later_ones_again(act, row, answered_at)
        return row.pk

    return do_once(
        submission=submission, kind="program.confirm", by=by, needs="program.confirm", work=work
    )


def _ask_later_ones_again(act: Act, row: ToolRequirement, answered_at: datetime) -> list[str]:
    """Ask again what later revisions carried on from the answer that `row` no longer gives.

    Whoever puts an answer right for one revision says that it was wrong, and it was carried on
    because it was taken to be right. Returns the marks of those revisions.
    """
    carried = ToolRequirement.objects.filter(
        Q(carried_from=row) | Q(confirmed_at=answered_at),
        revision__program=row.revision.program_id,
        revision__added_at__gte=row.revision.added_at,
        tool_number=row.tool_number,
        carried_from__isnull=False,
    ).exclude(pk=row.pk)
    marks = []
    for pk in carried.order_by("revision_id").values_list("revision_id", flat=True):
        later = held(ProgramRevision(pk=pk))
        reason = f"T{row.tool_number} was stated anew for revision {row.revision.label}"
        ask_again(later, row.tool_number, reason)
        withdraw_everywhere(act, later, reason)
        marks.append(later.label)
    return marks


def set_top_of_stock(
    *, by: Person, submission: UUID, revision: ProgramRevision, top_of_stock_um: int | None
) -> Done:
    """Say at which Z of the program the work begins [um]; None: nobody says.

    Depths are counted from there, so another figure withdraws the approvals like any other.
    """

    def work(act):
        ours = held(revision)
        if top_of_stock_um is not None and abs(top_of_stock_um) > LONGEST_UM:
            raise Refused(
                "program.top_of_stock",
                "The top of the work is more than 10 m away from zero.",
                "Look at the decimal point.",
                field="top_of_stock_um",
            )
        before, ours.top_of_stock_um = ours.top_of_stock_um, top_of_stock_um
        ours.save(update_fields=["top_of_stock_um"])
        act.about = f"program {ours.program.name}"
        act.details = {"revision": ours.label, "before": before, "now": top_of_stock_um}
        if before != top_of_stock_um:
            withdraw_everywhere(act, ours, "the top of the work was stated anew")
        return ours.pk

    return do_once(
        submission=submission, kind="program.top", by=by, needs="program.confirm", work=work
    )


#: So many requests are looked through; older ones were answered or given up.
_LATEST_REQUESTS = 500


def asked_for(revision: ProgramRevision, stated: Iterable[ToolRequirement]) -> dict[int, int]:
    """How often the spindle asked to have a tool number stated, and nobody has done so since."""
    answered = {row.tool_number: row.confirmed_at for row in stated}
    requests = Act.objects.filter(kind="program.ask", about=f"program {revision.program.name}")
    counts: dict[int, int] = {}
    for details, at in requests.values_list("details", "at")[:_LATEST_REQUESTS]:
        number = details.get("T", details.get("tool_number"))
        if details.get("revision") != revision.label or not isinstance(number, int):
            continue
        if answered.get(number) is None or answered[number] < at:
            counts[number] = counts.get(number, 0) + 1
    return dict(sorted(counts.items()))


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
