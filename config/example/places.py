"""Racks and drawers of the example shop, and the firms it buys from."""

from __future__ import annotations

from uuid import uuid4

from config.example.data import shop
from config.example.people import Crew
from crib.actions.places import save_place
from crib.models import Place, Supplier


def add_places(crew: Crew) -> None:
    for row in shop()["places"]:
        parent = Place.objects.get(code=row["in"]) if "in" in row else None
        place = Place(code=row["code"], name=row["name"], parent=parent)
        save_place(by=crew["ines"], submission=uuid4(), place=place)


def add_suppliers() -> None:
    Supplier.objects.bulk_create(Supplier(**row) for row in shop()["suppliers"])
