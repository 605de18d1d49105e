"""The form behind “Ordered” on a line of the buyer's page, and the form of a supplier."""

from __future__ import annotations

from django import forms

from crib.actions.stock import MOST_AT_ONCE
from crib.forms.fields import DayField, WholeField
from crib.forms.submission import SubmissionForm
from crib.models import Supplier


class OrderedForm(SubmissionForm):
    quantity = WholeField(label="Pieces ordered", most=MOST_AT_ONCE)
    due_on = DayField(label="Expected on", required=False)


class SupplierForm(SubmissionForm, forms.ModelForm):
    lead_working_days = WholeField(
        label="Working days from order to delivery",
        min_value=0,
        most=400,
        required=False,
        help_text="Empty: not known.",
    )

    class Meta:
        model = Supplier
        fields = ["name", "lead_working_days", "note"]
