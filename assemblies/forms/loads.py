"""Forms about where assemblies are: taken out, borrowed, and the pockets of a changer filled."""

from __future__ import annotations

from collections.abc import Iterable

from django import forms

from assemblies.forms.spindle import LARGEST_TOOL_NUMBER
from assemblies.models import Edge, Machine
from crib.forms.submission import SubmissionForm


class TakeOutForm(SubmissionForm):
    """How a tool came out: the button that was tapped says it."""

    out_as = forms.ChoiceField(
        choices=Edge, error_messages={"required": "Say how it came out: good, worn or broken."}
    )
    note = forms.CharField(required=False, max_length=120, label="In your own words")


class BorrowForm(SubmissionForm):
    """ "I take it": where to, when that is known, and what for."""

    machine = forms.ModelChoiceField(
        Machine.objects.all(),
        required=False,
        to_field_name="mark_key",
        empty_label="not said",
        label="Where to",
    )
    note = forms.CharField(required=False, max_length=120, label="What for")


class TrayStepForm(forms.Form):
    """A step with the list of scanned tools: one taken off, a pocket passed over, all off."""

    REMOVE, SKIP, EMPTY = "remove", "skip", "empty"

    step = forms.ChoiceField(choices=[(name, name) for name in (REMOVE, SKIP, EMPTY)])
    number = forms.IntegerField(required=False, min_value=1, max_value=99_999_999)


class CompareForm(forms.Form):
    """What the control shows for each pocket, keyed by the operator; empty: not compared yet."""

    def __init__(self, *args, numbers: Iterable[int], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        for number in numbers:
            self.fields[shown_name(number)] = forms.IntegerField(
                required=False, min_value=0, max_value=LARGEST_TOOL_NUMBER, label="Control shows"
            )
            self.fields[pocket_name(number)] = forms.IntegerField(required=False)

    def shown(self, number: int) -> int | None:
        """The number keyed for an assembly, None where none was."""
        return self.cleaned_data.get(shown_name(number))

    def pocket(self, number: int) -> int | None:
        """The pocket that stood beside that field on the page, None where none was sent."""
        return self.cleaned_data.get(pocket_name(number))


def pocket_name(number: int) -> str:
    """Name of the hidden field for the pocket that the page showed for one assembly."""
    return f"pocket_{number}"


def shown_name(number: int) -> str:
    """Name of the field for what the control shows for one assembly."""
    return f"shown_{number}"
