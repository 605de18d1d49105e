"""Forms of labels: what came through the scan field, printing, making one void."""

from __future__ import annotations

from django import forms

from assemblies.forms.bench import PutDownForm
from crib.forms.submission import SubmissionForm


class ScanForm(forms.Form):
    """An entry as it arrived. `scanned` is set by a field that only scanners write to."""

    entry = forms.CharField(max_length=200, strip=True)
    scanned = forms.BooleanField(required=False)


class PrintLabelForm(PutDownForm):
    """A print, and where the assembly goes with it; an empty place leaves it where it is."""

    def __init__(self, *args, may_put_down: bool, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        place = self.fields["place"]
        place.required = False
        place.label = "Where it will stand"
        place.empty_label = "not said"
        place.help_text = "So that the check at the spindle can say where to fetch it."
        if not may_put_down:
            del self.fields["place"]


class CancelLabelForm(SubmissionForm):
    reason = forms.CharField(
        max_length=120, label="Why it is void", help_text="As: print lost, stuck on another holder."
    )
