"""Machines: adding one and changing its recorded limits."""

from __future__ import annotations

from uuid import UUID

from django.core.exceptions import ValidationError

from assemblies.models import Machine
from crib.actions.once import Done, do_once
from crib.models import Person
from crib.reference import tapers
from crib.rules.keys import key_of
from crib.rules.refusal import Refused


def save_machine(*, by: Person, submission: UUID, machine: Machine) -> Done:
    """Add or change a machine. Its interface has to be one of the table of spindle tapers."""

    def work(act):
        _check_interface(machine)
        _check_mark(machine.mark)
        if not machine.uses_stud:
            machine.stud_pattern = ""
        machine.mark_key = key_of(machine.mark)
        try:
            machine.full_clean()
        except ValidationError as error:
            field, messages = next(iter(error.message_dict.items()))
            raise Refused(
                "machine.not_valid", " ".join(messages), field="" if field == "__all__" else field
            ) from error
        machine.save()
        act.about = f"machine {machine.mark}"
        return machine.mark

    return do_once(
        submission=submission, kind="machine.save", by=by, needs="machine.edit", work=work
    )


def _check_mark(mark: str) -> None:
    """A mark is part of an address: one that makes none would take the list of machines along."""
    no_step = {".", ".."} | ({""} if "/" in mark else set())
    steps_away = any(part.strip() in no_step for part in mark.split("/"))
    if not mark.isprintable() or steps_away:
        raise Refused(
            "machine.mark_signs",
            f"“{mark}” cannot be a mark.",
            "Use letters and digits; no line break, and no dot or stroke alone.",
            field="mark",
        )


def _check_interface(machine: Machine) -> None:
    if machine.interface not in {row.code for row in tapers()}:
        raise Refused(
            "machine.interface",
            f"“{machine.interface}” is not in the table of spindle tapers.",
            "Pick one of the table, by the standard named on the machine.",
            field="interface",
        )
