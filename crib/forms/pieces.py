"""Forms of a marked piece."""

from __future__ import annotations

from django import forms

from crib.forms.stock import PlaceField
from crib.forms.submission import SubmissionForm
from crib.models import Condition, StudState


class PieceForm(SubmissionForm):
    """A new mark, and where the part lies."""

    mark = forms.RegexField(
        label="Mark, as engraved",
        regex=r"^\w[\w .\-]*$",
        max_length=20,
        error_messages={"invalid": "A mark has letters, digits, blanks, points and hyphens only."},
    )
    place = PlaceField(label="Where it lies")
    opening = forms.BooleanField(
        label="It was here before records began (not a delivery)", required=False
    )


class HolderPieceForm(PieceForm):
    """A holder also says what is screwed into its taper."""

    stud_state = forms.ChoiceField(
        label="Pull stud", choices=StudState.choices, initial=StudState.UNKNOWN
    )
    stud_pattern = forms.CharField(label="Stud pattern, when fitted", required=False, max_length=20)


class ConditionForm(SubmissionForm):
    condition = forms.ChoiceField(label="Condition", choices=Condition.choices)
    note = forms.CharField(label="Why", required=False, max_length=120)


class StudForm(SubmissionForm):
    stud_state = forms.ChoiceField(label="Pull stud", choices=StudState.choices)
    stud_pattern = forms.CharField(label="Stud pattern, when fitted", required=False, max_length=20)
