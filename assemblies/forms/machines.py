"""The form of a machine: what fits its spindle, its maker's limits, and how its control reads."""

from __future__ import annotations

from django import forms

from assemblies.models import Machine
from assemblies.models.machines import NumberNames, Units, ZeroAt
from assemblies.rules.m_codes import NotMCodes, read_m_codes, show_m_codes
from crib.forms.fields import LengthField, SignedLengthField, TorqueField, WholeField, YesNoField
from crib.forms.submission import SubmissionForm
from crib.reference import tapers
from crib.rules.keys import key_of

#: How its control reads a program where the standards leave it open.
READING_FIELDS = (
    "number_names",
    "zero_at",
    "default_units",
    "counts_least_increments",
    "t_alone_changes",
    "fixed_length_offsets",
    "g70_g71_are_units",
    "peck_back_off_um",
    "harmless_m_codes",
)
_CHOICES = ("number_names", "zero_at", "default_units")
#: Endings of a mark that would lead to another page of a machine.
_WORDS_OF_ADDRESSES = ("/edit", "/fill", "/fill/scan", "/fill/record")


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
    diameter_beside_max_um = LengthField(
        required=False,
        label="Widest tool beside full pockets",
        help_text="A wider one needs both neighbouring pockets empty.",
    )
    moment_max_mnm = TorqueField(
        required=False,
        label="Largest tilting moment",
        help_text="Of a tool in the changer, as the machine's maker states it.",
    )
    moment_plane_um = SignedLengthField(
        required=False,
        zero_allowed=True,
        label="Plane that the moment is about",
        help_text="From the gauge line: 0 is the gauge line itself, 15 lies towards the tip, "
        "-15 behind it.",
    )
    coolant_through = YesNoField(required=False, label="Coolant through the spindle")
    pockets = WholeField(required=False, min_value=0, most=1000, label="Pockets of the changer")
    mass_max_g = WholeField(required=False, unit="g", label="Heaviest tool")
    number_names = forms.ChoiceField(
        choices=NumberNames.choices,
        label="A T number names",
        help_text="As NIST IR 6556: the pocket of the changer.",
    )
    zero_at = forms.ChoiceField(
        choices=ZeroAt.choices,
        label="Z0 of its programs is at",
        help_text="The standards leave it open. Usual: the top of the work.",
    )
    default_units = forms.ChoiceField(
        choices=Units.choices,
        label="A program without G20 and G21 is in",
        help_text="The standards leave it to the machine. Usual: mm.",
    )
    peck_back_off_um = LengthField(
        required=False,
        zero_allowed=True,
        label="Back-off between pecks",
        help_text="Of G73 and G83, for path and time. No standard names one: 0 mm.",
    )
    harmless_m_codes = forms.CharField(
        required=False,
        max_length=120,
        label="M codes that leave tool and spindle alone",
        help_text="The machine builder's own, as M10 M11. As NIST IR 6556: none; any other M code "
        "is not understood, and the program counts as not fully read.",
    )

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
            "diameter_beside_max_um",
            "mass_max_g",
            "moment_max_mnm",
            "moment_plane_um",
            "coolant_through",
            "touches_off_every_load",
            "is_router",
            "key_number_first",
            "note",
            *READING_FIELDS,
        ]
        labels = {
            "mark": "Mark",
            "uses_stud": "Its drawbar pulls on a pull stud",
            "stud_pattern": "Pull stud pattern",
            "touches_off_every_load": "The length is touched off at every load",
            "is_router": "Wood router (runout limits are doubled)",
            "key_number_first": "The number is keyed before the scan",
            "counts_least_increments": "A length without a point counts 0.001 mm or 0.0001 in",
            "t_alone_changes": "T alone changes the tool, without M6",
            "fixed_length_offsets": "H numbers are fixed and do not follow T",
            "g70_g71_are_units": "G70 means inch and G71 mm",
        }
        help_texts = {
            "stud_pattern": "Needed when its drawbar pulls on one; the shop's own name, as A.",
            "is_router": "",
            "key_number_first": "For those who want the operator's answer before ours.",
            "counts_least_increments": "As NIST IR 6556: no; X1000 is 1000 mm.",
            "t_alone_changes": "As NIST IR 6556: no; T selects, M6 changes.",
            "fixed_length_offsets": "As NIST IR 6556: no; an H other than T is a check.",
            "g70_g71_are_units": "As NIST IR 6556: no; they are not understood. ISO 6983-1 has "
            "them as units, many turning controls as cycles.",
        }

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["interface"].choices = [("", "pick one")] + [
            (row.code, f"{row.code} ({row.family})") for row in tapers()
        ]
        for name in _CHOICES:
            # An older page's form does not have it; then it stays as it was.
            self.fields[name].required = not self.is_bound or self.add_prefix(name) in self.data
        self.fields["peck_back_off_um"].said_of_empty = "empty: 0"
        self.fields["harmless_m_codes"].said_of_empty = "empty: none"

    def spindle_fields(self) -> list:
        """What it takes and how it is run: all that has nothing to do with reading programs."""
        return [field for field in self.visible_fields() if field.name not in READING_FIELDS]

    def reading_fields(self) -> list:
        return [self[name] for name in READING_FIELDS]

    def clean_mark(self) -> str:
        """Refuse the few marks whose page could not be told from another page."""
        mark = self.cleaned_data["mark"]
        if key_of(mark) == "new" or key_of(mark).endswith(_WORDS_OF_ADDRESSES):
            raise forms.ValidationError(f"“{mark}” is a word of the addresses. Take another mark.")
        return mark

    def clean_pockets(self) -> int:
        return self.cleaned_data["pockets"] or 0

    def clean_peck_back_off_um(self) -> int:
        return self.cleaned_data["peck_back_off_um"] or 0

    def clean_harmless_m_codes(self) -> str:
        try:
            return show_m_codes(read_m_codes(self.cleaned_data["harmless_m_codes"]))
        except NotMCodes as error:
            raise forms.ValidationError(str(error)) from error

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("uses_stud") and not cleaned.get("stud_pattern"):
            self.add_error("stud_pattern", "Say which stud pattern the drawbar takes.")
        if not cleaned.get("uses_stud"):
            cleaned["stud_pattern"] = ""
        for name in _CHOICES:
            cleaned[name] = cleaned.get(name) or getattr(self.instance, name)
        low, high = cleaned.get("speed_min_rpm"), cleaned.get("speed_max_rpm")
        if low and high and low > high:
            self.add_error("speed_max_rpm", f"The highest speed is below the lowest, {low}.")
        self._check_changer(cleaned)
        return cleaned

    def _check_changer(self, cleaned: dict) -> None:
        """A moment says nothing without its plane; beside full pockets there is less room."""
        moment, plane = cleaned.get("moment_max_mnm"), cleaned.get("moment_plane_um")
        if moment is not None and plane is None and "moment_plane_um" not in self.errors:
            self.add_error("moment_plane_um", "Say which plane the moment is about; 0: gauge line.")
        widest, beside = cleaned.get("diameter_max_um"), cleaned.get("diameter_beside_max_um")
        if widest and beside and beside > widest:
            self.add_error("diameter_beside_max_um", "Wider than the widest tool.")
