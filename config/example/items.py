"""What the example shop buys, with the facts of each kind."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

from django.db.models import Model
from django.utils import timezone

from config.example.data import in_columns, shop
from config.example.people import Crew
from crib.actions.items import save_item
from crib.models import Item, ItemKind, Place, Supplier

_PLAIN = ("code", "kind", "description", "bought_in_inches", "pack_size", "minimum_kept", "note")


def add_items(crew: Crew) -> None:
    """Everything in the order of the file: inserts stand before the cutters that take them."""
    for row in shop()["items"]:
        by = crew["petra"] if row["kind"] in ("cutter", "insert") else crew["ines"]
        save_item(by=by, submission=uuid4(), item=_item(row), facts=_facts(row))


def _item(row: dict) -> Item:
    item = Item(**{name: row[name] for name in _PLAIN if name in row})
    item.supplier = Supplier.objects.filter(name=row.get("supplier", "")).first()
    item.home_place = Place.objects.get(code=row["home"])
    if "use_per_week" in row:
        item.use_per_week = Decimal(row["use_per_week"])
    if "calibration_due_days_ago" in row:
        item.note = f"Calibration was due {_day(row['calibration_due_days_ago'])}."
    return item


def _day(days_ago: int) -> str:
    day = timezone.localdate() - timedelta(days=days_ago)
    return f"{day.day} {day:%b %Y}"


def _facts(row: dict) -> Model | None:
    if row["kind"] == ItemKind.SPARE:
        return None
    table = Item._meta.get_field(f"{row['kind']}_facts").related_model
    facts = table(**in_columns(row["facts"]))
    if "insert" in row:
        facts.insert_item = Item.objects.get(code=row["insert"])
    return facts
