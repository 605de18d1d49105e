"""The people of the example shop. Their passwords are printed and open nothing but the demo."""

from __future__ import annotations

from uuid import uuid4

from config.example.data import shop
from crib.actions.first_admin import make_first_admin
from crib.actions.people import save_person
from crib.actions.pin import set_pin
from crib.models import Person
from crib.roles import ROLES

Crew = dict[str, Person]


def add_people() -> Crew:
    """Everybody by the name they sign in with; the admin lets the others in."""
    admin_row, *other_rows = sorted(shop()["people"], key=lambda row: "admin" not in row["roles"])
    admin = make_first_admin(username=admin_row["username"], password=admin_row["password"])
    _describe(admin, admin_row)
    save_person(by=admin, submission=uuid4(), person=admin)
    crew = {admin.username: admin}
    for row in other_rows:
        person = _describe(Person(username=row["username"]), row)
        save_person(by=admin, submission=uuid4(), person=person, password=row["password"])
        crew[person.username] = person
        if "pin" in row:
            set_pin(by=person, submission=uuid4(), password=row["password"], pin=row["pin"])
    return crew


def _describe(person: Person, row: dict) -> Person:
    person.first_name, person.initials = row["first_name"], row["initials"]
    person.is_demo = True
    for role in row["roles"]:
        setattr(person, f"is_{role}", True)
    return person


def sign_ins() -> list[tuple[str, str, str]]:
    """One account for each role: role in words, name, password. Prefers who holds that role alone.

    >>> [role for role, name, password in sign_ins()][:3]
    ['Operator', 'Toolroom', 'Programmer']
    """
    rows = sorted(shop()["people"], key=lambda row: len(row["roles"]))
    first = {role: next(row for row in rows if role in row["roles"]) for role in ROLES}
    return [(ROLES[role], row["username"], row["password"]) for role, row in first.items()]


def pins() -> list[tuple[str, str]]:
    """Who may answer for a stop in the demo, with the PIN.

    >>> ("oswin", "4816") in pins()
    True
    """
    return [(row["username"], row["pin"]) for row in shop()["people"] if "pin" in row]
