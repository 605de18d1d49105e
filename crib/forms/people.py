"""The form of a person, and the sign-in."""

from __future__ import annotations

from django import forms
from django.contrib.auth.forms import AuthenticationForm

from crib.forms.submission import SubmissionForm
from crib.models import Person
from crib.roles import ROLES


class PersonForm(SubmissionForm, forms.ModelForm):
    password = forms.CharField(
        label="Password",
        required=False,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text="At least 8 characters. When changing a person: empty keeps the old one.",
    )

    class Meta:
        model = Person
        fields = [
            "username",
            "first_name",
            "last_name",
            "initials",
            *(f"is_{role}" for role in ROLES),
            "is_active",
        ]
        labels = {
            "username": "Sign-in name",
            "is_active": "May sign in",
            **{f"is_{role}": f"Role: {name}" for role, name in ROLES.items()},
        }
        help_texts = {"username": "Letters, digits and @ . + - _", "is_active": ""}


class SignInForm(AuthenticationForm):
    error_messages = {
        "invalid_login": "That name and password do not belong together. Capitals count.",
        "inactive": "This person may not sign in. Ask an admin.",
    }

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].label = "Sign-in name"
