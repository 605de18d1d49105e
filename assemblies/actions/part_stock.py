"""What lies in racks and drawers, fit for use: marked pieces, and loose parts with their count."""

from __future__ import annotations

from dataclasses import dataclass

from crib.models import Condition, Item, ItemKind, Movement, Piece, PlaceKind

_FACTS = tuple(f"item__{kind}_facts" for kind in ItemKind.values if kind != ItemKind.SPARE)


@dataclass(frozen=True)
class Stock:
    """Usable stock by kind of item."""

    pieces: dict[str, list[Piece]]
    loose: dict[str, list[tuple[Item, int]]]


def usable_stock() -> Stock:
    """All of it, in a number of queries that does not grow with the stock."""
    pieces: dict[str, list[Piece]] = {}
    marked: dict[int, int] = {}
    rows = Piece.objects.filter(
        condition=Condition.IN_SERVICE, place__kind=PlaceKind.STORAGE
    ).select_related("place", "item", *_FACTS)
    for piece in rows:
        pieces.setdefault(piece.item.kind, []).append(piece)
        marked[piece.item_id] = marked.get(piece.item_id, 0) + 1
    return Stock(pieces, _loose(marked))


def _loose(marked: dict[int, int]) -> dict[str, list[tuple[Item, int]]]:
    counts = {
        item_id: n - marked.get(item_id, 0)
        for item_id, n in Movement.objects.usable_by_item().items()
    }
    items = Item.objects.filter(pk__in=[key for key, n in counts.items() if n > 0])
    loose: dict[str, list[tuple[Item, int]]] = {}
    for item in items.select_related(*(name.removeprefix("item__") for name in _FACTS)):
        loose.setdefault(item.kind, []).append((item, counts[item.pk]))
    return loose
