"""Forms of an instrument and of what happened to it."""

from __future__ import annotations

from django import forms
from django.utils import timezone

from crib.actions.instruments import LENGTH_ONLY, WRENCH_ONLY, fields_of
from crib.forms.fields import DayField, LengthField, TorqueField, WholeField
from crib.forms.submission import SubmissionForm
from crib.models import CalibrationResult, Instrument, InstrumentKind
from crib.rules.calibration import USUAL_MONTHS, USUAL_PULLS

_HINTS = {
    "months_between": f"{USUAL_MONTHS} months are usual.",
    "pulls_between": f"{USUAL_PULLS} pulls are usual, or the months, whichever comes first.",
    "reach_um": "From the square to the middle of the handle; needed with an adapter.",
    "uncertainty_um": "From its certificate, U with k = 2: write 8 µm or 0.008.",
    "step_um": "The smallest step it shows.",
}


class InstrumentForm(SubmissionForm, forms.ModelForm):
    """One instrument; only the figures that its kind carries are asked."""

    torque_min_mnm = TorqueField(required=False, label="Smallest setting")
    torque_max_mnm = TorqueField(required=False, label="Largest setting")
    reach_um = LengthField(required=False, label="Reach")
    step_um = LengthField(required=False, label="Step")
    uncertainty_um = LengthField(required=False, label="Uncertainty U")
    months_between = WholeField(required=False, unit="months", most=120, label="Calibrate every")
    pulls_between = WholeField(required=False, unit="pulls", label="Or after")

    class Meta:
        model = Instrument
        fields = [
            "mark",
            "description",
            *WRENCH_ONLY[:3],
            *LENGTH_ONLY,
            "months_between",
            "pulls_between",
            "note",
            "is_retired",
        ]
        labels = {"is_retired": "Taken out of use for good"}
        help_texts = {"mark": "As engraved or written on it, for example W-1."}

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        for name in {*WRENCH_ONLY, *LENGTH_ONLY} - set(fields_of(self.instance.kind)):
            del self.fields[name]
        if self.instance.pk is None:
            del self.fields["is_retired"]
        for name in _HINTS.keys() & self.fields.keys():
            self.fields[name].help_text = _HINTS[name]
        if self.instance.kind != InstrumentKind.WRENCH:
            self.fields["months_between"].help_text = ""


class CalibrationForm(SubmissionForm):
    """What came of a calibration, or what happened to it."""

    result = forms.ChoiceField(choices=CalibrationResult.choices, label="What happened")
    on = DayField(label="On", initial=timezone.localdate)
    certificate = forms.CharField(
        max_length=60, required=False, label="Certificate", help_text="Its number."
    )
    note = forms.CharField(max_length=200, required=False, label="Note")
