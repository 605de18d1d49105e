"""Loading the example shop into an empty database, all of it or nothing."""

from __future__ import annotations

from django.apps import apps
from django.db import transaction

from config.example.assemblies import add_assemblies
from config.example.instruments import add_instruments
from config.example.items import add_items
from config.example.machines import add_machines
from config.example.people import add_people
from config.example.places import add_places, add_suppliers
from config.example.programs import add_programs
from config.example.stock import add_later_hours, add_loose_stock, add_orders, add_pieces

_ROOMS = ("crib", "assemblies", "labels")
#: What a person would call the chief tables; rows of any other are "other records".
_WORDS = {
    "person": "people",
    "item": "items",
    "place": "places",
    "assembly": "assemblies",
    "machine": "machines",
    "program": "programs",
}


def records_there() -> list[str]:
    """What the database holds, in words; empty for a fresh one. Every table is looked at."""
    models = [model for room in _ROOMS for model in apps.get_app_config(room).get_models()]
    held = {model._meta.model_name for model in models if model._base_manager.exists()}
    words = [word for name, word in _WORDS.items() if name in held]
    return words + ["other records"] * bool(held - set(_WORDS))


@transaction.atomic
def load() -> None:
    """Build the shop through its own actions, each act by the person whose work it is."""
    crew = add_people()
    add_places(crew)
    add_suppliers()
    add_items(crew)
    add_loose_stock(crew)
    add_pieces(crew)
    add_machines(crew)
    add_assemblies(crew, "assemblies")
    # Older ones were built with a wrench that was only named; those after it with one on record.
    add_instruments(crew)
    add_assemblies(crew, "assemblies_with_instruments")
    add_later_hours(crew)
    add_programs(crew)
    add_orders(crew)
