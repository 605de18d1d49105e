"""Programs of the example shop: handed in, tool by tool confirmed, approved for a machine."""

from __future__ import annotations

from uuid import uuid4

from assemblies.actions.approvals import set_approval
from assemblies.actions.programs import add_revision
from assemblies.actions.requirements import (
    RequirementFigures,
    confirm_requirement,
    set_top_of_stock,
)
from assemblies.models import ApprovalState, Assembly, LengthRule, Machine, ProgramRevision
from config.example.data import in_columns, program_text, shop
from config.example.people import Crew
from crib.rules.units import um_from_mm


def add_programs(crew: Crew) -> None:
    """Every revision in the order of the file; the one approved last on a machine stands."""
    for row in shop()["programs"]:
        revision = _add(crew, row)
        for number, wanted in row["tools"].items():
            _confirm(crew, revision, int(number), wanted)
        _state_top(crew, revision, row)
        set_approval(
            by=crew["oswin"],
            submission=uuid4(),
            revision=revision,
            machine=Machine.objects.get(mark=row["machine"]),
            state=ApprovalState.APPROVED,
            reason=row.get("approved_because", ""),
        )


def _state_top(crew: Crew, revision: ProgramRevision, row: dict) -> None:
    """Where the work begins, for a program whose zero is at the table."""
    if "top_of_stock_mm" in row:
        top_um = um_from_mm(row["top_of_stock_mm"])
        set_top_of_stock(
            by=crew["odell"], submission=uuid4(), revision=revision, top_of_stock_um=top_um
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
