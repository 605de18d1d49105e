"""The names of a stack written as JSON: each field of `stack.py` has one, and a reader.

Lengths end in `_mm`, torques in `_nm` (N·m), speeds in `_rpm`, masses in `_g`. A field that no
line here covers raises KeyError when this module is loaded.
"""

from __future__ import annotations

from dataclasses import Field, dataclass, fields
from functools import partial

from assemblies.rules.shop_settings import (
    NOT_COUNTED,
    SETTINGS,
    Kind,
    NotASetting,
    Setting,
    Value,
    read_stored,
)
from assemblies.rules.stack import (
    BuildFigures,
    ColletPart,
    Condition,
    CutterPart,
    HolderPart,
    MachineFacts,
    NutPart,
    ProgramCall,
    ShopLimits,
    SleevePart,
    StudPart,
    StudState,
)
from assemblies.rules.stack_json_values import (
    MOST_MASS_G,
    MOST_SPEED_RPM,
    Reader,
    Unfit,
    read_length,
    read_length_or_zero,
    read_place,
    read_tenths,
    read_text,
    read_torque,
    read_truth,
    read_whole,
    read_word,
    read_words,
)
from crib.rules.cutter_kinds import CUTTER_KINDS
from crib.rules.standards import CLAMPING_KINDS, SLEEVED

#: Name of a part in the JSON, which is that of the field of `Stack`, and its facts.
PARTS = {
    "holder": HolderPart,
    "collet": ColletPart,
    "nut": NutPart,
    "sleeve": SleevePart,
    "stud": StudPart,
    "cutter": CutterPart,
    "figures": BuildFigures,
    "machine": MachineFacts,
    "call": ProgramCall,
}

_SPEED = partial(read_whole, least_number=1, most_number=MOST_SPEED_RPM, what="a speed in 1/min")
_SPEED_OR_ZERO = partial(
    read_whole, least_number=0, most_number=MOST_SPEED_RPM, what="a speed in 1/min"
)
_HOURS = partial(read_whole, least_number=0, most_number=100_000, what="whole hours")
_CONDITION = partial(read_word, words=tuple(Condition))
_TURNS = ("cw", "ccw")

#: Readers by the end of a field's name.
_BY_ENDING: dict[str, Reader] = {
    "_um": read_length,
    "_mnm": read_torque,
    "_rpm": _SPEED,
    "_g": partial(read_whole, least_number=1, most_number=MOST_MASS_G, what="a mass in whole g"),
}
#: Readers by the field's whole name; they go before the endings.
_BY_NAME: dict[str, Reader] = {
    "grip_um": read_length_or_zero,
    "stickout_um": read_length_or_zero,
    "runout_um": read_length_or_zero,
    "runout_distance_um": read_length_or_zero,
    "corner_radius_um": read_length_or_zero,
    "flute_um": read_length_or_zero,
    "centre_um": read_place,
    "moment_plane_um": read_place,
    "min_rpm": _SPEED_OR_ZERO,
    "speed_rpm": _SPEED_OR_ZERO,
    "balance_grade_tenths": partial(read_tenths, most_tenths=40_000),
    "point_angle_tenths": partial(read_tenths, most_tenths=1_800),
    "override_ceiling_percent": partial(
        read_whole, least_number=100, most_number=300, what="whole per cent"
    ),
    "runout_class": partial(read_whole, least_number=1, most_number=2),
    "teeth": partial(read_whole, least_number=1, most_number=200),
    "insert_seats": partial(read_whole, least_number=0, most_number=200),
    "empty_seats": partial(read_whole, least_number=0, most_number=200),
    "hours": _HOURS,
    "hours_limit": partial(read_whole, least_number=1, most_number=100_000, what="whole hours"),
    "clamping": partial(read_word, words=tuple(CLAMPING_KINDS)),
    "suits": partial(read_word, words=tuple(sorted(SLEEVED))),
    "nut_type": partial(read_word, words=("standard", "mini")),
    "kind": partial(read_word, words=tuple(CUTTER_KINDS)),
    "shank_form": partial(read_word, words=("HA", "HB", "HE", "square")),
    "hand": partial(read_word, words=("right", "left")),
    "condition": _CONDITION,
    "rotation": partial(read_word, words=_TURNS),
    "rotations": partial(read_words, words=_TURNS),
    **dict.fromkeys(("mark", "name", "interface", "series", "nose_thread", "thread"), read_text),
    **dict.fromkeys(("pattern", "material", "stud_pattern"), read_text),
    **dict.fromkeys(("sealed", "coolant_through", "bought_in_inches", "is_router"), read_truth),
}
_RENAMED = {"balance_grade_tenths": "balance_grade", "point_angle_tenths": "point_angle_deg"}


@dataclass(frozen=True, slots=True)
class Entry:
    """One name of the JSON: the field it fills, its reader, whether null clears the field."""

    name: str
    field: str
    read: Reader
    may_be_null: bool = True


def json_name(field_name: str) -> str:
    """The name in the JSON of a field of the rules.

    >>> json_name("shank_um"), json_name("torque_mnm"), json_name("balance_grade_tenths")
    ('shank_mm', 'torque_nm', 'balance_grade')
    """
    if field_name in _RENAMED:
        return _RENAMED[field_name]
    for ending, shown in (("_mnm", "_nm"), ("_um", "_mm")):
        if field_name.endswith(ending):
            return field_name.removesuffix(ending) + shown
    return field_name


def _reader(field: Field) -> Reader:
    if field.name == "state":
        return lambda value: StudState(read_word(value, tuple(StudState)))
    if field.name in _BY_NAME:
        return _BY_NAME[field.name]
    return _BY_ENDING[f"_{field.name.rsplit('_', 1)[-1]}"]


def entries_of(part: type) -> dict[str, Entry]:
    """Every name that a part may have, in the order of its fields. Raises KeyError.

    >>> list(entries_of(ProgramCall))
    ['speed_rpm', 'rotation']
    """
    return {
        json_name(field.name): Entry(
            json_name(field.name), field.name, _reader(field), "None" in str(field.type)
        )
        for field in fields(part)
    }


# ---- limits
def _limit(setting: Setting, value: object) -> Value:
    try:
        return read_stored(setting.name, _stored(setting, value))
    except NotASetting as error:
        raise Unfit(f"a limit that a shop may set. {error}") from error


def _stored(setting: Setting, value: object) -> object:
    """The form in which the shop keeps a limit: lengths in whole micrometres [um]."""
    if setting.kind is Kind.CHOICE or value == NOT_COUNTED:
        return value
    if setting.kind is Kind.LENGTH:
        return read_length_or_zero(value)
    if setting.kind is Kind.BANDS:
        return [_band(band) for band in value] if isinstance(value, list) else value
    return read_whole(value, 0, 1_000_000)


def _band(band: object) -> list[int | None]:
    if not isinstance(band, list) or len(band) != 2:
        raise Unfit("pairs of largest diameter and runout in mm, the last diameter null")
    edge, allowed = band
    return [None if edge is None else read_length(edge), read_length(allowed)]


def _limit_entries() -> dict[str, Entry]:
    bench = {field.name for field in fields(ShopLimits)}
    return {
        json_name(setting.name): Entry(
            json_name(setting.name), setting.name, partial(_limit, setting), may_be_null=False
        )
        for setting in SETTINGS
        if setting.name in bench
    }


#: Name of each part -> its names and readers; `limits` are those of the bench.
ENTRIES: dict[str, dict[str, Entry]] = {name: entries_of(part) for name, part in PARTS.items()}
LIMIT_ENTRIES = _limit_entries()
