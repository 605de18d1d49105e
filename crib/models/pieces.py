from __future__ import annotations

from django.db import models
from django.db.models import Q

from crib.models.items import Item
from crib.rules.keys import key_of


class Condition(models.TextChoices):
    IN_SERVICE = "in_service", "In service"
    QUARANTINED = "quarantined", "Quarantined"
    REGRIND = "regrind", "Out for re-sharpening"
    WORN = "worn", "Worn"
    SCRAPPED = "scrapped", "Scrapped"
    LOST = "lost", "Lost"


class StudState(models.TextChoices):
    FITTED = "fitted", "Fitted"
    NONE_FITTED = "none_fitted", "None fitted"
    UNKNOWN = "unknown", "Not recorded"
    NOT_USED = "not_used", "Not used by this taper"


class Piece(models.Model):
    """One marked physical part. The mark is engraved, and never given out twice."""

    item = models.ForeignKey(Item, models.PROTECT, related_name="pieces")
    mark = models.CharField(max_length=20)
    mark_key = models.CharField(max_length=20, unique=True, editable=False)
    condition = models.CharField(max_length=12, choices=Condition, default=Condition.IN_SERVICE)
    condition_note = models.CharField(max_length=120, blank=True)
    #: Where the ledger last put it; the stock action writes it with each movement.
    place = models.ForeignKey("crib.Place", models.PROTECT, null=True, related_name="pieces")
    #: Holders only: what is screwed into the taper.
    stud_state = models.CharField(max_length=12, choices=StudState, default=StudState.UNKNOWN)
    stud_pattern = models.CharField(max_length=20, blank=True)
    #: Cutters only, after re-sharpening: what was measured on this piece.
    measured_diameter_um = models.PositiveIntegerField(null=True, blank=True)
    measured_shank_um = models.PositiveIntegerField(null=True, blank=True)

    class Meta:
        ordering = ["mark_key"]
        constraints = [
            models.CheckConstraint(condition=~Q(mark_key=""), name="piece_has_mark"),
            models.CheckConstraint(
                condition=Q(condition__in=Condition.values), name="piece_condition_known"
            ),
            models.CheckConstraint(
                condition=Q(stud_state__in=StudState.values), name="piece_stud_state_known"
            ),
            models.CheckConstraint(
                condition=Q(stud_state="fitted") & ~Q(stud_pattern="")
                | ~Q(stud_state="fitted") & Q(stud_pattern=""),
                name="piece_stud_pattern_when_fitted",
            ),
        ]

    def __str__(self) -> str:
        return self.mark

    def save(self, *args, **kwargs):
        self.mark_key = key_of(self.mark)
        super().save(*args, **kwargs)
