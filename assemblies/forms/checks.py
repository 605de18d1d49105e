"""Forms about decisions: searching the log, the after-check, corrections, the trial."""

from __future__ import annotations

from datetime import date
from urllib.parse import urlencode

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator

from assemblies.actions.check_log import LogWishes
from assemblies.actions.spindle import ACCEPT_REASONS, REFUSE_REASONS
from assemblies.forms.spindle import LARGEST_TOOL_NUMBER
from assemblies.models import Decision, Machine, ProgramRevision, SpindleCheck
from assemblies.rules.cautions import FIRST_RUN_UM, HANDS_ON
from crib.forms.fields import LengthField
from crib.forms.submission import SubmissionForm
from crib.models import Person

LARGEST_ASSEMBLY_NUMBER = 2_147_483_647
#: No shop has checks from before or after; days outside cannot be turned into moments everywhere.
FIRST_DAY, LAST_DAY = date(2000, 1, 1), date(2200, 12, 31)


def _day_field(label: str) -> forms.DateField:
    return forms.DateField(
        required=False,
        label=label,
        widget=forms.DateInput({"type": "date"}),
        validators=[
            MinValueValidator(FIRST_DAY, f"No day before {FIRST_DAY:%Y}."),
            MaxValueValidator(LAST_DAY, f"No day after {LAST_DAY:%Y}."),
        ],
    )


class LogForm(forms.Form):
    """What the log is cut down to. Every field may stay empty."""

    machine = forms.ModelChoiceField(
        Machine.objects.all(), required=False, to_field_name="mark_key", empty_label="All machines"
    )
    program = forms.CharField(required=False, max_length=60, label="Program (part of its name)")
    tool_number = forms.IntegerField(
        required=False, min_value=0, max_value=LARGEST_TOOL_NUMBER, label="T number"
    )
    assembly = forms.IntegerField(
        required=False, min_value=1, max_value=LARGEST_ASSEMBLY_NUMBER, label="Assembly"
    )
    verdict = forms.ChoiceField(required=False)
    decision = forms.ChoiceField(
        required=False, choices=[("", "Loaded and refused"), *Decision.choices]
    )
    reason = forms.ChoiceField(
        required=False,
        choices=[("", "Any reason"), *ACCEPT_REASONS.items(), *REFUSE_REASONS.items()],
    )
    overridden = forms.ChoiceField(
        required=False,
        choices=[("", "All"), ("yes", "Stops overridden"), ("own", "With the own PIN")],
        label="Overridden",
    )
    since = _day_field("From day")
    until = _day_field("To day")
    code = forms.RegexField(
        r"^[a-z0-9_.-]+$",
        required=False,
        max_length=60,
        label="Rule (its code)",
        error_messages={"invalid": "A code is written as collet.hours_over."},
    )
    not_fully_known = forms.BooleanField(required=False, label="Only those not fully known")
    person = forms.ModelChoiceField(
        Person.objects.all(), required=False, empty_label="Anybody", label="Who"
    )

    def __init__(self, *args, names: bool, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        words = SpindleCheck._meta.get_field("verdict").choices
        self.fields["verdict"].choices = [("", "All verdicts"), *words]
        if not names:
            del self.fields["person"]
        for field in self.fields.values():
            if "invalid_choice" in field.error_messages:
                field.error_messages["invalid_choice"] = "This is none of the choices."

    def clean(self) -> dict:
        data = super().clean()
        since, until = data.get("since"), data.get("until")
        if since and until and since > until:
            self.add_error("until", "The last day is before the first one.")
        return data

    def asked(self) -> str:
        """The wishes as the tail of an address, without page and order of a list."""
        kept = {name: self.data.getlist(name) for name in self.fields if self.data.get(name)}
        return urlencode(kept, doseq=True)

    def wishes(self) -> LogWishes:
        """What was asked for. Only of a form that is valid."""
        data = self.cleaned_data
        plain = {name: data[name] for name in data if name not in ("machine", "person")}
        machine, person = data["machine"], data.get("person")
        return LogWishes(
            **plain,
            machine=machine.pk if machine else None,
            person=person.pk if person else None,
        )


class HandsOnForm(SubmissionForm):
    """What hands and eyes have done. No tick is required."""

    done = forms.MultipleChoiceField(
        required=False,
        choices=[(step.key, step.text) for step in HANDS_ON],
        widget=forms.CheckboxSelectMultiple,
        label="Done",
    )
    offset_entered = forms.BooleanField(required=False, label="Length touched off, or entered")
    first_run_height_um = LengthField(
        required=False,
        zero_allowed=True,
        label="First run this high above the work",
        help_text=f"{FIRST_RUN_UM // 1000} mm is usual. Empty: not said.",
    )


class CorrectionForm(SubmissionForm):
    """What the toolroom found."""

    note = forms.CharField(max_length=200, label="What was found, and what was put right")


class TrialForm(forms.Form):
    """What a trial is about; nothing of it is kept."""

    assembly = forms.IntegerField(
        min_value=1, max_value=LARGEST_ASSEMBLY_NUMBER, label="Assembly number"
    )
    machine = forms.ModelChoiceField(
        Machine.objects.all(), to_field_name="mark_key", empty_label="Pick one"
    )
    revision = forms.ModelChoiceField(
        ProgramRevision.objects.select_related("program")
        .defer("content")
        .order_by("program__name_key", "-added_at"),
        required=False,
        empty_label="No program",
        label="Program and revision",
    )
    t = forms.IntegerField(
        required=False,
        min_value=0,
        max_value=LARGEST_TOOL_NUMBER,
        label="T number",
        help_text="Empty: the one that it meets.",
    )
