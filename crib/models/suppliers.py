from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils import timezone


class Supplier(models.Model):
    name = models.CharField(max_length=80, unique=True)
    lead_working_days = models.PositiveSmallIntegerField(null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class OrderLine(models.Model):
    """So many of one item, ordered on a day and expected on another.

    What came is not stored here: it is the sum of the movements that name the line.
    """

    item = models.ForeignKey("crib.Item", models.PROTECT, related_name="order_lines")
    supplier = models.ForeignKey(Supplier, models.PROTECT, null=True, blank=True)
    quantity = models.PositiveIntegerField()
    ordered_on = models.DateField(default=timezone.localdate)
    due_on = models.DateField(null=True, blank=True)
    closed = models.BooleanField(default=False)
    act = models.ForeignKey("crib.Act", models.PROTECT, related_name="+")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["due_on", "id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(quantity__gt=0), name="order_line_quantity_positive"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} × {self.item_id}"
