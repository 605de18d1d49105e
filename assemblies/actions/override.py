"""A soft stop that toolroom or lead answers for, with a PIN, for one load."""

from __future__ import annotations

from uuid import UUID

from assemblies.rules.verdict.judge import Verdict, Word, may_override
from crib.actions.pin import check_pin, people_with_pin
from crib.models import Act, Person
from crib.rules.refusal import Refused

#: Who may be asked to answer for a stop.
OVERRIDING_ROLES = ("toolroom", "lead")


def people_who_may_override():
    """Who may answer for a soft stop, and has a PIN to do it with."""
    return people_with_pin(OVERRIDING_ROLES)


def check_overrider(submission: UUID, overrider: Person | None, pin: str) -> None:
    """Ask for the PIN before the decision is written, and outside of its transaction.

    A wrong try has to count although nothing else is written. A form that was carried out
    already has had its PIN.
    """
    if overrider is None or Act.objects.filter(pk=submission).exists():
        return
    _still_allowed(overrider)
    check_pin(overrider, pin)


def answering_for(verdict: Verdict, overrider: Person | None) -> Person | None:
    """Who answers for this stop; None when there is no stop. Raises Refused when nobody may."""
    if verdict.word != Word.STOP:
        return None
    if verdict.hard_stop or not verdict.overridable or overrider is None:
        raise _not_to_be_loaded(verdict)
    held = _still_allowed(overrider)
    if not may_override(verdict, held.roles):
        raise _not_to_be_loaded(verdict)
    return held


def _still_allowed(overrider: Person) -> Person:
    """The person's row as it is now: role, and the very PIN that was asked for."""
    held = people_who_may_override().filter(pk=overrider.pk, pin=overrider.pin).first()
    if held is None:
        raise Refused(
            "override.person",
            f"{overrider} may not answer for a stop.",
            "Toolroom or lead may, with a PIN of their own.",
            field="overrider",
        )
    return held


def _not_to_be_loaded(verdict: Verdict) -> Refused:
    soft = verdict.overridable and not verdict.hard_stop
    remedy = "Toolroom or lead may override it." if soft else "It is not to be loaded. Refuse it."
    text = f"STOP: {verdict.reasons[0].text}"
    return Refused("check.not_acceptable", text, remedy, findings=verdict.reasons)
