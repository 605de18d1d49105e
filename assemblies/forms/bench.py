"""Forms of the bench: parts, what was set, what was measured, and the steps in between."""

from __future__ import annotations

from django import forms
from django.db.models import OuterRef, Q, QuerySet, Subquery

from assemblies.actions.measure import Reading
from assemblies.models import PartRole, ProgramRevision, ToolRequirement
from crib.forms.fields import LengthField, TorqueField
from crib.forms.submission import SubmissionForm
from crib.models import Place, PlaceKind, StudState


class PurposeField(forms.ModelChoiceField):
    """A tool number of a program; only those that a shop would build for today are offered."""

    def __init__(self, **kwargs) -> None:
        empty = {"empty_label": "any program", "label": "Built for", "required": False}
        super().__init__(queryset=ToolRequirement.objects.none(), **empty | kwargs)

    def label_from_instance(self, row: ToolRequirement) -> str:
        return purpose_text(row)


def purpose_text(row: ToolRequirement) -> str:
    """`T5 in HM-0377 B`, with the kind wanted when that is stated."""
    kind = f", {row.get_kind_display()}" if row.kind else ""
    return f"T{row.tool_number} in {row.revision}{kind}"


def purposes(chosen: int | None = None) -> QuerySet[ToolRequirement]:
    """Tool numbers of the newest and of the approved revisions, and the one `chosen` already."""
    newest = (
        ProgramRevision.objects.filter(program=OuterRef("revision__program"))
        .order_by("-added_at", "-id")
        .values("pk")[:1]
    )
    approved = ProgramRevision.objects.filter(approvals__state="approved").values("pk")
    return (
        ToolRequirement.objects.filter(
            Q(revision=Subquery(newest)) | Q(revision__in=approved) | Q(pk=chosen)
        )
        .select_related("revision__program")
        .defer("revision__content")
        .order_by("revision__program__name_key", "-revision__added_at", "tool_number")
    )


class StartForm(SubmissionForm):
    name = forms.CharField(max_length=80, required=False, label="What it is for")


class ScanInput(forms.TextInput):
    """Comes back empty after a refusal: the next scan must not land behind the last one."""

    def format_value(self, value) -> None:
        return None


class PutForm(SubmissionForm):
    """One part, by the mark engraved on it or by its item code."""

    entry = forms.CharField(
        max_length=40,
        label="Mark or item code",
        error_messages={"required": "Scan or type a mark or an item code."},
        widget=ScanInput(
            attrs={
                "autocomplete": "off",
                "autocapitalize": "characters",
                "spellcheck": "false",
                "enterkeyhint": "go",
                "autofocus": True,
            }
        ),
    )


class TakeOutForm(SubmissionForm):
    role = forms.ChoiceField(choices=PartRole.choices, label="Part")
    goes_to = forms.ChoiceField(
        choices=[
            ("fit", "Fit: back to its drawer"),
            ("quarantine", "Doubtful: quarantine"),
            ("gone", "Finished: scrap"),
        ],
        label="Where it goes",
    )
    note = forms.CharField(
        max_length=120,
        required=False,
        label="What is wrong with it",
        help_text="Needed for quarantine and for scrap.",
    )

    def offer(self, roles: list[str]) -> None:
        """Only parts that are in the draft can be taken out of it."""
        names = dict(PartRole.choices)
        self.fields["role"].choices = [(role, names[role]) for role in roles]


class FiguresForm(SubmissionForm):
    """What was set at the bench. Anything may be missing while the assembly is a draft."""

    stickout_um = LengthField(required=False, label="Stick-out", zero_allowed=True)
    grip_um = LengthField(required=False, label="Grip length")
    torque_mnm = TorqueField(required=False, label="Nut torque")
    wrench_mark = forms.CharField(
        max_length=20,
        required=False,
        label="Wrench",
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )


class StudForm(SubmissionForm):
    stud_state = forms.ChoiceField(choices=StudState.choices, label="Pull stud in the holder")
    stud_pattern = forms.CharField(
        max_length=20, required=False, label="Pattern", help_text="Needed when one is fitted."
    )


class PurposeForm(SubmissionForm):
    meant_for = PurposeField()

    def __init__(self, *args, chosen: int | None = None, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["meant_for"].queryset = purposes(chosen)


class ReasonForm(SubmissionForm):
    """A step that may need a reason; the action says when."""

    reason = forms.CharField(
        max_length=200,
        required=False,
        label="Reason",
        help_text="Needed when a point says “Check” or “Not known”.",
    )


class NoteForm(SubmissionForm):
    """A step that always needs a reason."""

    reason = forms.CharField(
        max_length=200, label="Why", error_messages={"required": "Say why in a few words."}
    )


class PutDownForm(SubmissionForm):
    place = forms.ModelChoiceField(
        queryset=Place.objects.filter(kind=PlaceKind.STORAGE),
        label="Rack or drawer",
        empty_label="pick one",
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["place"].label_from_instance = lambda place: place.shown


class MeasureForm(SubmissionForm):
    """Readings of one sitting; at least one. Last readings are shown beside, never filled in."""

    gauge_length = LengthField(required=False, label="Gauge length")
    diameter = LengthField(required=False, label="Cutting diameter")
    runout = LengthField(required=False, zero_allowed=True, label="Runout (TIR)")
    runout_distance = LengthField(
        required=False, zero_allowed=True, label="Runout read at, from the nut face"
    )
    corner_radius = LengthField(required=False, zero_allowed=True, label="Corner radius")
    instrument = forms.CharField(max_length=40, required=False, label="Instrument")

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["gauge_length"].widget.attrs["autofocus"] = True

    _QUANTITIES = ("gauge_length", "diameter", "runout", "corner_radius")

    def clean(self):
        cleaned = super().clean()
        if not self.errors and all(cleaned.get(name) is None for name in self._QUANTITIES):
            raise forms.ValidationError("Enter at least one reading.")
        if cleaned.get("runout_distance") is not None and cleaned.get("runout") is None:
            self.add_error("runout", "A distance is entered, but no runout.")
        return cleaned

    def readings(self) -> list[Reading]:
        data = self.cleaned_data
        return [
            Reading(
                quantity=name,
                value_um=data[name],
                distance_um=data["runout_distance"] if name == "runout" else None,
                instrument=data["instrument"],
            )
            for name in self._QUANTITIES
            if data.get(name) is not None
        ]
