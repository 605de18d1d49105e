"""Forms of what is measured and weighed on a built assembly."""

from __future__ import annotations

from collections.abc import Collection

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
#: Kinds of instrument that read no length.
NOT_FOR_LENGTHS = (InstrumentKind.WRENCH, InstrumentKind.SCALE)


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


class RevisionForm(SubmissionForm):
    """A form about one revision: what was read off it belongs to no other."""

    revision = forms.IntegerField(
        required=False, min_value=0, max_value=1_000_000, widget=forms.HiddenInput
    )


class MeasureForm(RevisionForm):
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
    runout_instrument = InstrumentField(
        label="Indicator for the runout", help_text="Empty: the instrument named below."
    )
    corner_radius = ReadingsField(required=False, zero_allowed=True, label="Corner radius")
    instrument = InstrumentField(label="Instrument")

    _INSTRUMENTS = ("instrument", "runout_instrument")
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
        self._known: dict[str, Instrument] = {}

    def clean(self):
        cleaned = super().clean()
        self._known = instruments_by_key(cleaned.get(name) for name in self._INSTRUMENTS)
        for name in self._INSTRUMENTS:
            found = self._known.get(key_of(cleaned.get(name) or ""))
            fault = fault_of(found, unfit=NOT_FOR_LENGTHS) if found else ""
            if fault:
                self.add_error(name, fault)
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
        return [
            Reading.of(name, self.cleaned_data[name], **self._more(name))
            for name in self._QUANTITIES
            if self.cleaned_data.get(name)
        ]

    def _more(self, quantity: str) -> dict:
        data = self.cleaned_data
        of_runout = quantity == "runout"
        words = (data.get("runout_instrument") if of_runout else "") or data.get("instrument") or ""
        found = self._known.get(key_of(words))
        more = {"instrument": found.mark if found else words, "measured_with": found}
        if of_runout:
            more |= {"distance_um": data.get("runout_distance"), "read_on": data.get("read_on")}
            more |= {"clock_deg": data.get("clock_deg")}
        return more


def instruments_by_key(entries) -> dict[str, Instrument]:
    """The instruments on record among marks as typed, by key; no query without any."""
    keys = {key_of(entry) for entry in entries if entry}
    rows = Instrument.objects.filter(mark_key__in=keys)
    return {row.mark_key: row for row in rows} if keys else {}


def fault_of(instrument: Instrument, unfit: Collection[str]) -> str:
    """Why an instrument is not to be read from; "" where it may be."""
    if instrument.kind in unfit:
        kind = instrument.get_kind_display().lower()
        return f"{instrument.mark} is a {kind}. Pick another instrument."
    return f"{instrument.mark} is out of use. Take another." if instrument.is_retired else ""


class WeighForm(RevisionForm):
    mass_g = WholeField(unit="g", most=MOST_G, label="Mass of the whole assembly")
    centre_um = LengthField(
        required=False, label="Gauge line to where it balances, towards the tip"
    )
    instrument = InstrumentField(label="Scale")

    _UNFIT = tuple(kind for kind in InstrumentKind if kind != InstrumentKind.SCALE)

    def clean_instrument(self) -> Instrument | None:
        """The scale on record. A weighing keeps no words, so other entries are not dropped."""
        entry = self.cleaned_data["instrument"]
        if not entry:
            return None
        found = instruments_by_key([entry]).get(key_of(entry))
        fault = fault_of(found, self._UNFIT) if found else f"No scale is marked “{entry}”."
        if fault:
            raise ValidationError(fault)
        return found
