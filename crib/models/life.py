from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils import timezone

from crib.models.append_only import AppendOnlyModel


class Basis(models.TextChoices):
    """How the minutes were come by; always shown with them."""

    CARRIED_OVER = "carried_over", "Carried over from paper"
    ESTIMATE = "estimate", "Estimate from time in the spindle"
    PROGRAM = "program", "Program minutes times parts"
    BY_HAND = "by_hand", "Entered by hand"


class Use(AppendOnlyModel):
    """Minutes of work charged to a piece. Its age in use is the sum of its rows."""

    piece = models.ForeignKey("crib.Piece", models.PROTECT, related_name="uses")
    minutes = models.PositiveIntegerField()
    basis = models.CharField(max_length=12, choices=Basis)
    act = models.ForeignKey("crib.Act", models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-at"]
        constraints = [
            models.CheckConstraint(condition=Q(minutes__gt=0), name="use_minutes_positive"),
            models.CheckConstraint(condition=Q(basis__in=Basis.values), name="use_basis_known"),
        ]

    def __str__(self) -> str:
        return f"{self.minutes} min on {self.piece_id}"
