"""Forms at the spindle: machine and program of a screen, the decision, the search of checks."""

from __future__ import annotations

from django import forms

from assemblies.actions.override import people_who_may_override
from assemblies.actions.spindle import ACCEPT_REASONS, REFUSE_REASONS
from assemblies.models import Decision, Machine
from crib.forms.submission import SubmissionForm
from crib.models import Person

#: Some controls number tools with eight figures (common practice); longer is a slip.
LARGEST_TOOL_NUMBER = 99_999_999


class ToolNumberForm(forms.Form):
    """The T number in an address: `?t=5`."""

    t = forms.IntegerField(min_value=0, max_value=LARGEST_TOOL_NUMBER)


#: Answers to "where does it go?" that are no number of a pocket.
SPINDLE, OTHER_POCKET = "spindle", "other"
LARGEST_POCKET = 9_999
_FIGURES = {"autocomplete": "off", "inputmode": "numeric"}


class DecisionForm(SubmissionForm):
    """Loaded or refused. How the tool was found, and what it was held against, is not asked here:
    the server knows. `seen` only says which verdict stood on the screen.
    """

    decision = forms.ChoiceField(choices=Decision.choices, widget=forms.HiddenInput)
    seen = forms.CharField(max_length=64, widget=forms.HiddenInput)
    seen_word = forms.CharField(max_length=10, widget=forms.HiddenInput)
    #: Said by the button: "It reads H-07. Loaded".
    mark_agrees = forms.BooleanField(required=False, widget=forms.HiddenInput)
    shown_number = forms.IntegerField(
        required=False, min_value=0, max_value=LARGEST_TOOL_NUMBER, label="The control shows"
    )
    reason = forms.ChoiceField(
        required=False, choices=[*ACCEPT_REASONS.items(), *REFUSE_REASONS.items()]
    )
    reason_text = forms.CharField(required=False, max_length=200, label="In your own words")
    mark_there = forms.CharField(
        required=False,
        max_length=40,
        label="What the holder reads",
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters"}),
    )
    place = forms.CharField(required=False, max_length=8)
    pocket = forms.IntegerField(
        required=False,
        min_value=1,
        max_value=LARGEST_POCKET,
        label="Number of the pocket",
        widget=forms.TextInput(attrs=_FIGURES | {"maxlength": "4"}),
    )
    pocket.said_of_empty = "of another one"

    def clean(self) -> dict:
        """`pocket` becomes what was said with a tile or keyed; None is the spindle."""
        data = super().clean()
        place = data.get("place", "")
        if place == SPINDLE:
            data["pocket"] = None
        elif place.isascii() and place.isdigit():
            data["pocket"] = int(place)
        elif place not in ("", OTHER_POCKET):
            self.add_error("place", "That is no place.")
        return data


class OverrideForm(DecisionForm):
    """Who answers for a soft stop. The PIN is never shown again."""

    overrider = forms.ModelChoiceField(
        Person.objects.none(), empty_label="Choose a name", label="Who answers for it"
    )
    pin = forms.CharField(
        max_length=6,
        label="PIN",
        widget=forms.PasswordInput(attrs=_FIGURES | {"maxlength": "6", "class": "keyed-pin"}),
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["overrider"].queryset = people_who_may_override()


class ControlNumberForm(forms.Form):
    """The number that the control shows, keyed before the scan."""

    shown_number = forms.IntegerField(min_value=0, max_value=LARGEST_TOOL_NUMBER)
    next = forms.CharField(required=False, max_length=500)


class AskForm(SubmissionForm):
    """Which T the programmer is asked to state."""

    tool_number = forms.IntegerField(min_value=0, max_value=LARGEST_TOOL_NUMBER)
    next = forms.CharField(required=False, max_length=500)


class StationForm(forms.Form):
    """Machine and program of this screen; no program is an answer too."""

    machine = forms.ModelChoiceField(Machine.objects.all(), to_field_name="mark_key")
    revision = forms.IntegerField(required=False, min_value=1)
    next = forms.CharField(required=False, max_length=500)
