"""Forms at the spindle: machine and program of a screen, the decision, the search of checks."""

from __future__ import annotations

from django import forms

from assemblies.actions.spindle import ACCEPT_REASONS, REFUSE_REASONS
from assemblies.models import Decision, Machine, SpindleCheck
from crib.forms.submission import SubmissionForm

#: Some controls number tools with eight figures (common practice); longer is a slip.
LARGEST_TOOL_NUMBER = 99_999_999


class ToolNumberForm(forms.Form):
    """The T number in an address: `?t=5`."""

    t = forms.IntegerField(min_value=0, max_value=LARGEST_TOOL_NUMBER)


class DecisionForm(SubmissionForm):
    """Loaded or refused. How the tool was found, and what it was held against, is not asked here:
    the server knows. `seen` only says which verdict stood on the screen.
    """

    decision = forms.ChoiceField(choices=Decision.choices, widget=forms.HiddenInput)
    seen = forms.CharField(max_length=64, widget=forms.HiddenInput)
    seen_word = forms.CharField(max_length=10, widget=forms.HiddenInput)
    shown_number = forms.IntegerField(
        required=False, min_value=0, max_value=LARGEST_TOOL_NUMBER, label="The control shows"
    )
    reason = forms.ChoiceField(
        required=False, choices=[*ACCEPT_REASONS.items(), *REFUSE_REASONS.items()]
    )
    reason_text = forms.CharField(required=False, max_length=200, label="In your own words")


class StationForm(forms.Form):
    """Machine and program of this screen; no program is an answer too."""

    machine = forms.ModelChoiceField(Machine.objects.all(), to_field_name="mark_key")
    revision = forms.IntegerField(required=False, min_value=1)
    next = forms.CharField(required=False, max_length=500)


class CheckSearchForm(forms.Form):
    """What the list of checks is cut down to."""

    machine = forms.ModelChoiceField(
        Machine.objects.all(), required=False, to_field_name="mark_key", empty_label="All machines"
    )
    verdict = forms.ChoiceField(required=False)
    decision = forms.ChoiceField(
        required=False, choices=[("", "Loaded and refused"), *Decision.choices]
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        words = SpindleCheck._meta.get_field("verdict").choices
        self.fields["verdict"].choices = [("", "All verdicts"), *words]
