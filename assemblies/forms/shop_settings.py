"""The form of one limit of the shop: built from its setting, looked at first, then stored."""

from __future__ import annotations

import json

from django import forms

from assemblies.actions.shop_settings import LONGEST_REASON, LimitNow
from assemblies.rules.grip import GRIP_RULES
from assemblies.rules.shop_setting_rows import Kind, Setting
from assemblies.rules.shop_settings import (
    MOST_BANDS,
    Bands,
    NotASetting,
    Value,
    span_text,
    to_stored,
)
from crib.forms.fields import LengthField, WholeField
from crib.forms.submission import SubmissionForm

#: Bands but the last, which has no end.
_ENDED = range(1, MOST_BANDS)


class LimitForm(SubmissionForm):
    """One limit. `cleaned_data["value"]` is the new value.

    `seen` is the key of the change that the page showed. `looked` is the value whose effect was
    shown; it is stored only when that is the value sent.
    """

    reason = forms.CharField(
        label="Why",
        max_length=LONGEST_REASON,
        help_text="Kept in the history for good.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    seen = forms.IntegerField(min_value=0, widget=forms.HiddenInput)
    looked = forms.CharField(required=False, max_length=400, widget=forms.HiddenInput)

    def __init__(self, data, *, now: LimitNow, start: Value) -> None:
        self.now, self.setting = now, now.setting
        initial = {"seen": now.change.pk if now.change else 0, **_initial(now.setting, start)}
        super().__init__(data, initial=initial)
        self.fields = {**_value_fields(now.setting), **self.fields}

    def clean(self) -> dict:
        cleaned = super().clean()
        if not self.errors:
            try:
                cleaned["value"] = _value(self.setting, cleaned)
                self.stored = json.dumps(to_stored(self.setting.name, cleaned["value"]))
            except NotASetting as fault:
                self.add_error(None, str(fault))
        return cleaned

    @property
    def was_looked_at(self) -> bool:
        """Whether the effect of just this value was on the page that was sent."""
        return self.cleaned_data["looked"] == self.stored

    def looked_at(self) -> LimitForm:
        """The same form once more, for the page that shows the effect of its value."""
        data = self.data.copy()
        data["looked"] = self.stored
        return LimitForm(data, now=self.now, start=self.cleaned_data["value"])


def _value_fields(setting: Setting) -> dict[str, forms.Field]:
    if setting.kind is Kind.BANDS:
        return _band_fields()
    about = {"label": setting.words, "help_text": f"Allowed: {span_text(setting)}."}
    if setting.kind is Kind.CHOICE:
        about["help_text"] = setting.beyond
        return {"value": forms.ChoiceField(choices=list(GRIP_RULES.items()), **about)}
    if setting.kind is Kind.LENGTH:
        return {"value": LengthField(zero_allowed=setting.least == 0, **about)}
    unit = "times" if setting.unit == "×" else setting.unit
    ends = {"min_value": setting.least, "most": setting.most, "unit": unit}
    if not setting.may_be_uncounted:
        return {"value": WholeField(**ends, **about)}
    return {
        "value": WholeField(required=False, **ends, **about),
        "not_counted": forms.BooleanField(required=False, label="The shop counts no hours"),
    }


def _band_fields() -> dict[str, forms.Field]:
    fields = {}
    for place in _ENDED:
        fields[f"edge_{place}"] = LengthField(required=False, label=f"{place}. Cutting Ø up to")
        fields[f"runout_{place}"] = LengthField(
            required=False,
            label=f"{place}. Runout allowed",
            help_text="A band without figures is left out." if place == 1 else "",
        )
    fields["runout_last"] = LengthField(label="Above all these: runout allowed")
    return fields


def _initial(setting: Setting, value: Value) -> dict:
    if setting.kind is not Kind.BANDS:
        uncounted = setting.may_be_uncounted and value is None
        return {"not_counted": True} if uncounted else {"value": value}
    given: dict = {"runout_last": value[-1][1]}
    for place, (edge_um, allowed_um) in enumerate(value[:-1], start=1):
        given |= {f"edge_{place}": edge_um, f"runout_{place}": allowed_um}
    return given


def _value(setting: Setting, cleaned: dict) -> Value:
    if setting.kind is Kind.BANDS:
        return _bands(cleaned)
    if not setting.may_be_uncounted:
        return cleaned["value"]
    value, not_counted = cleaned["value"], cleaned["not_counted"]
    if not_counted == (value is not None):
        raise NotASetting("Enter hours, or say that none are counted.")
    return value


def _bands(cleaned: dict) -> Bands:
    """The bands with figures, in their order; half a band is refused, never guessed."""
    bands = []
    for place in _ENDED:
        pair = cleaned[f"edge_{place}"], cleaned[f"runout_{place}"]
        if None not in pair:
            bands.append(pair)
        elif pair != (None, None):
            raise NotASetting(f"Band {place} needs both a diameter and a runout.")
    return (*bands, (None, cleaned["runout_last"]))
