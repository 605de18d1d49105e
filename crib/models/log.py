from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.utils import timezone

from crib.models.append_only import AppendOnlyModel, CannotBeChanged


class Act(AppendOnlyModel):
    """One thing a person did, known by the one-time id that came with the form.

    The id makes a double click or a resend harmless: the second attempt finds the first one's
    row and answers with its result. `result` is filled once, at the end of the act.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    kind = models.CharField(max_length=40)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="acts")
    at = models.DateTimeField(default=timezone.now)
    about = models.CharField(max_length=120, blank=True)
    details = models.JSONField(default=dict, blank=True)
    result = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["-at"]
        indexes = [models.Index(fields=["about", "-at"], name="act_about")]

    def __str__(self) -> str:
        return f"{self.kind} {self.about}".strip()

    def fill_result(self, result: str) -> None:
        """Write the result of an act that has none yet; the table's trigger allows just this."""
        longest = self._meta.get_field("about").max_length
        filled = {"result": result, "about": self.about[:longest], "details": self.details}
        if not models.QuerySet(Act).filter(pk=self.pk, result="").update(**filled):
            raise CannotBeChanged("This act has its result already.")
        self.result, self.about = result, filled["about"]


class UnknownCode(AppendOnlyModel):
    """A scanned text that is none of the shop's codes: kept, so that stray labels are noticed."""

    entry = models.CharField(max_length=80)
    problem = models.CharField(max_length=40)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-at"]

    def __str__(self) -> str:
        return self.entry
