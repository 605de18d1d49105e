"""A field for a figure with a unit, as sums are typed: mm or inch, N·m or lbf·ft."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from django import forms
from django.core.exceptions import ValidationError

from assemblies.rules.sums.amounts import NotAnAmount, read_amount

#: More than any list of lives or mixed runs that a person types.
MOST_IN_A_LIST = 500


class AmountField(forms.Field):
    """A number, with its unit or in the first of `units`; cleans to that sum's base as a float."""

    widget = forms.TextInput

    def __init__(
        self,
        units: Mapping[str, int | Fraction],
        *,
        least: float | None = None,
        most: float | None = None,
        **kwargs,
    ) -> None:
        self.units, self.least, self.most = units, least, most
        self.unit = next(iter(units))
        super().__init__(**kwargs)

    def widget_attrs(self, widget):
        return {"autocomplete": "off", "maxlength": "30", "spellcheck": "false"}

    def to_python(self, value):
        text = str(value).strip() if value is not None else ""
        if not text:
            return None
        return self.read(text)

    def read(self, text: str) -> float:
        try:
            amount = read_amount(text, self.units)
        except NotAnAmount as error:
            raise ValidationError(str(error)) from error
        self._check(amount, text)
        return amount

    def _check(self, amount: float, text: str) -> None:
        if self.least is None and amount <= 0:
            raise ValidationError("It has to be above zero.")
        if self.least is not None and amount < self.least:
            raise ValidationError(f"{text} is too small here.")
        if self.most is not None and amount > self.most:
            raise ValidationError(f"{text} is too large here.")


class CountField(forms.IntegerField):
    """A whole number of teeth or the like."""

    def __init__(self, *, most: int = 200, **kwargs) -> None:
        super().__init__(min_value=1, max_value=most, **kwargs)


class AmountsField(AmountField):
    """Several figures with blanks or line breaks between them; cleans to a list."""

    widget = forms.Textarea

    def __init__(self, units: Mapping[str, int | Fraction], **kwargs) -> None:
        super().__init__(units, **kwargs)
        self.unit = ""

    def widget_attrs(self, widget):
        return {"rows": "2", "maxlength": "4000", "spellcheck": "false"}

    def to_python(self, value):
        words = str(value or "").replace(";", " ").split()
        if len(words) > MOST_IN_A_LIST:
            raise ValidationError(f"{len(words)} figures; {MOST_IN_A_LIST} is the most.")
        return [self.read(word) for word in words]
