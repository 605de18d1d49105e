"""The form of a rack or drawer."""

from __future__ import annotations

from django import forms

from crib.forms.submission import SubmissionForm
from crib.models import Place, PlaceKind


class PlaceForm(SubmissionForm, forms.ModelForm):
    class Meta:
        model = Place
        fields = ["code", "name", "parent"]
        labels = {"parent": "Stands inside"}
        help_texts = {"code": "As written on it, for example RACK B3."}

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        racks = Place.objects.filter(kind=PlaceKind.STORAGE).exclude(pk=self.instance.pk)
        self.fields["parent"].queryset = racks
        self.fields["parent"].label_from_instance = lambda place: place.shown
        self.fields["parent"].empty_label = "Nothing: it stands by itself"
