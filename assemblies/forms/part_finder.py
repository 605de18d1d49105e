"""What the part finder is asked, and the stack that is to be started."""

from __future__ import annotations

from django import forms

from assemblies.forms.bench import PurposeField, purposes
from assemblies.models import Machine
from crib.forms.fields import LengthField, WholeField
from crib.forms.submission import SubmissionForm
from crib.rules.units import LONGEST_UM


class FinderForm(forms.Form):
    """The question. Everything but the cutter may be left out; a program's T number fills in."""

    cutter = forms.CharField(
        max_length=60,
        required=False,
        label="Cutter",
        help_text="Mark, item code, or words to search: 12 compression.",
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "spellcheck": "false", "list": "cutters"}
        ),
    )
    machine = forms.ModelChoiceField(
        queryset=Machine.objects.all(),
        to_field_name="mark",
        required=False,
        label="Machine",
        empty_label="any machine",
        error_messages={"invalid_choice": "No machine has this mark. Pick one of the list."},
    )
    stickout_um = LengthField(
        required=False, label="Stick-out", help_text="Empty: the shortest allowed."
    )
    speed_rpm = WholeField(required=False, label="Speed", unit="1/min", most=200_000)
    meant_for = PurposeField(label="For the T number", empty_label="no program")

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["cutter"].said_of_empty = "or a T number"
        self.fields["meant_for"].queryset = purposes()


class StartFoundForm(SubmissionForm):
    """The parts of one stack, by mark or item code."""

    parts = forms.CharField(max_length=400)
    #: What was proposed, to be said again at the bench; it is never filled in there.
    stickout_um = forms.IntegerField(required=False, min_value=0, max_value=LONGEST_UM)
    grip_um = forms.IntegerField(required=False, min_value=0, max_value=LONGEST_UM)
    meant_for = PurposeField()

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["meant_for"].queryset = purposes()

    def clean_parts(self) -> list[str]:
        return [entry.strip() for entry in self.cleaned_data["parts"].splitlines() if entry.strip()]
