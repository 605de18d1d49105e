"""Items and their facts: adding and changing what the shop buys."""

from __future__ import annotations

from uuid import UUID

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db.models import Model

from crib import reference
from crib.actions.once import Done, do_once
from crib.models import (
    ColletFacts,
    CutterFacts,
    HolderFacts,
    Item,
    ItemKind,
    NutFacts,
    Person,
    ShankForm,
    SleeveFacts,
)
from crib.rules.finding import Finding, stops
from crib.rules.item_entries import (
    ColletEntry,
    CutterEntry,
    HolderEntry,
    NutEntry,
    SleeveEntry,
)
from crib.rules.item_limits import item_findings
from crib.rules.keys import key_of
from crib.rules.refusal import Refused

#: Words that are pages of their own below /items/.
_RESERVED = {"new"}
#: Columns that this action writes by itself, so that a form need not bring them.
_WRITTEN_HERE = ["code_key", "search_key"]

#: Which field a stop belongs to; the others stand above the form.
_FIELD_OF = {
    "collet.outside_series": "clamp_max_um",
    "collet.range_reversed": "clamp_min_um",
    "collet.range_too_wide": "clamp_min_um",
    "cutter.corner_too_large": "corner_radius_um",
    "cutter.flutes_too_long": "flute_um",
    "cutter.lengths_overlap": "plain_shank_um",
    "cutter.mark_beyond_shank": "marked_grip_um",
    "cutter.keyway_too_wide": "keyway_um",
    "cutter.pitch_too_coarse": "pitch_um",
    "cutter.point_too_wide": "point_angle_tenths",
    "cutter.square_too_large": "square_um",
    "collet.square_impossible": "square_um",
    "holder.grip_beyond_bore": "grip_min_um",
    "holder.keys_too_wide": "key_um",
    "holder.range_reversed": "bore_min_um",
    "holder.square_too_large": "square_um",
    "holder.series_without_collet": "collet_series",
    "nut.seal_reversed": "seal_min_um",
    "nut.torques_reversed": "torque_recommended_mnm",
    "nut.type_differs": "style",
    "sleeve.no_wall": "bore_um",
    "sleeve.suits_none": "suits",
}

#: The database's own conditions in words: name -> (field, what is wrong, what to do).
_CONSTRAINTS = {
    "collet_holder_has_series": (
        "collet_series",
        "A collet chuck has a collet series.",
        "Read it on the nose or the nut.",
    ),
    "holder_balance_grade_has_speed": (
        "balance_speed_rpm",
        "A balance grade says nothing without its speed.",
        "Enter both, or neither.",
    ),
    "cutter_insert_has_seats": (
        "seats",
        "A cutter that takes inserts has at least one seat.",
        "Count the seats.",
    ),
    "cutter_shank_within_overall": (
        "plain_shank_um",
        "The plain shank is longer than the cutter.",
        "Measure both again.",
    ),
    "holder_bores_in_order": (
        "bore_min_um",
        "The smallest shank is larger than the largest.",
        "Swap the two.",
    ),
    "nut_seal_in_order": (
        "seal_min_um",
        "The smallest sealed shank is larger than the largest.",
        "Swap the two.",
    ),
    "sleeve_wall": (
        "bore_um",
        "The sleeve's bore is not smaller than its outside.",
        "Measure both again.",
    ),
    "sleeve_suits_known": (
        "suits",
        "It is not said which chuck the sleeve is made for.",
        "Pick one.",
    ),
}


def save_item(*, by: Person, submission: UUID, item: Item, facts: Model | None = None) -> Done:
    """Add or change an item with the facts of its kind. The impossible is refused by name."""

    def work(act):
        act.about = f"item {item.code}"
        act.details = _changes(item) | _changes(facts)
        _check_code(item)
        _check_facts(item, facts)
        _check_row(item, exclude=_WRITTEN_HERE)
        item.save()
        if facts is not None:
            facts.item = item
            facts.save()
        return item.pk

    return do_once(submission=submission, kind="item.save", by=by, needs="items.edit", work=work)


def findings_of(item: Item, facts: Model | None) -> list[Finding]:
    """What the tables say about an item: the impossible, the unlikely, and what is missing."""
    make = _ENTRIES.get(type(facts))
    return [] if make is None else item_findings(make(item, facts), reference.tables())


def _collet(item: Item, facts: ColletFacts) -> ColletEntry:
    return ColletEntry(
        series=facts.series,
        clamp_max_um=facts.clamp_max_um,
        clamp_min_um=facts.clamp_min_um,
        length_um=facts.length_um,
        typed_in_inches=item.bought_in_inches,
        square_um=facts.square_um,
    )


def _nut(item: Item, facts: NutFacts) -> NutEntry:
    return NutEntry(
        series=facts.series,
        thread=facts.thread or None,
        nut_type=facts.style,
        recommended_mnm=facts.torque_recommended_mnm,
        max_mnm=facts.torque_max_mnm,
        max_rpm=facts.n_max_rpm,
        sealed=facts.sealed,
        seal_max_um=facts.seal_max_um,
        seal_min_um=facts.seal_min_um,
    )


def _sleeve(item: Item, facts: SleeveFacts) -> SleeveEntry:
    return SleeveEntry(
        suits=facts.suits or None,
        outer_um=facts.outer_um,
        bore_um=facts.bore_um,
        length_um=facts.length_um,
        max_rpm=facts.n_max_rpm,
    )


def _holder(item: Item, facts: HolderFacts) -> HolderEntry:
    tenths = facts.balance_grade_tenths
    return HolderEntry(
        interface=facts.interface,
        clamping=facts.clamping,
        series=facts.collet_series or None,
        nose_thread=facts.nose_thread or None,
        bore_um=facts.bore_um,
        gauge_length_um=facts.gauge_length_um,
        max_rpm=facts.n_max_rpm,
        balance_grade=None if tenths is None else f"G {tenths / 10:g}",
        balance_rpm=facts.balance_speed_rpm,
        bore_min_um=facts.bore_min_um,
        bore_depth_um=facts.bore_depth_um,
        grip_min_um=facts.grip_min_um,
        square_um=facts.square_um,
        spigot_um=facts.spigot_um,
        key_um=facts.key_um,
        screw_torque_mnm=facts.screw_torque_mnm,
    )


def _cutter(item: Item, facts: CutterFacts) -> CutterEntry:
    has_bore = facts.shank_form == ShankForm.BORE
    return CutterEntry(
        kind=facts.kind,
        diameter_um=facts.diameter_um,
        shank_um=None if has_bore else facts.shank_um,
        bore_um=facts.shank_um if has_bore else None,
        plain_shank_um=facts.plain_shank_um,
        overall_um=facts.overall_um,
        flute_um=facts.flute_um,
        corner_radius_um=facts.corner_radius_um,
        marked_grip_um=facts.marked_grip_um,
        max_rpm=facts.n_max_rpm,
        typed_in_inches=item.bought_in_inches,
        square_um=facts.square_um,
        pitch_um=facts.pitch_um,
        keyway_um=facts.keyway_um,
        point_angle_tenths=facts.point_angle_tenths,
    )


_ENTRIES = {
    ColletFacts: _collet,
    NutFacts: _nut,
    HolderFacts: _holder,
    CutterFacts: _cutter,
    SleeveFacts: _sleeve,
}


def _check_code(item: Item) -> None:
    item.code = item.code.strip()
    item.code_key = key_of(item.code)
    if not item.code or not item.code[0].isalnum() or not _fits_an_address(item.code):
        raise Refused(
            "item.code_letters",
            f"“{item.code}” cannot be a code.",
            "Begin with a letter or digit; no strokes, as the code is part of an address.",
            field="code",
        )
    longest = Item._meta.get_field("code_key").max_length
    # The form that is compared may be longer than the code: ß becomes ss.
    if len(item.code_key) > longest:
        raise Refused(
            "item.code_too_long",
            f"The code has {len(item.code_key)} letters when compared; {longest} is the most.",
            "Shorten it.",
            field="code",
        )
    taken = Item.objects.filter(code_key=item.code_key).exclude(pk=item.pk).first()
    if taken is not None:
        raise Refused(
            "item.code_taken",
            f"Code {taken.code} is in use: {taken.description}.",
            "Pick another code.",
            field="code",
        )


def _fits_an_address(code: str) -> bool:
    return (
        key_of(code) not in _RESERVED
        and code.isprintable()
        and not any(sign in code for sign in "/\\?#%")
    )


def _check_facts(item: Item, facts: Model | None) -> None:
    _require_kind(item, facts)
    if facts is None:
        return
    found = stops(findings_of(item, facts))
    if found:
        first = found[0]
        field = _field_of(first, facts)
        raise Refused(first.code, first.text, first.remedy, field=field, findings=found)
    _check_row(facts, exclude=["item"])


def _require_kind(item: Item, facts: Model | None) -> None:
    expected = None if item.kind == ItemKind.SPARE else Item._meta.get_field(f"{item.kind}_facts")
    if not isinstance(facts, expected.related_model if expected else type(None)):
        raise Refused("item.other_facts", f"These are not the facts of a {item.kind}.")
    before = Item.objects.filter(pk=item.pk).values_list("kind", flat=True).first()
    if before not in (None, item.kind):
        raise Refused("item.kind_changed", "The kind of an item never changes.", "Add a new item.")


def _field_of(finding: Finding, facts: Model) -> str:
    field = _FIELD_OF.get(finding.code, "")
    if finding.code == "collet.outside_series" and finding.measured * 1000 == facts.clamp_min_um:
        return "clamp_min_um"
    return field


def _check_row(row: Model, exclude: list[str]) -> None:
    """Every condition of the columns and of the table, as one refusal that names the field."""
    try:
        row.full_clean(exclude=exclude, validate_constraints=False)
        row.validate_constraints(exclude=exclude)
    except ValidationError as error:
        raise _in_words(row, error) from error


def _in_words(row: Model, error: ValidationError) -> Refused:
    for name, (field, text, remedy) in _CONSTRAINTS.items():
        if any(name in message for message in error.messages):
            return Refused(f"item.{name}", text, remedy, field=field)
    field = next(iter(error.message_dict))
    field = "" if field == NON_FIELD_ERRORS else field
    return Refused("item.not_valid", " ".join(error.messages), field=field)


def _changes(row: Model | None) -> dict[str, list]:
    """What differs from the row as stored: column -> [before, after], as text."""
    if row is None or row.pk is None:
        return {}
    stored = type(row)._default_manager.filter(pk=row.pk).values().first()
    if stored is None:
        return {}
    after = {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}
    return {
        name: [str(before), str(after[name])]
        for name, before in stored.items()
        if name not in _WRITTEN_HERE and before != after[name]
    }
