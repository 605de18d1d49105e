"""Forms of the programs pages: handing a file in, stating a tool number, approving."""

from __future__ import annotations

from dataclasses import asdict
from functools import cached_property

from django import forms
from django.db.models import OuterRef, QuerySet, Subquery

from assemblies.actions.proposals import Proposal
from assemblies.actions.requirements import RequirementFigures
from assemblies.models import Assembly, BuildPart, Machine, PartRole, ToolRequirement
from assemblies.models.programs import LengthRule
from crib.forms.fields import LengthField
from crib.forms.submission import SubmissionForm
from crib.models import Hand
from crib.rules.cutter_kinds import CUTTER_KINDS

#: Larger files are refused before they are read [bytes].
LARGEST_FILE = 64_000_000
NOT_STATED = ("", "not stated")


class ProgramForm(SubmissionForm):
    """A program file, picked or pasted; exactly one of the two."""

    name = forms.CharField(max_length=60, label="Program", help_text="As HM-0412.")
    label = forms.CharField(max_length=12, label="Revision", help_text="The shop's mark, as B.")
    title = forms.CharField(
        max_length=120, required=False, label="What it makes", help_text="May stay empty."
    )
    file = forms.FileField(required=False, label="File", help_text="Up to 64 MB of plain text.")
    pasted = forms.CharField(
        required=False,
        label="Or paste the text",
        strip=False,
        widget=forms.Textarea(attrs={"rows": 8, "spellcheck": "false", "autocomplete": "off"}),
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["pasted"].wide = True

    def clean(self):
        cleaned = super().clean()
        file, pasted = cleaned.get("file"), cleaned.get("pasted", "")
        if "file" in self.errors:
            return cleaned
        if file and pasted.strip():
            self.add_error("pasted", "Pick a file or paste the text, not both.")
        elif not file and not pasted.strip():
            self.add_error("file", "Pick a file, or paste its text below.")
        elif file and file.size > LARGEST_FILE:
            self.add_error("file", f"{file.name} has {file.size / 1e6:.1f} MB; 64 MB is the most.")
        return cleaned

    def content(self) -> tuple[bytes, str]:
        """The bytes handed in and the name of their file; a pasted text has no name."""
        file = self.cleaned_data.get("file")
        if file:
            return file.read(), file.name
        return self.cleaned_data["pasted"].encode("utf-8"), ""


#: Figures that a gauge length with a window cannot do without.
_OF_A_WINDOW = ("gauge_length_um", "gauge_tolerance_um")


class ManyOf(forms.ModelMultipleChoiceField):
    """Many of some rows; a number that no database can hold is a wrong choice, not a fault."""

    def clean(self, value):
        try:
            return super().clean(value)
        except OverflowError as error:
            raise forms.ValidationError("Pick from the list.") from error


class RequirementForm(SubmissionForm):
    """What one tool number must be. Empty means the program does not state it."""

    kind = forms.ChoiceField(choices=[("", "pick one"), *CUTTER_KINDS.items()], label="Kind")
    diameter_um = LengthField(label="Cutting diameter")
    diameter_tolerance_um = LengthField(label="Diameter may differ by", zero_allowed=True)
    controller_diameter = forms.BooleanField(
        required=False, label="Cuts on the diameter entered at the control (G41/G42)"
    )
    hand = forms.ChoiceField(choices=[NOT_STATED, *Hand.choices], required=False, label="Hand")
    length_rule = forms.ChoiceField(choices=LengthRule.choices, label="Gauge length")
    gauge_length_um = LengthField(required=False, label="Gauge length wanted")
    gauge_tolerance_um = LengthField(
        required=False, zero_allowed=True, label="Gauge length may differ by"
    )
    stickout_min_um = LengthField(required=False, label="Stick-out from")
    stickout_max_um = LengthField(required=False, label="Stick-out to")
    flute_min_um = LengthField(required=False, label="Cutting length at least")
    corner_radius_um = LengthField(required=False, zero_allowed=True, label="Corner radius")
    corner_tolerance_um = LengthField(
        required=False, zero_allowed=True, label="Corner radius may differ by"
    )
    preferred = forms.ModelChoiceField(
        queryset=Assembly.objects.none(),
        required=False,
        label="Listed assembly",
        empty_label="none",
    )
    alternatives = ManyOf(
        queryset=Assembly.objects.none(),
        required=False,
        label="Allowed alternatives",
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        for name in ("preferred", "alternatives"):
            self.fields[name].queryset = _standing()
            self.fields[name].label_from_instance = _assembly_label
        for name in _OF_A_WINDOW:
            self.fields[name].said_of_empty = "needed with a window"
        self.fields["corner_tolerance_um"].said_of_empty = "empty: must be exact"

    def plain_fields(self) -> list:
        """All fields but the tick boxes, which are shown in two lists."""
        return [field for field in self.visible_fields() if field.name != "alternatives"]

    @cached_property
    def boxes(self) -> tuple[list, list]:
        """Tick boxes of the assemblies that are ticked or of the kind wanted, and all others."""
        field = self["alternatives"]
        ticked = {str(value) for value in field.value() or ()}
        kind, near, far = self["kind"].value(), [], []
        for box in field:
            choice = box.data["value"]
            alike = kind and choice.instance.cutter_kind == kind
            (near if alike or str(choice) in ticked else far).append(box)
        return near, far

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("length_rule") == LengthRule.WINDOW:
            for name in _OF_A_WINDOW:
                if self._is_empty(name):
                    self.add_error(name, "Needed when the gauge length has a window.")
        if cleaned.get("corner_tolerance_um") is not None and self._is_empty("corner_radius_um"):
            self.add_error("corner_radius_um", "Needed when it may differ by something.")
        low, high = cleaned.get("stickout_min_um"), cleaned.get("stickout_max_um")
        if low is not None and high is not None and low > high:
            self.add_error("stickout_max_um", "Stick-out ends below where it starts.")
        return cleaned

    def _is_empty(self, name: str) -> bool:
        """Nothing was typed; what cannot be read has its error already."""
        return self.cleaned_data.get(name) is None and name not in self.errors

    def figures(self) -> RequirementFigures:
        """The cleaned figures; those of a gauge length window are dropped when there is none."""
        names = RequirementFigures.__dataclass_fields__
        data = {name: self.cleaned_data.get(name) for name in names if name in self.cleaned_data}
        if data["length_rule"] != LengthRule.WINDOW:
            data["gauge_length_um"] = data["gauge_tolerance_um"] = None
        return RequirementFigures(**data)


def _standing() -> QuerySet[Assembly]:
    """Assemblies that are not retired, each with its cutter and the kind of that."""
    cutter = BuildPart.objects.filter(
        build__assembly=OuterRef("pk"), build__live=True, role=PartRole.CUTTER
    )
    return Assembly.objects.exclude(state="retired").annotate(
        cutter=Subquery(cutter.values("item__description")[:1]),
        cutter_kind=Subquery(cutter.values("item__cutter_facts__kind")[:1]),
    )


def _assembly_label(assembly: Assembly) -> str:
    """`1041 compression spiral 12 mm`: the number alone has no meaning."""
    return f"{assembly.number} {assembly.cutter or assembly.name}".strip()


def requirement_initial(row: ToolRequirement | None) -> dict:
    """What the form starts with: the proposal, or what was confirmed."""
    if row is None:
        return {}
    figures = RequirementFigures.of(row)
    initial = {name: getattr(figures, name) for name in figures.__dataclass_fields__}
    return initial | {"preferred": row.preferred_id, "alternatives": row.alternatives.all()}


def proposed_initial(proposal: Proposal) -> dict:
    """What the form starts with where the row itself states nothing."""
    preferred = proposal.preferred.pk if proposal.preferred else None
    return asdict(proposal.figures) | {"preferred": preferred}


class HeightField(LengthField):
    """A height in program coordinates, which may lie below zero; cleans to micrometres [um]."""

    def __init__(self, **kwargs) -> None:
        super().__init__(zero_allowed=True, **kwargs)

    def read(self, text: str) -> int:
        below = text.startswith(("-", "−"))
        amount = super().read(text[1:].lstrip() if below else text)
        return -amount if below else amount


class TopOfStockForm(SubmissionForm):
    top_of_stock_um = HeightField(
        required=False,
        label="Z of the top of the work",
        help_text="As 0, 18 or -2.5; 3/4 in will do. Empty: not stated.",
    )


class ApprovalForm(SubmissionForm):
    machine = forms.ModelChoiceField(
        queryset=Machine.objects.all(), label="Machine", empty_label="pick one"
    )
    state = forms.ChoiceField(
        choices=[("approved", "Approve"), ("withdrawn", "Withdraw")], label="What"
    )
    reason = forms.CharField(
        max_length=120,
        required=False,
        label="Reason",
        help_text="Needed to withdraw, and to approve with a T number not confirmed.",
    )
    #: What was stated when the page was shown: an approval covers that and no more.
    seen = forms.CharField(max_length=16, required=False, widget=forms.HiddenInput)

    def saw(self, mark: str) -> None:
        """The page shows what is stated now, also when the form is shown again."""
        if self.is_bound:
            self.data = self.data.copy()
            self.data["seen"] = mark
        else:
            self.initial["seen"] = mark
