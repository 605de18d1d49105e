from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from crib.rules.keys import key_of


class ToolChange(models.TextChoices):
    HAND = "hand", "By hand, one at a time"
    CAROUSEL = "carousel", "Carousel"
    CHAIN = "chain", "Chain"
    LINEAR = "linear", "Rack along the bed"


class Machine(models.Model):
    """A machine: what fits its spindle, and its maker's limits. Empty means not recorded."""

    mark = models.CharField(max_length=12)
    mark_key = models.CharField(max_length=12, unique=True, editable=False)
    name = models.CharField(max_length=60)
    interface = models.CharField(max_length=20, help_text="Code of the table of spindle tapers.")
    #: Pattern of the pull stud its drawbar takes; empty when the taper has none.
    stud_pattern = models.CharField(max_length=20, blank=True)
    uses_stud = models.BooleanField(default=True)
    tool_change = models.CharField(max_length=10, choices=ToolChange, default=ToolChange.HAND)
    pockets = models.PositiveSmallIntegerField(default=0)
    speed_min_rpm = models.PositiveIntegerField(null=True, blank=True)
    speed_max_rpm = models.PositiveIntegerField(null=True, blank=True)
    override_ceiling_percent = models.PositiveSmallIntegerField(
        default=100, help_text="Highest spindle override of the control, in percent."
    )
    turns_cw = models.BooleanField("spindle can turn right (M3)", default=True)
    turns_ccw = models.BooleanField("spindle can turn left (M4)", default=True)
    length_max_um = models.PositiveIntegerField(null=True, blank=True)
    diameter_max_um = models.PositiveIntegerField(null=True, blank=True)
    mass_max_g = models.PositiveIntegerField(null=True, blank=True)
    touches_off_every_load = models.BooleanField(default=False)
    is_router = models.BooleanField(
        default=False, help_text="Wood router: runout limits are doubled."
    )
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["mark_key"]
        constraints = [
            models.CheckConstraint(condition=~Q(mark_key=""), name="machine_has_mark"),
            models.CheckConstraint(condition=~Q(interface=""), name="machine_has_interface"),
            models.CheckConstraint(
                condition=Q(uses_stud=True) & ~Q(stud_pattern="")
                | Q(uses_stud=False, stud_pattern=""),
                name="machine_stud_pattern_when_used",
            ),
            models.CheckConstraint(
                condition=Q(speed_min_rpm=None)
                | Q(speed_max_rpm=None)
                | Q(speed_min_rpm__lte=F("speed_max_rpm")),
                name="machine_speeds_in_order",
            ),
            models.CheckConstraint(
                condition=Q(override_ceiling_percent__gte=100, override_ceiling_percent__lte=300),
                name="machine_override_at_least_100",
            ),
            models.CheckConstraint(
                condition=Q(turns_cw=True) | Q(turns_ccw=True), name="machine_turns"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def save(self, *args, **kwargs):
        self.mark_key = key_of(self.mark)
        super().save(*args, **kwargs)
