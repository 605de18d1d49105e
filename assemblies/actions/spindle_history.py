"""What was loaded at a spindle before: a hint to the operator, never a comparison. Reads only."""

from __future__ import annotations

from django.db.models import QuerySet

from assemblies.models import Build, Decision, Machine, ProgramRevision, SpindleCheck


def loads_of(
    machine: Machine, revision: ProgramRevision, tool_number: int
) -> QuerySet[SpindleCheck]:
    """Loads under this T of this program on this machine, the last one first."""
    return (
        SpindleCheck.objects.filter(
            machine=machine,
            revision__program_id=revision.program_id,
            tool_number=tool_number,
            decision=Decision.LOADED,
        )
        .select_related("assembly", "build")
        .defer("findings")
    )


def is_same_as_last(
    build: Build | None,
    machine: Machine,
    revision: ProgramRevision | None,
    tool_number: int | None,
) -> bool:
    """The very build, not only the assembly: a rebuilt one is no longer the same."""
    if build is None or revision is None or tool_number is None:
        return False
    last = loads_of(machine, revision, tool_number).first()
    return last is not None and last.build_id == build.pk


def is_first_load_of_program(machine: Machine, revision: ProgramRevision) -> bool:
    """Nothing was loaded here since another program, or another revision of it, ran."""
    last = machine.checks.filter(decision=Decision.LOADED).only("revision_id").first()
    return last is None or last.revision_id != revision.pk
