"""Form fields for lengths, torques and speeds: typed as people do, cleaned to whole units."""

from __future__ import annotations

import re
from decimal import Decimal

from django import forms
from django.core.exceptions import ValidationError

from crib.rules.units import NotALength, mm_from_um, read_length_um

#: No nut or stud in a tool crib is tightened to more; larger input is a slip of the keyboard.
MOST_NM = 2000
_DECIMAL = re.compile(r"^([0-9]{1,9})(?:[.,]([0-9]{1,9}))?$")


class MeasuredField(forms.Field):
    """A measure typed as text; `unit` is printed behind the box."""

    widget = forms.TextInput
    unit = ""

    def __init__(self, *, zero_allowed: bool = False, **kwargs) -> None:
        self.zero_allowed = zero_allowed
        super().__init__(**kwargs)

    def widget_attrs(self, widget):
        return {"autocomplete": "off", "maxlength": "24", "spellcheck": "false"}

    def to_python(self, value):
        text = str(value).strip() if value is not None else ""
        if not text:
            return None
        amount = self.read(text)
        if amount == 0 and not self.zero_allowed:
            raise ValidationError("Zero is not a measure. Leave it empty when it is not known.")
        return amount

    def prepare_value(self, value):
        return self.show(value) if isinstance(value, int) else value

    def has_changed(self, initial, data):
        try:
            return self.to_python(data) != initial
        except ValidationError:
            return True

    def read(self, text: str) -> int:
        raise NotImplementedError

    def show(self, amount: int) -> str:
        raise NotImplementedError


class LengthField(MeasuredField):
    """A length in mm, or in inches when it says so (`1/2 in`); cleans to micrometres [um]."""

    unit = "mm"

    def read(self, text: str) -> int:
        try:
            return read_length_um(text)
        except NotALength as error:
            raise ValidationError(str(error)) from error

    def show(self, amount: int) -> str:
        text = f"{mm_from_um(amount):f}"
        return text.rstrip("0").rstrip(".") if "." in text else text


class SignedLengthField(LengthField):
    """A place along an axis, on either side of zero; cleans to micrometres [um]."""

    def read(self, text: str) -> int:
        # A typed minus may be the sign of mathematics instead of the keyboard's.
        behind = text.startswith(("-", "−"))
        amount = super().read(text[1:] if behind else text)
        return -amount if behind else amount


class ScaledField(MeasuredField):
    """A decimal number kept as a whole count of its last place: `2.5` with one place is 25."""

    places = 1
    most = 1_000_000

    def read(self, text: str) -> int:
        match = _DECIMAL.match(text.removesuffix(self.unit).strip())
        if match is None or len(match[2] or "") > self.places:
            raise ValidationError(f"“{text[:24]}” is not a number with {self._figures}.")
        amount = int(match[1] + (match[2] or "").ljust(self.places, "0"))
        if amount > self.most * 10**self.places:
            raise ValidationError(f"More than {self.most} {self.unit}. Look at the decimal point.")
        return amount

    @property
    def _figures(self) -> str:
        return f"at most {self.places} figures behind the point"

    def show(self, amount: int) -> str:
        whole, rest = divmod(amount, 10**self.places)
        return f"{whole}.{rest:0{self.places}d}".rstrip("0").rstrip(".")


class TorqueField(ScaledField):
    """A torque in N·m; cleans to millinewton metres [mN·m]."""

    unit = "N·m"
    places = 3
    most = MOST_NM


class HoursField(MeasuredField):
    """A time of use in hours; cleans to whole minutes [min]."""

    unit = "h"
    most = 100_000

    def read(self, text: str) -> int:
        match = _DECIMAL.match(text.removesuffix(self.unit).strip())
        if match is None:
            raise ValidationError(f"“{text[:24]}” is not a number of hours.")
        hours = Decimal(f"{match[1]}.{match[2] or 0}")
        if hours > self.most:
            raise ValidationError(f"More than {self.most} h. Look at the decimal point.")
        return round(hours * 60)

    def show(self, amount: int) -> str:
        # Two places of an hour are finer than a minute: what is shown reads back the same.
        return f"{Decimal(amount) / 60:.2f}".rstrip("0").rstrip(".")


class PriceField(ScaledField):
    """A price in the shop's currency; cleans to hundredths."""

    places = 2

    def show(self, amount: int) -> str:
        return f"{amount // 100}.{amount % 100:02d}"


class BalanceGradeField(ScaledField):
    """The figure behind the G of a balance grade; cleans to tenths."""

    most = 100


class AngleField(ScaledField):
    """An included angle in degrees; cleans to tenths of a degree."""

    unit = "°"
    most = 180


class YesNoField(forms.TypedChoiceField):
    """Yes, no, or nobody recorded it: three different answers."""

    def __init__(self, **kwargs) -> None:
        answers = [("", "Not recorded"), ("True", "Yes"), ("False", "No")]
        super().__init__(
            choices=answers, coerce=lambda text: text == "True", empty_value=None, **kwargs
        )


class WholeField(forms.IntegerField):
    """A whole number above zero, with its unit printed behind the box."""

    def __init__(self, *, unit: str = "", most: int = 1_000_000, **kwargs) -> None:
        kwargs = {"min_value": 1, "max_value": most} | kwargs
        words = f"Enter a whole number from {kwargs['min_value']} to {kwargs['max_value']}."
        wrong = dict.fromkeys(("invalid", "min_value", "max_value"), words)
        super().__init__(**kwargs, error_messages=wrong)
        self.unit = unit


class DayField(forms.DateField):
    """A day, picked or typed."""

    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
