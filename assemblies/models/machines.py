from __future__ import annotations

import re

from django.db import models
from django.db.models import F, Q

from assemblies.rules.nc.reading import ReaderSettings
from crib.rules.keys import key_of


class ToolChange(models.TextChoices):
    HAND = "hand", "By hand, one at a time"
    CAROUSEL = "carousel", "Carousel"
    CHAIN = "chain", "Chain"
    LINEAR = "linear", "Rack along the bed"


class NumberNames(models.TextChoices):
    """What a T number names on this machine's control. NIST IR 6556: the slot of the changer."""

    SLOT = "slot", "the pocket of the changer"
    TOOL = "tool", "the tool, wherever its pocket is"


class ZeroAt(models.TextChoices):
    TOP = "top", "the top of the work"
    TABLE = "table", "the table or the spoil board"


class Units(models.TextChoices):
    MM = "mm", "mm (G21)"
    INCH = "inch", "inch (G20)"


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
    #: Tilting moment that the changer bears, about a plane that the maker names.
    moment_max_mnm = models.PositiveIntegerField(null=True, blank=True)
    moment_plane_um = models.IntegerField(
        null=True,
        blank=True,
        help_text="Gauge line to the plane the moment is about, towards the tip; behind it: minus.",
    )
    diameter_beside_max_um = models.PositiveIntegerField(
        null=True, blank=True, help_text="Largest diameter with both neighbouring pockets full."
    )
    coolant_through = models.BooleanField(null=True, blank=True)
    touches_off_every_load = models.BooleanField(default=False)
    is_router = models.BooleanField(
        default=False, help_text="Wood router: runout limits are doubled."
    )
    note = models.CharField(max_length=200, blank=True)
    #: How its control reads a program where the standards leave it open; see `reader_settings`.
    number_names = models.CharField(max_length=4, choices=NumberNames, default=NumberNames.SLOT)
    zero_at = models.CharField(max_length=5, choices=ZeroAt, default=ZeroAt.TOP)
    default_units = models.CharField(max_length=4, choices=Units, default=Units.MM)
    t_alone_changes = models.BooleanField(default=False)
    fixed_length_offsets = models.BooleanField(default=False)
    counts_least_increments = models.BooleanField(default=False)
    g70_g71_are_units = models.BooleanField(default=False)
    #: Way back and forth between two pecks of G73 and G83 [um].
    peck_back_off_um = models.PositiveIntegerField(default=0)
    harmless_m_codes = models.CharField(max_length=120, blank=True)
    #: The number is keyed before the scan (users who want an independent answer).
    key_number_first = models.BooleanField(default=False)

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
            models.CheckConstraint(
                condition=Q(number_names__in=NumberNames.values), name="machine_number_names_known"
            ),
            models.CheckConstraint(
                condition=Q(zero_at__in=ZeroAt.values), name="machine_zero_known"
            ),
            models.CheckConstraint(
                condition=Q(default_units__in=Units.values), name="machine_units_known"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def save(self, *args, **kwargs):
        self.mark_key = key_of(self.mark)
        super().save(*args, **kwargs)

    def reader_settings(self) -> ReaderSettings:
        """How this machine's control reads a program."""
        return ReaderSettings(
            default_units=self.default_units,
            t_alone_changes=self.t_alone_changes,
            fixed_length_offsets=self.fixed_length_offsets,
            g70_g71_are_units=self.g70_g71_are_units,
            counts_least_increments=self.counts_least_increments,
            harmless_m_codes=self.free_m_codes(),
            peck_back_off_mm=self.peck_back_off_um / 1000,
        )

    def free_m_codes(self) -> frozenset[int]:
        """Numbers of the machine builder's own M codes that leave tool and spindle alone."""
        return frozenset(int(number) for number in re.findall(r"[0-9]+", self.harmless_m_codes))
