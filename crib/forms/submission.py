"""The base of every writing form: it brings its one-time id along."""

from __future__ import annotations

from functools import cached_property
from uuid import uuid4

from django import forms
from django.core.exceptions import ValidationError

from crib.models import Act


class SubmissionForm(forms.Form):
    """A form that counts once: `cleaned_data["submission"]` goes to the action."""

    submission = forms.UUIDField(
        initial=uuid4,
        widget=forms.HiddenInput,
        error_messages={
            "required": "The form's one-time number is missing. Open the page again.",
            "invalid": "The form's one-time number is damaged. Open the page again.",
        },
    )

    @cached_property
    def was_done(self) -> bool:
        """An earlier sending of this form has been carried out."""
        try:
            number = self.fields["submission"].clean(self["submission"].value())
        except ValidationError:
            return False
        return Act.objects.filter(pk=number).exists()

    def validate_unique(self) -> None:
        """Sent again, a form meets the very row it made; that is no clash."""
        if not self.was_done:
            super().validate_unique()
