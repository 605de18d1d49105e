"""The person who lets all the others in."""

from __future__ import annotations

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from crib.models import Act, Person
from crib.rules.refusal import Refused


def make_first_admin(*, username: str, password: str) -> Person:
    """Add an admin to a shop that has none; later ones are added on the page of people."""
    with transaction.atomic():
        _refuse_second(username)
        person = Person(username=username, is_admin=True)
        try:
            validate_password(password, person)
            person.set_password(password)
            person.full_clean()
        except ValidationError as error:
            raise Refused("person.not_valid", " ".join(error.messages)) from error
        person.save()
        Act.objects.create(
            kind="person.first_admin", by=person, about=f"person {username}", result=str(person.pk)
        )
    return person


def _refuse_second(username: str) -> None:
    admin = Person.objects.filter(is_admin=True, is_active=True, is_demo=False).first()
    if admin is not None:
        raise Refused(
            "person.has_admin",
            f"{admin.username} is admin already.",
            f"Let {admin.username} add {username} on the page of people.",
        )
