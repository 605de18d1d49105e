"""Programs of the example shop: handed in, tool by tool confirmed, approved for a machine."""

from __future__ import annotations

from uuid import uuid4

from assemblies.actions.approvals import set_approval
from assemblies.actions.programs import add_revision
from assemblies.actions.requirements import RequirementFigures, confirm_requirement
from assemblies.models import ApprovalState, Assembly, LengthRule, Machine, ProgramRevision
from config.example.data import in_columns, program_text, shop
from config.example.people import Crew


def add_programs(crew: Crew) -> None:
    """Every revision in the order of the file; the one approved last on a machine stands."""
    for row in shop()["programs"]:
        revision = _add(crew, row)
        for number, wanted in row["tools"].items():
            _confirm(crew, revision, int(number), wanted)
        set_approval(
            by=crew["oswin"],
            submission=uuid4(),
            revision=revision,
            machine=Machine.objects.get(mark=row["machine"]),
            state=ApprovalState.APPROVED,
            reason=row.get("approved_because", ""),
        )


def _add(crew: Crew, row: dict) -> ProgramRevision:
    done = add_revision(
        by=crew["odell"],
        submission=uuid4(),
        name=row["name"],
        label=row["label"],
        title=row.get("title", ""),
        file_name=row["file"],
        data=program_text(row["file"]),
    )
    return ProgramRevision.objects.select_related("program").get(pk=done.result)


def _confirm(crew: Crew, revision: ProgramRevision, tool_number: int, wanted: dict) -> None:
    figures = in_columns({name: value for name, value in wanted.items() if name != "preferred"})
    rule = LengthRule.WINDOW if "gauge_length_um" in figures else LengthRule.NOT_STATED
    confirm_requirement(
        by=crew["odell"],
        submission=uuid4(),
        revision=revision,
        tool_number=tool_number,
        figures=RequirementFigures(**figures, hand="right", length_rule=rule),
        preferred=Assembly.objects.get(number=wanted["preferred"]),
    )
