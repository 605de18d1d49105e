from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone


class Label(models.Model):
    """One row per printed revision. A reprint uses the same row; a rebuild makes a new one.

    Whether a label is still valid is not stored: it follows from the build it belongs to.
    """

    code = models.CharField(max_length=9, unique=True)
    build = models.OneToOneField("assemblies.Build", models.PROTECT, related_name="label")
    made_at = models.DateTimeField(default=timezone.now)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    print_count = models.PositiveIntegerField(default=0)
    printed_at = models.DateTimeField(null=True)
    cancelled_at = models.DateTimeField(null=True)
    cancel_reason = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["-made_at"]
        constraints = [
            models.CheckConstraint(condition=~Q(code=""), name="label_has_code"),
            models.CheckConstraint(
                condition=Q(cancelled_at=None) | ~Q(cancel_reason=""),
                name="cancelled_label_has_reason",
            ),
        ]

    def __str__(self) -> str:
        return self.code
