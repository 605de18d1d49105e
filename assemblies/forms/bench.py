"""Forms of the bench: parts, what was set, and the steps in between."""

from __future__ import annotations

from collections.abc import Mapping

from django import forms
from django.db.models import OuterRef, Q, QuerySet, Subquery

from assemblies.actions.part_returns import DESTINATIONS, destinations_of
from assemblies.models import BuildPart, PartRole, ProgramRevision, ToolRequirement
from assemblies.rules.torque_aim import NOTHING, SCREW
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
        choices=[(code, way.words) for code, way in DESTINATIONS.items()], label="Where it goes"
    )
    note = forms.CharField(
        max_length=120,
        required=False,
        label="What is wrong with it",
        help_text="Needed for everything but its drawer.",
    )

    def offer(self, parts: Mapping[str, BuildPart]) -> None:
        """Only parts that are in the draft can be taken out of it."""
        names = dict(PartRole.choices)
        self.fields["role"].choices = [(role, names[role]) for role in parts]
        named = parts.get(self["role"].value() or "")
        if named is not None:
            self.fields["goes_to"].choices = destinations_of(named.item.kind)


class FiguresForm(SubmissionForm):
    """What was set at the bench. Anything may be missing while the assembly is a draft."""

    stickout_um = LengthField(required=False, label="Stick-out", zero_allowed=True)
    grip_um = LengthField(required=False, label="Grip length")
    torque_mnm = TorqueField(required=False, label="Nut torque")
    wrench_mark = forms.CharField(
        max_length=20,
        required=False,
        label="Wrench",
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}
        ),
    )
    adapter_um = LengthField(required=False, label="Adapter on it", zero_allowed=True)

    FIGURES = ("stickout_um", "grip_um", "torque_mnm", "wrench_mark", "adapter_um")
    _OF_THE_WRENCH = ("torque_mnm", "wrench_mark", "adapter_um")

    def ask_only(self, *, tightens: str, has_grip: bool) -> FiguresForm:
        """Leave out what the holder of the draft does not have: a torque, a shank to grip."""
        if tightens == NOTHING:
            for name in self._OF_THE_WRENCH:
                del self.fields[name]
        elif tightens == SCREW:
            self.fields["torque_mnm"].label = "Screw torque"
        if not has_grip:
            del self.fields["grip_um"]
        return self

    def clean(self) -> dict:
        """A figure that was not asked for is none."""
        cleaned = super().clean()
        for name in set(self.FIGURES) - set(self.fields):
            cleaned[name] = "" if name == "wrench_mark" else None
        return cleaned


class StudForm(SubmissionForm):
    stud_state = forms.ChoiceField(choices=StudState.choices, label="Pull stud in the holder")
    stud_pattern = forms.CharField(
        max_length=20, required=False, label="Pattern", help_text="Needed when one is fitted."
    )


class PurposeForm(SubmissionForm):
    meant_for = PurposeField()
    coolant_wanted = forms.TypedChoiceField(
        choices=[("", "not said"), ("yes", "yes"), ("no", "no")],
        coerce=lambda text: text == "yes",
        empty_value=None,
        required=False,
        label="Coolant through the tool",
    )

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
