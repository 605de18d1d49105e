from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.functional import cached_property


class AssemblyState(models.TextChoices):
    DRAFT = "draft", "Draft"
    BUILT = "built", "Built, not released"
    RELEASED = "released", "Released"
    QUARANTINED = "quarantined", "Quarantined"
    RETIRED = "retired", "Retired"


class Assembly(models.Model):
    """A number for life, without meaning. What it is made of is in its builds."""

    number = models.PositiveIntegerField(unique=True)
    name = models.CharField(max_length=80, blank=True)
    state = models.CharField(max_length=12, choices=AssemblyState, default=AssemblyState.DRAFT)
    state_note = models.CharField(max_length=200, blank=True)
    #: The ledger's place for the parts built in; its parent is where the assembly stands.
    contents = models.OneToOneField("crib.Place", models.PROTECT, related_name="assembly")
    started_at = models.DateTimeField()

    class Meta:
        ordering = ["number"]
        verbose_name_plural = "assemblies"
        constraints = [
            models.CheckConstraint(condition=Q(number__gt=0), name="assembly_number_positive"),
            models.CheckConstraint(
                condition=Q(state__in=AssemblyState.values), name="assembly_state_known"
            ),
        ]

    def __str__(self) -> str:
        return str(self.number)

    @cached_property
    def current_build(self):
        """The live build, draft or made; None for a retired assembly that was taken apart."""
        return self.builds.filter(live=True).first()

    @property
    def stands_at(self):
        """The rack or drawer it was last put in, None when nobody said."""
        return self.contents.parent
