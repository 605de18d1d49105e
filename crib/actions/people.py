"""People: who may sign in and what they may do."""

from __future__ import annotations

from uuid import UUID

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from crib.actions.once import Done, do_once
from crib.models import Person
from crib.rules.refusal import Refused


def save_person(*, by: Person, submission: UUID, person: Person, password: str = "") -> Done:
    """Add a person or change name, roles and password. The last admin cannot be taken away."""

    def work(act):
        _keep_an_admin(person)
        _set_password(person, password)
        try:
            person.full_clean()
        except ValidationError as error:
            raise Refused("person.not_valid", " ".join(error.messages)) from error
        person.save()
        act.about = f"person {person.username}"
        act.details = {"roles": sorted(person.roles), "active": person.is_active}
        return person.pk

    return do_once(
        submission=submission, kind="person.save", by=by, needs="people.manage", work=work
    )


def _keep_an_admin(person: Person) -> None:
    if person.is_admin and person.is_active:
        return
    admins = Person.objects.filter(is_admin=True, is_active=True)
    if not person.is_demo:
        # Those of the example shop are shut out with the demo.
        admins = admins.filter(is_demo=False)
    # Locked, so that two admins cannot take each other away at the same time.
    held = set(admins.select_for_update(no_key=True).order_by("pk").values_list("pk", flat=True))
    if held and not held - {person.pk}:
        raise Refused(
            "person.last_admin",
            f"{person.shown_name} is the last admin.",
            "Make somebody else admin first.",
            field="is_admin",
        )


def _set_password(person: Person, password: str) -> None:
    if not password:
        if person.pk is None:
            raise Refused("person.password", "A new person needs a password.", field="password")
        return
    try:
        validate_password(password, person)
    except ValidationError as error:
        raise Refused("person.password", " ".join(error.messages), field="password") from error
    person.set_password(password)
