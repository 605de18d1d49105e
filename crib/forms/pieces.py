"""Forms of a marked piece."""

from __future__ import annotations

from django import forms

from crib.forms.stock import PlaceField, loose_of
from crib.forms.submission import SubmissionForm
from crib.models import Condition, Item, Place, StudState

#: Answers to which part gets the mark.
LOOSE, FURTHER = "loose", "further"


class PieceForm(SubmissionForm):
    """A new mark, and where the part lies."""

    mark = forms.RegexField(
        label="Mark, as engraved",
        regex=r"^\w[\w .\-]*$",
        max_length=20,
        error_messages={"invalid": "A mark has letters, digits, blanks, points and hyphens only."},
    )
    place = PlaceField(label="Where it lies")
    origin = forms.ChoiceField(label="Which part it is", widget=forms.RadioSelect, initial=LOOSE)
    opening = forms.BooleanField(
        label="It was here before records began (not a delivery)", required=False
    )

    def __init__(self, *args, item: Item, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        loose = loose_of(item)
        # Sent again, the form finds other stock than the first time: its answer counts as it was.
        repeated = self.is_bound and self.was_done
        if loose or repeated:
            self.fields["origin"].required = not repeated
            self.fields["origin"].choices = [
                (LOOSE, _loose_text(loose)),
                (FURTHER, "a further piece, booked in now"),
            ]
        else:
            del self.fields["origin"]


def _loose_text(loose: dict[Place, int]) -> str:
    """`one of the 4 unmarked pieces here: 4 at DRAWER 4`."""
    total = sum(loose.values())
    pieces = "piece" if total == 1 else "pieces"
    where = ", ".join(f"{n} at {place.code}" for place, n in loose.items())
    return f"one of the {total} unmarked {pieces} here: {where}"


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
