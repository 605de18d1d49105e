"""Forms of the re-clock test, one for each screen; nothing is stored before the last of them."""

from __future__ import annotations

from django import forms

from assemblies.actions.reclock import MOST_UM
from assemblies.models import PartRole, ReadOn
from assemblies.rules.runout_by_part.reclock import READ_PLACES, tells
from crib.forms.fields import LengthField, WholeField
from crib.forms.submission import SubmissionForm
from crib.models import Instrument, InstrumentKind

#: Hours of a clock with 12 at the mark, and the middle of each hour [deg].
HOURS = [(str(hour), str(hour)) for hour in (12, *range(1, 12))]
DEGREES_OF_AN_HOUR = 30


class IndicatorField(forms.ModelChoiceField):
    """An indicator of the shop, with its step where that is recorded."""

    def label_from_instance(self, row: Instrument) -> str:
        step = f"step {row.step_um / 1000:.3f} mm" if row.step_um else "step not recorded"
        return f"{row.mark}, {step}"


class WhatToTurnForm(forms.Form):
    """What is turned, and where the indicator stands for both readings."""

    turned = forms.ChoiceField(
        label="Part to turn",
        widget=forms.RadioSelect,
        error_messages={"required": "Pick the part to turn."},
    )
    read_on = forms.ChoiceField(
        choices=[(place, ReadOn(place).label) for place in READ_PLACES],
        label="Indicator on",
        widget=forms.RadioSelect,
        error_messages={"required": "Say what the indicator touches."},
    )
    distance = LengthField(required=False, zero_allowed=True, label="Distance from the nut face")
    instrument = IndicatorField(
        queryset=Instrument.objects.filter(kind=InstrumentKind.INDICATOR, is_retired=False),
        required=False,
        label="Indicator",
        empty_label="not recorded",
    )

    def __init__(self, *args, offered: dict[str, str], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        choices = [(role, f"{PartRole(role).label} {mark}") for role, mark in offered.items()]
        self.fields["turned"].choices = choices

    def clean(self):
        cleaned = super().clean()
        turned, read_on = cleaned.get("turned"), cleaned.get("read_on")
        if turned and read_on and not tells(turned, read_on):
            self.add_error("read_on", "With a bar in place there is no cutter to turn.")
        return cleaned


class _ClockForm(forms.Form):
    """One reading: how much, and at which hour, or by degrees where somebody has them."""

    name = ""

    def clean(self):
        cleaned = super().clean()
        if (cleaned.get(self.name) or 0) > MOST_UM:
            self.add_error(self.name, "More than 1 mm is no runout. Look at the decimal point.")
        hour, degrees = cleaned.get(f"{self.name}_hour"), cleaned.get(f"{self.name}_deg")
        if hour and degrees is not None and not self.errors:
            self.add_error(f"{self.name}_deg", "Tap an hour or type degrees, not both.")
        elif not hour and degrees is None and not self.errors:
            self.add_error(f"{self.name}_hour", "Tap the hour of the high spot.")
        return cleaned

    @property
    def reading(self) -> tuple[int, int]:
        """Full indicator reading [um] and place of its high spot [deg]."""
        degrees = self.cleaned_data[f"{self.name}_deg"]
        if degrees is None:
            degrees = int(self.cleaned_data[f"{self.name}_hour"]) % 12 * DEGREES_OF_AN_HOUR
        return self.cleaned_data[self.name], degrees


def _size() -> LengthField:
    return LengthField(zero_allowed=True, label="Runout (TIR)", help_text="0.014 or 14 µm")


def _hour() -> forms.ChoiceField:
    field = forms.ChoiceField(
        choices=HOURS, required=False, label="High spot at o'clock", widget=forms.RadioSelect
    )
    field.said_of_empty = "or in degrees"
    return field


def _degrees() -> WholeField:
    field = WholeField(unit="°", min_value=0, most=359, required=False, label="In degrees")
    field.said_of_empty = "clockwise from the mark, in place of the hour"
    return field


class FirstReadingForm(_ClockForm):
    name = "first"
    first = _size()
    first_hour = _hour()
    first_deg = _degrees()


class SecondReadingForm(_ClockForm, SubmissionForm):
    name = "second"
    second = _size()
    second_hour = _hour()
    second_deg = _degrees()
