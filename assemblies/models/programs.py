"""NC programs: the text that was handed in, what was read from it, and what each T must be."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from assemblies.rules.nc.reading import ReaderSettings
from crib.models import Hand
from crib.models.append_only import AppendOnlyModel
from crib.rules.cutter_kinds import CUTTER_KINDS
from crib.rules.keys import key_of

#: The way of reading that leaves everything open as NIST IR 6556 has it.
STANDARD_KEY = ReaderSettings().key


class Program(models.Model):
    name = models.CharField(max_length=60)
    name_key = models.CharField(max_length=60, unique=True, editable=False)
    title = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["name_key"]
        constraints = [
            models.CheckConstraint(condition=~Q(name_key=""), name="program_has_name"),
        ]

    def __str__(self) -> str:
        return self.name

    def save(self, *args, **kwargs):
        self.name_key = key_of(self.name)
        super().save(*args, **kwargs)


class ProgramRevision(models.Model):
    """One state of the file. Bytes and SHA-256 never change; its readings may be redone."""

    program = models.ForeignKey(Program, models.PROTECT, related_name="revisions")
    label = models.CharField(max_length=12, help_text="The shop's own mark for it, as B.")
    label_key = models.CharField(max_length=12, editable=False)
    file_name = models.CharField(max_length=120, blank=True)
    content = models.BinaryField()
    sha256 = models.CharField(max_length=64)
    size_bytes = models.PositiveIntegerField()
    added_at = models.DateTimeField(default=timezone.now)
    added_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    #: Height of the top of the work in program coordinates [um]; empty when nobody stated it.
    top_of_stock_um = models.IntegerField(null=True, blank=True)

    class Meta:
        ordering = ["program_id", "-added_at", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["program", "label_key"], name="revision_label_once_per_program"
            ),
            models.UniqueConstraint(
                fields=["program", "sha256"], name="revision_content_once_per_program"
            ),
            models.CheckConstraint(condition=~Q(label_key=""), name="revision_has_label"),
        ]

    def __str__(self) -> str:
        return f"{self.program} {self.label}"

    def save(self, *args, **kwargs):
        self.label_key = key_of(self.label)
        super().save(*args, **kwargs)


class Reading(models.Model):
    """What the reader made of one file, read as one kind of machine reads it.

    Machines with the same settings share a reading; its key names what differs from the standard.
    """

    revision = models.ForeignKey(ProgramRevision, models.CASCADE, related_name="readings")
    settings_key = models.CharField(max_length=200, default=STANDARD_KEY)
    complete = models.BooleanField(default=False)
    block_count = models.PositiveIntegerField(default=0)
    program_number = models.CharField(max_length=20, blank=True)
    program_title = models.CharField(max_length=120, blank=True)
    end_of_program = models.CharField(max_length=12, blank=True)
    notes = models.JSONField(default=list, blank=True)
    #: Units seen, numbers selected and never changed in: for showing.
    details = models.JSONField(default=dict, blank=True)
    reader_version = models.PositiveSmallIntegerField(default=1)
    read_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["revision_id", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["revision", "settings_key"], name="one_reading_for_each_way"
            ),
            models.CheckConstraint(condition=~Q(settings_key=""), name="reading_names_its_way"),
        ]

    def __str__(self) -> str:
        return f"{self.revision_id} {self.settings_key}"


class ApprovalState(models.TextChoices):
    APPROVED = "approved", "Approved"
    WITHDRAWN = "withdrawn", "Withdrawn"


class ProgramApproval(AppendOnlyModel):
    """A revision was approved for a machine, or withdrawn from it. The last row counts."""

    revision = models.ForeignKey(ProgramRevision, models.PROTECT, related_name="approvals")
    machine = models.ForeignKey("assemblies.Machine", models.PROTECT, related_name="approvals")
    state = models.CharField(max_length=10, choices=ApprovalState)
    reason = models.CharField(max_length=120, blank=True)
    act = models.ForeignKey("crib.Act", models.PROTECT, related_name="+")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["at", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=ApprovalState.values), name="approval_state_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.revision_id} {self.state} on {self.machine_id}"


class ToolCall(models.Model):
    """One T ... M6 of a program, in the order of the program."""

    reading = models.ForeignKey(Reading, models.CASCADE, related_name="tool_calls")
    sequence = models.PositiveIntegerField()
    line = models.PositiveIntegerField()
    tool_number = models.PositiveIntegerField(null=True)
    text = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["reading_id", "sequence"]
        constraints = [
            models.UniqueConstraint(
                fields=["reading", "sequence"], name="tool_call_once_in_a_reading"
            ),
        ]

    def __str__(self) -> str:
        return f"T{self.tool_number} line {self.line}"


class ToolUse(models.Model):
    """What the program asks of one T number over all its calls. Empty means not read."""

    reading = models.ForeignKey(Reading, models.CASCADE, related_name="tool_uses")
    tool_number = models.PositiveIntegerField()
    first_line = models.PositiveIntegerField()
    description = models.CharField(max_length=200, blank=True)
    spindle_speed_max_rpm = models.PositiveIntegerField(null=True)
    spindle_speed_min_rpm = models.PositiveIntegerField(null=True)
    speed_carried = models.BooleanField(default=False)
    turns_cw = models.BooleanField(default=False)
    turns_ccw = models.BooleanField(default=False)
    feed_max_mm_min = models.FloatField(null=True)
    feed_min_mm_min = models.FloatField(null=True)
    speed_exact = models.BooleanField(default=False)
    rotation_exact = models.BooleanField(default=False)
    #: Lowest Z of feed moves and of rapids, in program coordinates [um].
    deepest_z_um = models.IntegerField(null=True)
    deepest_z_rapid_um = models.IntegerField(null=True)
    depth_exact = models.BooleanField(default=False)
    #: Cycles, offsets, coolant, lengths [mm] and times [min], which figure is exact: for showing.
    details = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["reading_id", "tool_number"]
        constraints = [
            models.UniqueConstraint(
                fields=["reading", "tool_number"], name="tool_use_once_in_a_reading"
            ),
        ]

    def __str__(self) -> str:
        return f"T{self.tool_number}"


class LengthRule(models.TextChoices):
    WINDOW = "window", "Gauge length within a window"
    TOUCH_OFF = "touch_off", "Any: touched off at the machine"
    NOT_STATED = "not_stated", "Not stated"


class ToolRequirement(models.Model):
    """What one T number of one program revision must be. It counts once a person confirmed it."""

    revision = models.ForeignKey(ProgramRevision, models.CASCADE, related_name="requirements")
    tool_number = models.PositiveIntegerField()
    kind = models.CharField(max_length=12, choices=list(CUTTER_KINDS.items()), blank=True)
    diameter_um = models.PositiveIntegerField(null=True, blank=True)
    diameter_tolerance_um = models.PositiveIntegerField(null=True, blank=True)
    controller_diameter = models.BooleanField(
        default=False, help_text="The program cuts on the diameter in the control (G41/G42)."
    )
    corner_radius_um = models.PositiveIntegerField(null=True, blank=True)
    corner_tolerance_um = models.PositiveIntegerField(null=True, blank=True)
    hand = models.CharField(max_length=5, choices=Hand, blank=True)
    length_rule = models.CharField(max_length=10, choices=LengthRule, default=LengthRule.NOT_STATED)
    gauge_length_um = models.PositiveIntegerField(null=True, blank=True)
    gauge_tolerance_um = models.PositiveIntegerField(null=True, blank=True)
    stickout_min_um = models.PositiveIntegerField(null=True, blank=True)
    stickout_max_um = models.PositiveIntegerField(null=True, blank=True)
    flute_min_um = models.PositiveIntegerField(null=True, blank=True)
    preferred = models.ForeignKey(
        "assemblies.Assembly", models.SET_NULL, null=True, blank=True, related_name="preferred_for"
    )
    alternatives = models.ManyToManyField(
        "assemblies.Assembly", blank=True, related_name="alternative_for"
    )
    text = models.CharField(max_length=200, blank=True, help_text="What the program says.")
    #: Where the figures were taken from, in words: a comment, revision A, assembly 1041.
    proposed_from = models.CharField(max_length=60, blank=True)
    #: The row of an older revision whose confirmation still holds here.
    carried_from = models.ForeignKey(
        "self", models.SET_NULL, null=True, blank=True, related_name="carried_on"
    )
    #: What changed in the program since it was confirmed for an older revision.
    asked_again_because = models.CharField(max_length=200, blank=True)
    confirmed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    confirmed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["revision_id", "tool_number"]
        constraints = [
            models.UniqueConstraint(fields=["revision", "tool_number"], name="requirement_once"),
            models.CheckConstraint(
                condition=~Q(length_rule="window")
                | Q(gauge_length_um__isnull=False, gauge_tolerance_um__isnull=False),
                name="requirement_window_has_figures",
            ),
            models.CheckConstraint(
                condition=Q(diameter_um=None) | Q(diameter_tolerance_um__isnull=False),
                name="requirement_diameter_has_tolerance",
            ),
            models.CheckConstraint(
                condition=Q(stickout_min_um=None)
                | Q(stickout_max_um=None)
                | Q(stickout_min_um__lte=F("stickout_max_um")),
                name="requirement_stickout_in_order",
            ),
            models.CheckConstraint(
                condition=Q(confirmed_at=None, confirmed_by=None)
                | Q(confirmed_at__isnull=False, confirmed_by__isnull=False),
                name="requirement_confirmed_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"T{self.tool_number} in {self.revision_id}"

    @property
    def is_confirmed(self) -> bool:
        return self.confirmed_at is not None
