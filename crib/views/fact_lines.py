"""An item's facts as lines of a page: label, value with its unit, and "not recorded" said."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Field, Model

from crib.forms.items import label_of
from crib.forms.where_asked import is_asked
from crib.models import Item
from crib.rules.units import show_inch, show_length, show_nm

NOT_RECORDED = "not recorded"
#: Lengths along the axis are read to a tenth; diameters and radii to a hundredth.
_ALONG = {
    "bore_depth_um",
    "centre_um",
    "flute_um",
    "gauge_length_um",
    "grip_min_um",
    "length_um",
    "marked_grip_um",
    "overall_um",
    "plain_shank_um",
    "spigot_um",
}


@dataclass(frozen=True)
class FactLine:
    label: str
    text: str
    known: bool


def fact_lines(item: Item) -> list[FactLine]:
    """The facts of the item's kind, in the order of its form. Empty where none was entered.

    A fact that means nothing for this part is left out, unless somebody recorded it.
    """
    facts = item.facts
    if facts is None:
        return []
    columns = [field for field in facts._meta.concrete_fields if field.name != "item"]
    lines = [(column, _line(item, facts, column)) for column in columns]
    return [line for column, line in lines if line.known or is_asked(facts, column.name)]


def _line(item: Item, facts: Model, column: Field) -> FactLine:
    value = getattr(facts, column.name)
    known = value is not None and value != ""
    text = _text(item, facts, column, value) if known else NOT_RECORDED
    return FactLine(label_of(column.name), text, known)


def _text(item: Item, facts: Model, column: Field, value: object) -> str:
    name = column.name
    if name.endswith("_um"):
        return _length(value, item.bought_in_inches, 1 if name in _ALONG else 2)
    if name.endswith("_mnm"):
        return f"{show_nm(value)} N·m"
    if name == "balance_grade_tenths":
        return f"G {value / 10:g}"
    if name == "point_angle_tenths":
        return f"{value / 10:g}°"
    if name == "life_limit_minutes":
        return show_hours(value)
    for ending, unit in (("_rpm", " 1/min"), ("_g", " g"), ("_deg", "°")):
        if name.endswith(ending):
            return f"{value}{unit}"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Item):
        return f"{value.code} {value.description}"
    return str(getattr(facts, f"get_{name}_display")() if column.choices else value)


def _length(value_um: int, in_inches: bool, decimals: int) -> str:
    """Inches only where they are a fraction, as marked: 11.70 mm is nobody's 0.4606 in."""
    is_fraction = "." not in show_inch(value_um)
    return show_length(value_um, in_inches and is_fraction, decimals)


def show_hours(minutes: int) -> str:
    """Minutes of use as hours, the way limits are set.

    >>> show_hours(90), show_hours(30000)
    ('1.5 h', '500 h')
    """
    return f"{minutes / 60:.1f}".removesuffix(".0") + " h"
