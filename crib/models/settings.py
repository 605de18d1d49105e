from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from crib.models.append_only import AppendOnlyModel


class SettingChange(AppendOnlyModel):
    """A limit that the shop set otherwise. The last one of a name counts; none: the usual value."""

    name = models.CharField(max_length=40)
    #: What the setting is now; null: back to the usual value.
    value = models.JSONField(null=True)
    before = models.JSONField(null=True)
    reason = models.CharField(max_length=200)
    act = models.ForeignKey("crib.Act", models.PROTECT, related_name="+")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [models.Index(fields=["name", "-at"], name="setting_name")]
        constraints = [
            models.CheckConstraint(condition=~Q(name=""), name="setting_has_name"),
            models.CheckConstraint(condition=~Q(reason=""), name="setting_has_reason"),
        ]

    def __str__(self) -> str:
        return f"{self.name} {self.value}"
