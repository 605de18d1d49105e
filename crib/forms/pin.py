"""The form of a person's own PIN."""

from __future__ import annotations

from django import forms

from crib.forms.submission import SubmissionForm

#: A pad of figures on a phone; no browser keeps what is typed.
_FIGURES = {"autocomplete": "off", "inputmode": "numeric", "maxlength": "6"}


class PinForm(SubmissionForm):
    """Own password and the new PIN, twice."""

    password = forms.CharField(
        label="Your password",
        strip=False,
        max_length=200,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    pin = forms.CharField(
        label="New PIN",
        max_length=6,
        widget=forms.PasswordInput(attrs=_FIGURES),
        help_text="4 to 6 figures. No date, no row like 1234, not all the same.",
    )
    again = forms.CharField(
        label="New PIN once more", max_length=6, widget=forms.PasswordInput(attrs=_FIGURES)
    )

    def clean_again(self) -> str:
        again = self.cleaned_data["again"]
        if again != self.cleaned_data.get("pin", again):
            raise forms.ValidationError("The two are not the same.")
        return again
