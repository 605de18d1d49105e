"""Forms of labels: what came through the scan field, printing, making one void."""

from __future__ import annotations

from django import forms

from crib.forms.submission import SubmissionForm


class ScanForm(forms.Form):
    """An entry as it arrived. `scanned` is set by a field that only scanners write to."""

    entry = forms.CharField(max_length=200, strip=True)
    scanned = forms.BooleanField(required=False)


class CancelLabelForm(SubmissionForm):
    reason = forms.CharField(
        max_length=120, label="Why it is void", help_text="As: print lost, stuck on another holder."
    )
