"""One putting-together of an assembly, its parts and what was measured on it."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from crib.models.append_only import AppendOnlyModel, AppendOnlyQuerySet


class PartRole(models.TextChoices):
    HOLDER = "holder", "Holder"
    COLLET = "collet", "Collet"
    NUT = "nut", "Nut"
    PULL_STUD = "pull_stud", "Pull stud"
    SLEEVE = "sleeve", "Reduction sleeve"
    CUTTER = "cutter", "Cutter"
    INSERT = "insert", "Insert"


class Build(models.Model):
    """A revision. Revision 0 is a draft on the bench; it takes the next number when it is made.

    Figures are frozen once the build is made: a later change is another build.
    """

    assembly = models.ForeignKey("assemblies.Assembly", models.PROTECT, related_name="builds")
    revision = models.PositiveIntegerField(default=0)
    live = models.BooleanField(default=True)
    stickout_um = models.PositiveIntegerField(null=True, blank=True)
    grip_um = models.PositiveIntegerField(null=True, blank=True)
    torque_mnm = models.PositiveIntegerField(null=True, blank=True)
    wrench_mark = models.CharField(max_length=20, blank=True)
    wrench = models.ForeignKey(
        "crib.Instrument", models.PROTECT, null=True, blank=True, related_name="builds"
    )
    #: How far an adapter moved the nut away from the wrench's square, in line with its handle.
    adapter_um = models.PositiveIntegerField(null=True, blank=True)
    #: Whether coolant is to come through the tool; None: nobody said.
    coolant_wanted = models.BooleanField(null=True, blank=True)
    copied_from = models.ForeignKey(
        "self", models.SET_NULL, null=True, blank=True, related_name="copies"
    )
    started_at = models.DateTimeField(default=timezone.now)
    built_at = models.DateTimeField(null=True, blank=True)
    built_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="builds_made"
    )
    #: The rules' answers when it was made, as `Finding.as_dict`.
    findings = models.JSONField(default=list, blank=True)
    accepted_reason = models.CharField(max_length=200, blank=True)
    accepted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )
    released_at = models.DateTimeField(null=True, blank=True)
    released_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )
    release_findings = models.JSONField(default=list, blank=True)
    release_reason = models.CharField(max_length=200, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    end_reason = models.CharField(max_length=200, blank=True)
    note = models.CharField(max_length=200, blank=True)
    #: The tool number of a program that it is built for, when somebody said so.
    meant_for = models.ForeignKey(
        "assemblies.ToolRequirement",
        models.SET_NULL,
        null=True,
        blank=True,
        related_name="builds_meant",
    )

    class Meta:
        ordering = ["assembly_id", "revision"]
        constraints = [
            models.UniqueConstraint(
                fields=["assembly"], condition=Q(live=True), name="one_live_build_per_assembly"
            ),
            models.UniqueConstraint(
                fields=["assembly", "revision"],
                condition=Q(revision__gt=0),
                name="revision_once_per_assembly",
            ),
            models.CheckConstraint(
                condition=Q(revision=0, built_at=None)
                | Q(revision__gt=0, built_at__isnull=False, built_by__isnull=False),
                name="made_build_has_maker",
            ),
            models.CheckConstraint(
                condition=Q(released_at=None) | Q(revision__gt=0, released_by__isnull=False),
                name="released_build_was_made",
            ),
            models.CheckConstraint(
                condition=Q(live=True, ended_at=None) | Q(live=False, ended_at__isnull=False),
                name="ended_build_is_not_live",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.assembly} {self.revision_text}"

    @property
    def is_draft(self) -> bool:
        return self.revision == 0

    @property
    def revision_text(self) -> str:
        return "draft" if self.is_draft else f"r{self.revision}"


class BuildPart(models.Model):
    """One part of a build. `live` follows the build by a trigger, for the unique constraint."""

    build = models.ForeignKey(Build, models.CASCADE, related_name="parts")
    role = models.CharField(max_length=10, choices=PartRole)
    item = models.ForeignKey("crib.Item", models.PROTECT, related_name="built_as")
    piece = models.ForeignKey("crib.Piece", models.PROTECT, null=True, related_name="built_as")
    quantity = models.PositiveSmallIntegerField(default=1)
    live = models.BooleanField(default=True, editable=False)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["build", "role"], name="one_part_per_role"),
            models.UniqueConstraint(
                fields=["piece"],
                condition=Q(live=True, piece__isnull=False),
                name="piece_in_one_live_build",
            ),
            models.CheckConstraint(condition=Q(quantity__gt=0), name="part_quantity_positive"),
            models.CheckConstraint(
                condition=Q(piece=None) | Q(quantity=1), name="part_piece_is_one"
            ),
            models.CheckConstraint(condition=Q(role__in=PartRole.values), name="part_role_known"),
        ]

    def __str__(self) -> str:
        return f"{self.role} {self.piece or self.item}"

    @property
    def shown(self) -> str:
        return f"{self.piece.mark} · {self.item.description}" if self.piece else str(self.item)


class Quantity(models.TextChoices):
    GAUGE_LENGTH = "gauge_length", "Gauge length"
    DIAMETER = "diameter", "Cutting diameter"
    RUNOUT = "runout", "Runout"
    CORNER_RADIUS = "corner_radius", "Corner radius"


class ReadOn(models.TextChoices):
    """What the indicator touched; readings on flutes are no continuous trace."""

    SHANK = "shank", "Shank, round"
    BAR = "bar", "Test bar"
    FLUTES = "flutes", "Flutes"
    NOSE = "nose", "Nose of the holder"


class MeasurementQuerySet(AppendOnlyQuerySet):
    def latest_by_quantity(self, build_id: int) -> dict[str, Measurement]:
        """The last reading of each quantity of one build, in one query."""
        return {m.quantity: m for m in self.filter(build_id=build_id).order_by("at", "id")}


class Measurement(AppendOnlyModel):
    """One reading. A correction is another reading; the last one counts."""

    build = models.ForeignKey(Build, models.PROTECT, related_name="measurements")
    quantity = models.CharField(max_length=14, choices=Quantity)
    value_um = models.PositiveIntegerField()
    #: Runout: distance from the nut face where the indicator stood.
    distance_um = models.PositiveIntegerField(null=True, blank=True)
    #: Runout: what was touched, and where its high spot stood from the drive slot's mark.
    read_on = models.CharField(max_length=6, choices=ReadOn, blank=True)
    clock_deg = models.PositiveSmallIntegerField(null=True, blank=True)
    #: The single readings of one sitting when there were several; `value_um` is what counts.
    readings_um = models.JSONField(null=True, blank=True)
    instrument = models.CharField(max_length=40, blank=True)
    measured_with = models.ForeignKey(
        "crib.Instrument", models.PROTECT, null=True, blank=True, related_name="measurements"
    )
    #: U of the instrument on that day, k = 2.
    uncertainty_um = models.PositiveIntegerField(null=True, blank=True)
    note = models.CharField(max_length=120, blank=True)
    act = models.ForeignKey("crib.Act", models.PROTECT, related_name="+")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    objects = MeasurementQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(quantity__in=Quantity.values), name="measurement_quantity_known"
            ),
            models.CheckConstraint(
                condition=Q(quantity="runout") | Q(value_um__gt=0) | Q(quantity="corner_radius"),
                name="measurement_positive",
            ),
            models.CheckConstraint(
                condition=Q(read_on__in=["", *ReadOn.values]), name="measurement_read_on_known"
            ),
            models.CheckConstraint(
                condition=Q(clock_deg=None) | Q(clock_deg__lt=360, quantity="runout"),
                name="measurement_clock_within_turn",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.value_um} um"


class Weighing(AppendOnlyModel):
    """An assembly on the scale: its mass, and where it balances on an edge."""

    build = models.ForeignKey(Build, models.PROTECT, related_name="weighings")
    mass_g = models.PositiveIntegerField()
    #: Gauge line to the centre of mass, towards the tip.
    centre_um = models.PositiveIntegerField(null=True, blank=True)
    measured_with = models.ForeignKey(
        "crib.Instrument", models.PROTECT, null=True, blank=True, related_name="weighings"
    )
    act = models.ForeignKey("crib.Act", models.PROTECT, related_name="+")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-at", "-id"]
        constraints = [
            models.CheckConstraint(condition=Q(mass_g__gt=0), name="weighing_positive"),
        ]

    def __str__(self) -> str:
        return f"{self.build_id} {self.mass_g} g"


class Reclocking(AppendOnlyModel):
    """The re-clock test: runout read, one member turned by half a turn, runout read again.

    What it says is computed from these figures, never stored:
    `assemblies/rules/runout_by_part/reclock.py`.
    """

    build = models.ForeignKey(Build, models.PROTECT, related_name="reclockings")
    turned = models.CharField(max_length=10, choices=PartRole)
    first_um = models.PositiveIntegerField()
    first_deg = models.PositiveSmallIntegerField()
    second_um = models.PositiveIntegerField()
    second_deg = models.PositiveSmallIntegerField()
    distance_um = models.PositiveIntegerField(null=True, blank=True)
    read_on = models.CharField(max_length=6, choices=ReadOn, blank=True)
    measured_with = models.ForeignKey(
        "crib.Instrument", models.PROTECT, null=True, blank=True, related_name="reclockings"
    )
    note = models.CharField(max_length=200, blank=True)
    act = models.ForeignKey("crib.Act", models.PROTECT, related_name="+")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(turned__in=PartRole.values), name="reclocking_part_known"
            ),
            models.CheckConstraint(
                condition=Q(first_deg__lt=360, second_deg__lt=360),
                name="reclocking_angles_within_turn",
            ),
            models.CheckConstraint(
                condition=Q(read_on__in=["", *ReadOn.values]), name="reclocking_read_on_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.build_id} {self.turned}"
