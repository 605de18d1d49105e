"""Forms of what is measured and weighed on a built assembly."""

from __future__ import annotations

from django import forms
from django.core.exceptions import ValidationError

from assemblies.actions.sittings import FULL_TURN_DEG, Reading
from assemblies.actions.weigh import MOST_G
from assemblies.models import ReadOn
from assemblies.rules.readings_entry import read_readings_um
from crib.forms.fields import LengthField, MeasuredField, WholeField
from crib.forms.submission import SubmissionForm
from crib.models import Instrument, InstrumentKind
from crib.rules.keys import key_of
from crib.rules.units import NotALength

#: Characters of the longest row of readings.
_LONGEST = 200


class ReadingsField(MeasuredField):
    """One or several readings of a length, `104.02 104.03`; cleans to a tuple of [um]."""

    unit = "mm"

    def widget_attrs(self, widget):
        return super().widget_attrs(widget) | {"maxlength": str(_LONGEST), "inputmode": "text"}

    def to_python(self, value):
        text = str(value).strip() if value is not None else ""
        try:
            readings_um = tuple(read_readings_um(text[: _LONGEST + 1]))
        except NotALength as error:
            raise ValidationError(str(error)) from error
        if 0 in readings_um and not self.zero_allowed:
            raise ValidationError("Zero is not a measure. Leave it empty when it is not known.")
        return readings_um


class InstrumentField(forms.CharField):
    """An instrument by its mark, or in words where none is on record."""

    def __init__(self, **kwargs) -> None:
        attrs = {"autocomplete": "off", "spellcheck": "false", "list": "instruments"}
        super().__init__(
            max_length=40, required=False, widget=forms.TextInput(attrs=attrs), **kwargs
        )


class MeasureForm(SubmissionForm):
    """Readings of one sitting; at least one. Last readings are shown beside, never filled in."""

    gauge_length = ReadingsField(required=False, label="Gauge length")
    diameter = ReadingsField(required=False, label="Cutting diameter")
    runout = ReadingsField(required=False, zero_allowed=True, label="Runout (TIR)")
    runout_distance = LengthField(
        required=False, zero_allowed=True, label="Runout read at, from the nut face"
    )
    read_on = forms.ChoiceField(
        choices=[("", "not said"), *ReadOn.choices], required=False, label="Runout read on"
    )
    clock_deg = WholeField(
        required=False,
        unit="°",
        min_value=0,
        most=FULL_TURN_DEG - 1,
        label="High spot, from the mark of the drive slot",
    )
    runout_instrument = InstrumentField(label="Indicator, when it is another")
    corner_radius = ReadingsField(required=False, zero_allowed=True, label="Corner radius")
    instrument = InstrumentField(label="Instrument")

    _QUANTITIES = ("gauge_length", "diameter", "runout", "corner_radius")
    #: What says where runout was read, and nothing without it.
    _OF_RUNOUT = {
        "runout_distance": "A distance",
        "clock_deg": "A high spot",
        "read_on": "A place",
        "runout_instrument": "An indicator",
    }

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["gauge_length"].widget.attrs["autofocus"] = True

    def clean(self):
        cleaned = super().clean()
        if not self.errors and not any(cleaned.get(name) for name in self._QUANTITIES):
            raise forms.ValidationError("Enter at least one reading.")
        if "runout" in self.errors or cleaned.get("runout"):
            return cleaned
        for name, what in self._OF_RUNOUT.items():
            if cleaned.get(name) not in (None, ""):
                self.add_error("runout", f"{what} is entered, but no runout.")
                break
        return cleaned

    def readings(self) -> list[Reading]:
        """The readings of the fields that are sound; those that are not are left out."""
        known = instruments_by_key(
            self.cleaned_data.get(name) for name in ("instrument", "runout_instrument")
        )
        return [
            Reading.of(name, self.cleaned_data[name], **self._more(name, known))
            for name in self._QUANTITIES
            if self.cleaned_data.get(name)
        ]

    def _more(self, quantity: str, known: dict[str, Instrument]) -> dict:
        data = self.cleaned_data
        of_runout = quantity == "runout"
        words = (data.get("runout_instrument") if of_runout else "") or data.get("instrument") or ""
        found = known.get(key_of(words))
        more = {"instrument": found.mark if found else words, "measured_with": found}
        if of_runout:
            more |= {"distance_um": data.get("runout_distance"), "read_on": data.get("read_on")}
            more |= {"clock_deg": data.get("clock_deg")}
        return more


def instruments_by_key(entries) -> dict[str, Instrument]:
    """The measuring instruments on record among marks as typed, by key; no query without any."""
    keys = {key_of(entry) for entry in entries if entry}
    rows = Instrument.objects.filter(mark_key__in=keys).exclude(kind=InstrumentKind.WRENCH)
    return {row.mark_key: row for row in rows} if keys else {}


class WeighForm(SubmissionForm):
    mass_g = WholeField(unit="g", most=MOST_G, label="Mass of the whole assembly")
    centre_um = LengthField(
        required=False, label="Gauge line to where it balances, towards the tip"
    )
    instrument = InstrumentField(label="Scale")
