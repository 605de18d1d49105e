"""The form of a machine: what fits its spindle, and the limits its maker gives."""

from __future__ import annotations

from django import forms

from assemblies.models import Machine
from crib.forms.fields import LengthField, WholeField
from crib.forms.submission import SubmissionForm
from crib.reference import tapers
from crib.rules.keys import key_of


class MachineForm(SubmissionForm, forms.ModelForm):
    interface = forms.ChoiceField(
        label="Spindle taper", help_text="Form and size by the standard named on the machine."
    )
    speed_min_rpm = WholeField(required=False, unit="1/min", label="Lowest speed")
    speed_max_rpm = WholeField(required=False, unit="1/min", label="Highest speed")
    override_ceiling_percent = WholeField(
        unit="%", most=300, min_value=100, label="Spindle override goes up to"
    )
    length_max_um = LengthField(required=False, label="Longest tool (gauge length)")
    diameter_max_um = LengthField(required=False, label="Widest tool")
    pockets = WholeField(required=False, min_value=0, most=1000, label="Pockets of the changer")
    mass_max_g = WholeField(required=False, unit="g", label="Heaviest tool")

    class Meta:
        model = Machine
        fields = [
            "mark",
            "name",
            "interface",
            "uses_stud",
            "stud_pattern",
            "tool_change",
            "pockets",
            "speed_min_rpm",
            "speed_max_rpm",
            "override_ceiling_percent",
            "turns_cw",
            "turns_ccw",
            "length_max_um",
            "diameter_max_um",
            "mass_max_g",
            "touches_off_every_load",
            "is_router",
            "note",
        ]
        labels = {
            "mark": "Mark",
            "uses_stud": "Its drawbar pulls on a pull stud",
            "stud_pattern": "Pull stud pattern",
            "touches_off_every_load": "The length is touched off at every load",
            "is_router": "Wood router (runout limits are doubled)",
        }
        help_texts = {
            "stud_pattern": "Needed when its drawbar pulls on one; the shop's own name, as A.",
            "is_router": "",
        }

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["interface"].choices = [("", "pick one")] + [
            (row.code, f"{row.code} ({row.family})") for row in tapers()
        ]

    def clean_mark(self) -> str:
        """Refuse the few marks whose page could not be told from another page."""
        mark = self.cleaned_data["mark"]
        if key_of(mark) == "new" or key_of(mark).endswith("/edit"):
            raise forms.ValidationError(f"“{mark}” is a word of the addresses. Take another mark.")
        return mark

    def clean_pockets(self) -> int:
        return self.cleaned_data["pockets"] or 0

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("uses_stud") and not cleaned.get("stud_pattern"):
            self.add_error("stud_pattern", "Say which stud pattern the drawbar takes.")
        if not cleaned.get("uses_stud"):
            cleaned["stud_pattern"] = ""
        low, high = cleaned.get("speed_min_rpm"), cleaned.get("speed_max_rpm")
        if low and high and low > high:
            self.add_error("speed_max_rpm", f"The highest speed is below the lowest, {low}.")
        return cleaned
