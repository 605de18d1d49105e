"""Somebody at a spindle asks the programmer to state what a T number must be."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from assemblies.models import ProgramRevision
from crib.actions.once import Done, do_once
from crib.models import Act, Person

KIND = "program.ask"


def ask_programmer(
    *, by: Person, submission: UUID, revision: ProgramRevision, tool_number: int
) -> Done:
    """Leave the question with the program. Asking again is another line of the log, no harm."""

    def work(act):
        act.about = _about(revision)
        act.details = {
            "tool_number": tool_number,
            "revision": revision.label,
            "revision_pk": revision.pk,
        }
        return tool_number

    return do_once(submission=submission, kind=KIND, by=by, needs="check.decide", work=work)


def asked_tools(revision: ProgramRevision) -> dict[int, datetime]:
    """T numbers of this revision that were asked for, and when last."""
    asked = Act.objects.filter(kind=KIND, about=_about(revision)).order_by("at")
    rows = [(act.details, act.at) for act in asked]
    return {said["tool_number"]: at for said, at in rows if said["revision_pk"] == revision.pk}


def _about(revision: ProgramRevision) -> str:
    return f"program {revision.program.name}"[: Act._meta.get_field("about").max_length]
