"""Records that an operator called wrong: the toolroom looks, puts them right, and says so."""

from __future__ import annotations

from uuid import UUID

from django.db.models import QuerySet

from assemblies.models import CorrectionAnswer, Decision, SpindleCheck
from crib.actions.once import Done, do_once
from crib.models import Person
from crib.rules.refusal import Refused

#: The reason by which a load says that the record is wrong and the tool is right.
RECORD_WRONG = "record_wrong"


def open_corrections() -> QuerySet[SpindleCheck]:
    """Loads whose record was called wrong and that nobody has answered yet, oldest first."""
    return SpindleCheck.objects.filter(
        decision=Decision.LOADED, reason=RECORD_WRONG, correction=None
    ).order_by("at", "id")


def answer_correction(
    *, by: Person, submission: UUID, spindle_check: SpindleCheck, note: str
) -> Done:
    """Say what was found and done about a record that was called wrong."""

    def work(act):
        row = SpindleCheck.objects.select_for_update().get(pk=spindle_check.pk)
        if row.reason != RECORD_WRONG or row.decision != Decision.LOADED:
            raise Refused("correction.not_asked", "Nobody called this record wrong.")
        if CorrectionAnswer.objects.filter(spindle_check=row).exists():
            raise Refused(
                "correction.answered",
                "It was answered already.",
                "Look at the check for what was found.",
            )
        if not note.strip():
            raise Refused("correction.note", "Say what was found.", field="note")
        CorrectionAnswer.objects.create(spindle_check=row, note=note.strip()[:200], act=act, by=by)
        act.about = f"assembly {row.assembly}"
        return row.pk

    return do_once(
        submission=submission, kind="check.correct", by=by, needs="assembly.build", work=work
    )
