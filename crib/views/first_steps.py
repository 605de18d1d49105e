"""The first steps of an empty shop, in the order in which each finds what it needs."""

from __future__ import annotations

from dataclasses import dataclass

from django.urls import NoReverseMatch, reverse

from crib.models import Item, Person
from crib.roles import holders_of

#: (name of the address, label, what it is for, permission)
_STEPS = (
    ("crib:person_new", "People", "everybody signs in as themselves.", "people.manage"),
    ("crib:place_new", "Racks and drawers", "where things lie, as written on them.", "places.edit"),
    ("crib:supplier_new", "Suppliers", "from whom, and how long it takes.", "items.edit"),
    (
        "crib:item_kinds",
        "Items",
        "holders, collets, nuts and cutters; then book them in and record their marks.",
        "items.edit",
    ),
    ("assemblies:machine_new", "Machines", "taper, pull stud and highest speed.", "machine.edit"),
    (
        "assemblies:program_new",
        "A program",
        "hand its file in, say what each T must be, approve it for a machine.",
        "program.add",
    ),
    (
        "assemblies:assembly_new",
        "An assembly",
        "build it at the bench, measure it, release it, print its label.",
        "assembly.build",
    ),
)


@dataclass(frozen=True)
class Step:
    """One step; without an address it is somebody else's, and `who` says whose."""

    label: str
    text: str
    url: str
    who: str


def first_steps(person: Person) -> list[Step]:
    """All steps while there is no item at all, else none."""
    if Item.objects.exists():
        return []
    return [
        Step(
            label=label,
            text=text,
            url=address(name) if person.may(permission) else "",
            who=", ".join(holders_of(permission)),
        )
        for name, label, text, permission in _STEPS
    ]


def address(name: str, **kwargs) -> str:
    """The address of a page, "" where this shop does not have it."""
    try:
        return reverse(name, kwargs=kwargs)
    except NoReverseMatch:
        return ""
