"""The PIN of a person: set with the own password, asked for where somebody answers for a stop."""

from __future__ import annotations

from collections.abc import Iterable
from uuid import UUID

from django.conf import settings
from django.contrib.auth.hashers import check_password, make_password
from django.db.models import Q, QuerySet
from django.utils import timezone

from crib.actions.once import Done, do_once, require
from crib.actions.tries import Tries
from crib.models import Act, Person
from crib.rules.pin import pin_fault
from crib.rules.refusal import Refused


def set_pin(*, by: Person, submission: UUID, password: str, pin: str) -> Done:
    """Give oneself a PIN. The password vouches that it is no passer-by at an open screen."""
    require(by, "view")
    if not Act.objects.filter(pk=submission).exists():
        _check_own_password(by, password)
        _refuse_weak(pin)

    def work(act):
        held = Person.objects.select_for_update(no_key=True).get(pk=by.pk)
        held.pin, held.pin_set_at = make_password(pin), timezone.now()
        held.save(update_fields=["pin", "pin_set_at"])
        act.about = f"person {held.username}"
        return held.pk

    return do_once(submission=submission, kind="pin.set", by=by, needs="view", work=work)


def _check_own_password(by: Person, password: str) -> None:
    tries = Tries("pin-password", by)
    left = tries.take()
    if not by.check_password(password):
        text = f"That is not your password. {tries.was_wrong(left)}"
        raise Refused("pin.password", text, field="password")
    tries.was_right()


def _refuse_weak(pin: str) -> None:
    fault = pin_fault(pin)
    if fault:
        raise Refused("pin.weak", fault, "Choose other figures.", field="pin")


def check_pin(person: Person, pin: str) -> None:
    """Raise Refused unless `pin` is that of `person`. Call it outside of a transaction.

    The answer never tells which figure was wrong, nor how many are asked for.
    """
    if not person.pin:
        raise Refused("pin.none", f"{person} has set no PIN.", 'Set one under "My PIN".')
    tries = Tries("pin", person)
    left = tries.take()
    if not check_password(pin, person.pin):
        text = f"That is not the PIN of {person}."
        raise Refused("pin.wrong", text, tries.was_wrong(left), field="pin")
    tries.was_right()


def people_with_pin(roles: Iterable[str]) -> QuerySet[Person]:
    """Who may sign in, holds one of `roles` and has set a PIN."""
    holds = Q()
    for role in roles:
        holds |= Q(**{f"is_{role}": True})
    people = Person.objects.filter(holds, is_active=True).exclude(pin="")
    # The example shop's people are shut out with the demo.
    return people if settings.DEMO else people.filter(is_demo=False)
