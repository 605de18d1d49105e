"""The stock ledger: every movement takes from one place and gives to another."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q, Sum
from django.utils import timezone

from crib.models.append_only import AppendOnlyModel, AppendOnlyQuerySet
from crib.models.places import PlaceKind


class Reason(models.TextChoices):
    OPENING = "opening", "Opening stock"
    RECEIVE = "receive", "Received"
    ISSUE = "issue", "Taken out"
    RETURN = "return", "Given back"
    MOVE = "move", "Moved"
    BUILD = "build", "Built in"
    UNBUILD = "unbuild", "Taken apart"
    QUARANTINE = "quarantine", "Quarantined"
    SCRAP = "scrap", "Scrapped"
    COUNT = "count", "Count difference"


class MovementQuerySet(AppendOnlyQuerySet):
    def on_hand(self, item_id: int, place_id: int) -> int:
        """Pieces of one item at one place: what came in less what went out."""
        came = self.filter(item_id=item_id, to_place_id=place_id).aggregate(n=Sum("quantity"))
        went = self.filter(item_id=item_id, from_place_id=place_id).aggregate(n=Sum("quantity"))
        return (came["n"] or 0) - (went["n"] or 0)

    def balances(self) -> dict[tuple[int, int], int]:
        """Stock of each (item, place) in two grouped queries; empty balances left out."""
        stock: dict[tuple[int, int], int] = {}
        for field, sign in (("to_place_id", 1), ("from_place_id", -1)):
            rows = self.values("item_id", field).annotate(n=Sum("quantity")).order_by()
            for row in rows:
                key = (row["item_id"], row[field])
                stock[key] = stock.get(key, 0) + sign * row["n"]
        return {key: n for key, n in stock.items() if n}

    def usable_by_item(self) -> dict[int, int]:
        """Pieces of each item in racks and drawers, marked pieces out of service left out."""
        good = Q(piece=None) | Q(piece__condition="in_service")
        usable: dict[int, int] = {}
        for end, sign in (("to_place", 1), ("from_place", -1)):
            rows = (
                self.filter(good, **{f"{end}__kind": PlaceKind.STORAGE})
                .values("item_id")
                .annotate(n=Sum("quantity"))
                .order_by()
            )
            for row in rows:
                usable[row["item_id"]] = usable.get(row["item_id"], 0) + sign * row["n"]
        return usable


class Movement(AppendOnlyModel):
    """So many pieces of an item went from one place to another, in one act of one person."""

    item = models.ForeignKey("crib.Item", models.PROTECT, related_name="movements")
    piece = models.ForeignKey("crib.Piece", models.PROTECT, null=True, related_name="movements")
    quantity = models.PositiveIntegerField()
    from_place = models.ForeignKey("crib.Place", models.PROTECT, related_name="movements_out")
    to_place = models.ForeignKey("crib.Place", models.PROTECT, related_name="movements_in")
    reason = models.CharField(max_length=12, choices=Reason)
    order_line = models.ForeignKey(
        "crib.OrderLine", models.PROTECT, null=True, related_name="receipts"
    )
    note = models.CharField(max_length=120, blank=True)
    act = models.ForeignKey("crib.Act", models.PROTECT, related_name="movements")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    objects = MovementQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [
            models.Index(fields=["item", "to_place"], name="movement_in"),
            models.Index(fields=["item", "from_place"], name="movement_out"),
        ]
        constraints = [
            models.CheckConstraint(condition=Q(quantity__gt=0), name="movement_quantity_positive"),
            models.CheckConstraint(
                condition=~Q(from_place=F("to_place")), name="movement_goes_somewhere"
            ),
            models.CheckConstraint(
                condition=Q(piece=None) | Q(quantity=1), name="movement_of_piece_is_one"
            ),
            models.CheckConstraint(
                condition=Q(reason__in=Reason.values), name="movement_reason_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.reason} {self.quantity} × {self.item_id}"
