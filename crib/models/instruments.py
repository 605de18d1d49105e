"""What the bench measures and tightens with, and when each was last calibrated."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from crib.models.append_only import AppendOnlyModel
from crib.rules.keys import key_of


class InstrumentKind(models.TextChoices):
    WRENCH = "wrench", "Torque wrench"
    PRESETTER = "presetter", "Presetter"
    HEIGHT_GAUGE = "height_gauge", "Height gauge"
    TOUCH_PLATE = "touch_plate", "Touch plate"
    MICROMETER = "micrometer", "Micrometer"
    CALIPER = "caliper", "Caliper"
    INDICATOR = "indicator", "Dial indicator"
    SCALE = "scale", "Scale"


class Instrument(models.Model):
    """One marked instrument. Empty means not recorded; it never means exact or unlimited."""

    mark = models.CharField(max_length=20)
    mark_key = models.CharField(max_length=20, unique=True, editable=False)
    kind = models.CharField(max_length=14, choices=InstrumentKind)
    description = models.CharField(max_length=80, blank=True)
    #: Wrenches: what it can be set to, and from the square to the middle of the handle.
    torque_min_mnm = models.PositiveIntegerField(null=True, blank=True)
    torque_max_mnm = models.PositiveIntegerField(null=True, blank=True)
    reach_um = models.PositiveIntegerField(
        null=True, blank=True, help_text="Square to the middle of the handle."
    )
    step_um = models.PositiveIntegerField(
        null=True, blank=True, help_text="The smallest step it shows."
    )
    uncertainty_um = models.PositiveIntegerField(
        null=True, blank=True, help_text="U with k = 2, from its certificate."
    )
    #: Shop settings; the usual 12 months and 5 000 pulls are offered, never presumed.
    months_between = models.PositiveSmallIntegerField(null=True, blank=True)
    pulls_between = models.PositiveIntegerField(null=True, blank=True)
    is_retired = models.BooleanField(default=False)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["mark_key"]
        constraints = [
            models.CheckConstraint(condition=~Q(mark_key=""), name="instrument_has_mark"),
            models.CheckConstraint(
                condition=Q(kind__in=InstrumentKind.values), name="instrument_kind_known"
            ),
            models.CheckConstraint(
                condition=Q(torque_min_mnm=None)
                | Q(torque_max_mnm=None)
                | Q(torque_min_mnm__lte=F("torque_max_mnm")),
                name="instrument_torques_in_order",
            ),
        ]

    def __str__(self) -> str:
        return self.mark

    def save(self, *args, **kwargs):
        self.mark_key = key_of(self.mark)
        super().save(*args, **kwargs)


class CalibrationResult(models.TextChoices):
    PASSED = "passed", "Within its limits"
    ADJUSTED = "adjusted", "Found out, adjusted"
    FAILED = "failed", "Out of its limits"
    SUSPECT = "suspect", "Dropped or overloaded"


class Calibration(AppendOnlyModel):
    """One calibration, or the mishap after which one is due at once."""

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="calibrations")
    result = models.CharField(max_length=8, choices=CalibrationResult)
    on = models.DateField()
    certificate = models.CharField(max_length=60, blank=True)
    note = models.CharField(max_length=200, blank=True)
    act = models.ForeignKey("crib.Act", models.PROTECT, related_name="+")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-on", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(result__in=CalibrationResult.values), name="calibration_result_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.instrument_id} {self.result} {self.on}"
