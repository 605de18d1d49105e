"""At the spindle: which machine and program this screen is about, and what was decided."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from crib.models.append_only import AppendOnlyModel


class Station(models.Model):
    """Machine and program chosen once on a screen; lives as long as the signed-in session."""

    session_key = models.CharField(max_length=40, unique=True)
    machine = models.ForeignKey("assemblies.Machine", models.CASCADE)
    revision = models.ForeignKey("assemblies.ProgramRevision", models.CASCADE, null=True)
    chosen_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-chosen_at"]

    def __str__(self) -> str:
        return f"{self.machine} {self.revision or ''}".strip()


class Decision(models.TextChoices):
    LOADED = "loaded", "Loaded"
    REFUSED = "refused", "Refused"


VERDICTS = [
    ("match", "MATCH"),
    ("check", "CHECK"),
    ("stop", "STOP"),
    ("cant_tell", "CAN'T TELL"),
]
#: How the record was found: only a scanned label vouches for a revision.
WAYS = [("label", "Label"), ("number", "Number"), ("holder_mark", "Holder mark")]


class SpindleCheck(AppendOnlyModel):
    """One decision at a spindle, with everything that was known when it was made."""

    machine = models.ForeignKey(
        "assemblies.Machine", models.PROTECT, null=True, related_name="checks"
    )
    revision = models.ForeignKey(
        "assemblies.ProgramRevision", models.PROTECT, null=True, related_name="checks"
    )
    tool_number = models.PositiveIntegerField(null=True)
    assembly = models.ForeignKey("assemblies.Assembly", models.PROTECT, related_name="checks")
    build = models.ForeignKey("assemblies.Build", models.PROTECT, null=True, related_name="checks")
    label_code = models.CharField(max_length=9, blank=True)
    found_by = models.CharField(
        max_length=12,
        choices=WAYS,
    )
    verdict = models.CharField(
        max_length=10,
        choices=VERDICTS,
    )
    fully_known = models.BooleanField()
    findings = models.JSONField(default=list)
    decision = models.CharField(max_length=8, choices=Decision)
    reason = models.CharField(max_length=20, blank=True)
    reason_text = models.CharField(max_length=200, blank=True)
    #: What the control holds for this T after the decision, as far as it was said.
    gauge_length_um = models.PositiveIntegerField(null=True)
    diameter_um = models.PositiveIntegerField(null=True)
    #: Number that the control showed, as keyed by the operator.
    shown_number = models.PositiveIntegerField(null=True)
    #: The number was keyed before the verdict was seen.
    keyed_first = models.BooleanField(default=False)
    #: One of the findings was a stop that nobody can accept.
    hard_stop = models.BooleanField(default=False)
    #: Who answered for a soft stop with a PIN; the same person when nobody else was there.
    overridden_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )
    act = models.OneToOneField("crib.Act", models.PROTECT, related_name="spindle_check")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [
            models.Index(fields=["machine", "-at"], name="check_machine_at"),
            models.Index(fields=["-at", "-id"], name="check_newest_first"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(decision__in=Decision.values), name="check_decision_known"
            ),
            models.CheckConstraint(
                condition=Q(verdict__in=[word for word, _ in VERDICTS]), name="check_verdict_known"
            ),
            models.CheckConstraint(
                condition=Q(found_by__in=[how for how, _ in WAYS]), name="check_way_known"
            ),
            models.CheckConstraint(
                condition=~Q(decision="loaded")
                | ~Q(verdict="stop")
                | Q(overridden_by__isnull=False),
                name="a_stop_is_loaded_only_overridden",
            ),
            models.CheckConstraint(
                condition=~Q(decision="loaded") | Q(hard_stop=False),
                name="a_hard_stop_is_never_loaded",
            ),
            models.CheckConstraint(
                condition=Q(overridden_by=None) | Q(decision="loaded", verdict="stop"),
                name="only_a_loaded_stop_is_overridden",
            ),
            models.CheckConstraint(
                condition=~Q(decision="loaded") | Q(verdict="match") | ~Q(reason=""),
                name="accepting_needs_a_reason",
            ),
            models.CheckConstraint(
                condition=~Q(decision="refused") | ~Q(reason=""), name="refusing_needs_a_reason"
            ),
            models.CheckConstraint(
                condition=~Q(verdict="match") | Q(fully_known=True), name="a_match_is_fully_known"
            ),
            models.CheckConstraint(
                condition=~Q(verdict="match") | Q(found_by="label"), name="a_match_was_scanned"
            ),
            models.CheckConstraint(
                condition=~Q(decision="loaded")
                | Q(tool_number=None)
                | Q(shown_number__isnull=False, shown_number=models.F("tool_number")),
                name="loaded_number_is_the_one_shown",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.verdict} {self.assembly_id} {self.decision}"


class HandsOnCheck(AppendOnlyModel):
    """What hands and eyes were said to have done after loading; asked for, said, never known."""

    spindle_check = models.OneToOneField(SpindleCheck, models.PROTECT, related_name="hands_on")
    #: Keys of the steps that were ticked.
    done = models.JSONField(default=list)
    offset_entered = models.BooleanField(default=False)
    #: Height above the work of the first run [um]; empty when it was not said.
    first_run_height_um = models.PositiveIntegerField(null=True, blank=True)
    act = models.ForeignKey("crib.Act", models.PROTECT, related_name="+")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-at", "-id"]

    def __str__(self) -> str:
        return f"after check {self.spindle_check_id}"


class CorrectionAnswer(AppendOnlyModel):
    """The toolroom's answer to "record is wrong, tool is right"."""

    spindle_check = models.OneToOneField(SpindleCheck, models.PROTECT, related_name="correction")
    note = models.CharField(max_length=200)
    act = models.ForeignKey("crib.Act", models.PROTECT, related_name="+")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-at", "-id"]
        constraints = [
            models.CheckConstraint(condition=~Q(note=""), name="correction_says_what"),
        ]

    def __str__(self) -> str:
        return f"answer to check {self.spindle_check_id}"
