from __future__ import annotations

from django.db import models

from crib.rules.keys import key_of


class PlaceKind(models.TextChoices):
    STORAGE = "storage", "Rack, cabinet or drawer"
    ASSEMBLY = "assembly", "Built into an assembly"
    QUARANTINE = "quarantine", "Quarantine"
    PERSON = "person", "Taken out"
    REGRIND = "regrind", "Out for re-sharpening"
    SUPPLIER = "supplier", "Outside: suppliers"
    GONE = "gone", "Used up or scrapped"
    DIFFERENCE = "difference", "Count difference"


class Place(models.Model):
    """Where stock can be: a drawer, or one of the accounts that the ledger balances against."""

    code = models.CharField(max_length=40)
    code_key = models.CharField(max_length=40, unique=True, editable=False)
    name = models.CharField(max_length=80, blank=True)
    kind = models.CharField(max_length=12, choices=PlaceKind, default=PlaceKind.STORAGE)
    parent = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="inner")

    class Meta:
        ordering = ["code_key"]
        constraints = [
            models.CheckConstraint(condition=~models.Q(code_key=""), name="place_has_code"),
            models.CheckConstraint(
                condition=models.Q(kind__in=PlaceKind.values), name="place_kind_known"
            ),
            models.CheckConstraint(
                condition=models.Q(parent=None) | ~models.Q(parent=models.F("id")),
                name="place_not_in_itself",
            ),
        ]

    def __str__(self) -> str:
        return self.code

    def save(self, *args, **kwargs):
        self.code_key = key_of(self.code)
        super().save(*args, **kwargs)

    @property
    def shown(self) -> str:
        """Code and name; an assembly's contents are where the assembly is."""
        return f"{self.code} {self.name}".strip()

    @property
    def is_usable(self) -> bool:
        """Stock here may be taken for a build."""
        return self.kind == PlaceKind.STORAGE
