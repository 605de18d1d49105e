"""Where assemblies are: in a spindle, in a pocket of a changer, borrowed, put back."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from crib.models.append_only import AppendOnlyModel


class Edge(models.TextChoices):
    """How a tool was found to be when it came out."""

    GOOD = "good", "Good"
    WORN = "worn", "Worn"
    BROKEN = "broken", "Broken"


class Load(models.Model):
    """One stay of an assembly in a machine. Open as long as nobody said that it came out.

    `pocket` None is the spindle itself. A load is closed once and never opened again.
    """

    machine = models.ForeignKey("assemblies.Machine", models.PROTECT, related_name="loads")
    pocket = models.PositiveSmallIntegerField(null=True)
    tool_number = models.PositiveIntegerField(null=True)
    assembly = models.ForeignKey("assemblies.Assembly", models.PROTECT, related_name="loads")
    build = models.ForeignKey("assemblies.Build", models.PROTECT, related_name="loads")
    spindle_check = models.OneToOneField(
        "assemblies.SpindleCheck", models.PROTECT, related_name="load"
    )
    loaded_at = models.DateTimeField(default=timezone.now)
    #: Empty while it is in.
    out_at = models.DateTimeField(null=True)
    out_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )
    #: Empty: nobody said how it was, as when the next tool took its place.
    out_as = models.CharField(max_length=6, choices=Edge, blank=True)
    out_note = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["machine_id", "pocket", "-loaded_at"]
        constraints = [
            models.UniqueConstraint(
                fields=["assembly"], condition=Q(out_at=None), name="assembly_in_one_machine"
            ),
            models.UniqueConstraint(
                fields=["machine", "pocket"],
                condition=Q(out_at=None, pocket__isnull=False),
                name="one_tool_in_a_pocket",
            ),
            models.UniqueConstraint(
                fields=["machine"],
                condition=Q(out_at=None, pocket=None),
                name="one_tool_in_the_spindle",
            ),
            models.UniqueConstraint(
                fields=["machine", "tool_number"],
                condition=Q(out_at=None, tool_number__isnull=False),
                name="one_tool_for_a_number",
            ),
            models.CheckConstraint(
                condition=Q(pocket=None) | Q(pocket__gt=0), name="pocket_counts_from_one"
            ),
            models.CheckConstraint(
                condition=Q(out_at=None, out_by=None, out_as="")
                | Q(out_at__isnull=False, out_by__isnull=False),
                name="load_out_by_somebody",
            ),
            models.CheckConstraint(
                condition=Q(out_as__in=["", *Edge.values]), name="load_edge_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.assembly_id} in {self.where}"

    @property
    def where(self) -> str:
        return "spindle" if self.pocket is None else f"pocket {self.pocket}"


class Sighting(AppendOnlyModel):
    """Somebody said where an assembly is, without putting it in a machine or a rack."""

    class Kind(models.TextChoices):
        BORROWED = "borrowed", "Borrowed"
        RETURNED = "returned", "Put back"

    assembly = models.ForeignKey("assemblies.Assembly", models.PROTECT, related_name="sightings")
    kind = models.CharField(max_length=8, choices=Kind)
    machine = models.ForeignKey(
        "assemblies.Machine", models.PROTECT, null=True, related_name="sightings"
    )
    place = models.ForeignKey("crib.Place", models.PROTECT, null=True, related_name="+")
    note = models.CharField(max_length=120, blank=True)
    act = models.ForeignKey("crib.Act", models.PROTECT, related_name="+")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=["borrowed", "returned"]), name="sighting_kind_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.assembly_id} {self.kind}"
