"""Forms of taking an assembly apart, and of making another one like it."""

from __future__ import annotations

from collections.abc import Sequence

from django import forms

from assemblies.actions.dismantle import Fate, parts_seen
from assemblies.actions.part_returns import FIT, destinations_of
from assemblies.forms.bench import PurposeField, purposes
from assemblies.models import BuildPart
from crib.forms.submission import SubmissionForm

KEEP, RETIRE = "keep", "retire"


class DismantleForm(SubmissionForm):
    """Where each part goes; fields `goes_to_…` and `note_…` by role."""

    afterwards = forms.ChoiceField(
        choices=[
            (KEEP, "Keep it: an empty draft stays on the bench"),
            (RETIRE, "Retire it: the number is never used again"),
        ],
        initial=KEEP,
        widget=forms.RadioSelect,
        label="The number",
    )
    reason = forms.CharField(
        max_length=200, label="Why", error_messages={"required": "Say why in a few words."}
    )

    #: The parts that the page showed.
    seen = forms.CharField(max_length=400, required=False, widget=forms.HiddenInput)

    def __init__(self, data=None, *, parts: Sequence[BuildPart] = ()) -> None:
        super().__init__(data, initial={"seen": parts_seen(parts)})
        self.parts = list(parts)
        for part in self.parts:
            self.fields[f"goes_to_{part.role}"] = forms.ChoiceField(
                choices=destinations_of(part.item.kind), initial=FIT, label="Where it goes"
            )
            note = forms.CharField(max_length=120, required=False, label="What is wrong with it")
            note.said_of_empty = "empty for its drawer"
            self.fields[f"note_{part.role}"] = note

    def rows(self) -> list[tuple[BuildPart, forms.BoundField, forms.BoundField]]:
        """Each part with its two fields, for the page."""
        return [
            (part, self[f"goes_to_{part.role}"], self[f"note_{part.role}"]) for part in self.parts
        ]

    def fates(self) -> dict[str, Fate]:
        data = self.cleaned_data
        return {
            part.role: Fate(data[f"goes_to_{part.role}"], data[f"note_{part.role}"])
            for part in self.parts
        }


class CopyForm(SubmissionForm):
    name = forms.CharField(max_length=80, required=False, label="What it is for")
    meant_for = PurposeField()

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["meant_for"].queryset = purposes()
