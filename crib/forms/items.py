"""Forms of an item: what every item has, and the facts of each kind."""

from __future__ import annotations

import re

from django import forms
from django.db.models import BooleanField, Field, PositiveSmallIntegerField

from crib import reference
from crib.forms.fields import (
    AngleField,
    BalanceGradeField,
    HoursField,
    LengthField,
    PriceField,
    TorqueField,
    WholeField,
    YesNoField,
)
from crib.forms.submission import SubmissionForm
from crib.forms.where_asked import SPECIAL, hint_of
from crib.models import (
    ColletFacts,
    CutterFacts,
    HolderFacts,
    InsertFacts,
    Item,
    ItemKind,
    NutFacts,
    Place,
    PlaceKind,
    PullStudFacts,
    SleeveFacts,
)

#: What a fact is called on a form and on the item's page; others are called as their column.
FACT_LABELS = {
    "angle_deg": "Head angle",
    "balance_grade_tenths": "Balance grade G",
    "balance_speed_rpm": "Balanced at",
    "bore_depth_um": "Deepest a shank may go in",
    "bore_min_um": "Smallest shank it closes on",
    "bore_um": "Bore",
    "centre_um": "Gauge line to centre of mass",
    "clamp_max_um": "Largest shank",
    "clamp_min_um": "Smallest shank",
    "coolant_through": "Coolant through",
    "corner_radius_um": "Corner radius",
    "diameter_um": "Cutting diameter",
    "edges": "Edges on one insert",
    "flute_um": "Flute length",
    "gauge_length_um": "Gauge line to nut face",
    "grip_min_um": "Least grip marked",
    "insert_item": "Insert it takes",
    "interface": "Spindle interface",
    "key_um": "Width of the driving keys",
    "keyway_um": "Width of the driving slot",
    "kind": "Kind of cutter",
    "length_um": "Length",
    "life_limit_minutes": "Use at most",
    "marked_grip_um": "Least grip marked",
    "mass_g": "Mass",
    "n_max_rpm": "Max speed marked",
    "nose_diameter_um": "Nose diameter",
    "outer_um": "Outside diameter",
    "overall_um": "Overall length",
    "pattern": "Stud pattern",
    "pitch_um": "Pitch of the thread",
    "plain_shank_um": "Plain shank length",
    "point_angle_tenths": "Point angle",
    "runout_class": "Runout class",
    "screw_torque_mnm": "Screw torque",
    "seal_max_um": "Largest shank it seals",
    "seal_min_um": "Smallest shank it seals",
    "sealed": "Sealed for coolant",
    "seats": "Insert seats",
    "shank_um": "Shank diameter",
    "spigot_um": "Length of the spigot",
    "square_um": "Square, across flats",
    "suits": "Made for",
    "torque_max_mnm": "Largest torque",
    "torque_mnm": "Torque",
    "torque_recommended_mnm": "Recommended torque",
}
#: Zero is a true answer here: a sharp corner.
_ZERO_ALLOWED = {"corner_radius_um"}
#: Columns in tenths are no measure of one kind.
_TENTHS = {"balance_grade_tenths": BalanceGradeField, "point_angle_tenths": AngleField}
_WHOLE_UNITS = {"_rpm": "1/min", "_g": "g", "_deg": "°"}
#: Larger ones are slips of the keyboard, and past the column on one of the databases.
_MOST = {"_deg": 360}
MOST_COUNTED = 1_000
_INCH_SIGNS = re.compile(r"in|[\"”″/]", re.IGNORECASE)
#: The empty line of a list where the empty answer has no meaning of its own.
PICK_ONE = "pick one"


def label_of(name: str) -> str:
    """The words for a column of facts.

    >>> label_of("clamp_max_um"), label_of("nose_thread")
    ('Largest shank', 'Nose thread')
    """
    return FACT_LABELS.get(name) or name.replace("_", " ").capitalize()


def fact_field(db_field: Field, **kwargs) -> forms.Field | None:
    """The form field of a column; the unit at the end of its name says how it is typed."""
    name = db_field.name
    about = {
        "label": label_of(name),
        "help_text": hint_of(db_field),
        "required": not (db_field.null or db_field.blank),
    }
    if name.endswith("_um"):
        return LengthField(zero_allowed=name in _ZERO_ALLOWED, **about)
    if name.endswith("_mnm"):
        return TorqueField(**about)
    if name in _TENTHS:
        return _TENTHS[name](**about)
    if name.endswith("_minutes"):
        return HoursField(**about)
    if isinstance(db_field, BooleanField) and db_field.null:
        return YesNoField(**about)
    for ending, unit in _WHOLE_UNITS.items():
        if name.endswith(ending):
            most = {"most": _MOST[ending]} if ending in _MOST else {}
            return WholeField(unit=unit, **most, **about)
    if isinstance(db_field, PositiveSmallIntegerField):
        kwargs["max_value"] = MOST_COUNTED
    field = db_field.formfield(**kwargs, label=about["label"], help_text=about["help_text"])
    if isinstance(field, forms.TypedChoiceField):
        field.choices = [(value, text if value else PICK_ONE) for value, text in field.choices]
    return field


class ItemForm(SubmissionForm, forms.ModelForm):
    """What every item has. Its code is compared in the action, where a repeat is known."""

    minimum_kept = WholeField(
        label="Minimum, in pieces",
        min_value=0,
        required=False,
        help_text="Order when fewer are left. Empty: not watched.",
    )
    use_per_week = forms.DecimalField(
        label="Expected use in a week, in pieces",
        min_value=0,
        max_digits=7,
        decimal_places=2,
        required=False,
    )
    pack_size = WholeField(label="Pieces in a pack", initial=1)
    price_cents = PriceField(label="Price of one pack", required=False)
    field_order = ["code", "description", "bought_in_inches", "home_place", "minimum_kept"]

    class Meta:
        model = Item
        fields = [
            "code",
            "description",
            "bought_in_inches",
            "home_place",
            "minimum_kept",
            "use_per_week",
            "supplier",
            "supplier_article",
            "pack_size",
            "price_cents",
            "note",
            "is_retired",
        ]
        labels = {
            "bought_in_inches": "Bought in inches: show inches beside millimetres",
            "home_place": "Where it lies",
            "supplier_article": "Supplier's article number",
            "is_retired": "No longer bought: keep out of lists",
        }

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        racks = Place.objects.filter(kind=PlaceKind.STORAGE)
        self.fields["home_place"].queryset = racks
        self.fields["home_place"].label_from_instance = lambda place: place.shown
        self.fields["home_place"].empty_label = "No fixed place"
        self.fields["supplier"].empty_label = "Not recorded"
        if self.instance.pk is None:
            del self.fields["is_retired"]


class FactsForm(forms.ModelForm):
    """Facts of one kind. Series and tapers are picked from the tables the checks use."""

    class Meta:
        formfield_callback = fact_field

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        series = [row.series for row in reference.collet_series()]
        self._pick_from("series", series)
        self._pick_from("collet_series", series)
        self._pick_from("interface", [row.code for row in reference.tapers()])
        if "insert_item" in self.fields:
            self.fields["insert_item"].queryset = Item.objects.filter(kind=ItemKind.INSERT)
            self.fields["insert_item"].empty_label = PICK_ONE
        if "shank_form" in self.fields:
            self._ask_anew("shank_form")

    @property
    def typed_in_inches(self) -> bool:
        """Some length was typed as a fraction or with an inch mark."""
        return any(
            _INCH_SIGNS.search(str(self[name].value() or ""))
            for name, field in self.fields.items()
            if isinstance(field, LengthField)
        )

    @property
    def special_heading(self) -> str:
        return SPECIAL.get(self._meta.model, ((), ""))[1]

    def general_fields(self) -> list[forms.BoundField]:
        """What every part of this kind has."""
        return [field for field in self.visible_fields() if not self._is_special(field.name)]

    def special_fields(self) -> list[forms.BoundField]:
        """What only some parts of this kind have; each says for which it is."""
        return [field for field in self.visible_fields() if self._is_special(field.name)]

    def _is_special(self, name: str) -> bool:
        return name in SPECIAL.get(self._meta.model, ((), ""))[0]

    def _pick_from(self, name: str, values: list[str]) -> None:
        if name not in self.fields:
            return
        field = self.fields[name]
        kept = getattr(self.instance, name)
        shown = values if not kept or kept in values else [kept, *values]
        choices = [("", PICK_ONE), *((value, value) for value in shown)]
        self.fields[name] = forms.ChoiceField(
            choices=choices,
            label=field.label,
            required=field.required,
            help_text=field.help_text,
        )

    def _ask_anew(self, name: str) -> None:
        """Nothing is picked beforehand: what nobody looked at must not pass as looked at."""
        field = self.fields[name]
        if field.choices[0][0] != "":
            field.choices = [("", PICK_ONE), *field.choices]
        if self.instance.pk is None:
            self.initial[name] = field.initial = ""

    def _get_validation_exclusions(self):
        """The action judges the facts together with their item, which has no number yet."""
        return {field.name for field in self._meta.model._meta.fields}


def _form_of(model: type) -> type[FactsForm]:
    meta = type("Meta", (FactsForm.Meta,), {"model": model, "exclude": ["item"]})
    return type(FactsForm)(f"{model.__name__}Form", (FactsForm,), {"Meta": meta})


#: Spares have no facts, and so no form of facts.
FACTS_FORMS: dict[str, type[FactsForm]] = {
    ItemKind.HOLDER: _form_of(HolderFacts),
    ItemKind.COLLET: _form_of(ColletFacts),
    ItemKind.NUT: _form_of(NutFacts),
    ItemKind.PULL_STUD: _form_of(PullStudFacts),
    ItemKind.CUTTER: _form_of(CutterFacts),
    ItemKind.SLEEVE: _form_of(SleeveFacts),
    ItemKind.INSERT: _form_of(InsertFacts),
}


class ItemSearchForm(forms.Form):
    """Words to look for, and a kind."""

    q = forms.CharField(label="Look for", required=False, max_length=80)
    kind = forms.ChoiceField(
        label="Kind", required=False, choices=[("", "All kinds"), *ItemKind.choices]
    )
