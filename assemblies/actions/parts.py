"""Parts on the bench: put into a draft, taken out of it, and where they go then."""

from __future__ import annotations

from uuid import UUID

from assemblies.actions.build import draft_of, live_build
from assemblies.actions.dismantle import take_apart
from assemblies.actions.part_returns import FIT, send_back
from assemblies.actions.part_returns import GONE as GONE
from assemblies.models import Assembly, Build, BuildPart, PartRole
from crib.actions.once import Done, do_once
from crib.actions.stock import hold, place_with, post
from crib.models import Act, Condition, Item, ItemKind, Person, Piece, Place, Reason
from crib.rules.refusal import Refused


def put_part(
    *,
    by: Person,
    submission: UUID,
    assembly: Assembly,
    item: Item,
    piece: Piece | None = None,
) -> Done:
    """Put a part into the draft, out of stock; what was in its role goes back to its drawer.

    The role is that of the item's kind. A holder is always a marked piece.
    """

    def work(act):
        build = draft_of(assembly)
        role = _role_of(item)
        _require_usable(item, piece)
        old = build.parts.select_related("item", "piece").filter(role=role).first()
        hold([item] if old is None else [item, old.item])
        if old is not None:
            _move_out(act, assembly, old, FIT, "replaced")
        quantity = _pieces_for(build, item)
        _move_in(act, assembly, item, piece, quantity)
        BuildPart.objects.create(build=build, role=role, item=item, piece=piece, quantity=quantity)
        act.about = f"assembly {assembly.number}"
        act.details = {"put": piece.mark if piece else item.code}
        return assembly.number

    return do_once(
        submission=submission, kind="build.put", by=by, needs="assembly.build", work=work
    )


def _role_of(item: Item) -> str:
    if item.kind not in PartRole.values:
        raise Refused(
            "part.kind",
            f"{item.code} is a spare, not a part of an assembly.",
            "Pick a holder, collet, nut, pull stud, cutter or insert.",
            field="item",
        )
    return item.kind


def _require_usable(item: Item, piece: Piece | None) -> None:
    if piece is None:
        if item.kind == ItemKind.HOLDER:
            raise Refused(
                "part.holder_unmarked",
                "A holder goes in by its mark.",
                "Scan or pick the mark engraved on it.",
                field="piece",
            )
        return
    if piece.item_id != item.pk:
        raise Refused("part.other_item", f"{piece.mark} is not {item.code}.", field="piece")
    if piece.condition != Condition.IN_SERVICE:
        why = f": {piece.condition_note}" if piece.condition_note else ""
        raise Refused(
            "part.out_of_service",
            f"{piece.mark} is {piece.get_condition_display().lower()}{why}.",
            "Take another piece.",
            field="piece",
        )


def _pieces_for(build: Build, item: Item) -> int:
    """One of each; inserts fill every seat of the cutter in the draft."""
    if item.kind != ItemKind.INSERT:
        return 1
    cutter = build.parts.select_related("item__cutter_facts").filter(role="cutter").first()
    facts = cutter.item.facts if cutter else None
    if facts is None or not facts.seats:
        raise Refused(
            "part.no_seats",
            "The cutter in this draft has no insert seats.",
            "Put the cutter in first, or leave the inserts out.",
            field="item",
        )
    return facts.seats


def _move_in(act: Act, assembly: Assembly, item: Item, piece: Piece | None, quantity: int) -> None:
    post(
        act=act,
        item=item,
        quantity=quantity,
        from_place=_source(item, piece, quantity),
        to_place=assembly.contents,
        reason=Reason.BUILD,
        piece=piece,
    )


def _too_few(wanted: int) -> str:
    return "none" if wanted == 1 else f"fewer than {wanted}"


def _source(item: Item, piece: Piece | None, quantity: int) -> Place:
    if piece is not None:
        if piece.place is None or not piece.place.is_usable:
            where = piece.place.shown if piece.place else "no place on record"
            raise Refused(
                "part.not_in_stock",
                f"{piece.mark} is at {where}.",
                "Give it back first, or take another piece.",
                field="piece",
            )
        return piece.place
    place = place_with(item, quantity)
    if place is None:
        raise Refused(
            "part.none_left",
            f"{item.code}: {_too_few(quantity)} loose in the racks.",
            "Book it in, or pick another.",
            field="item",
        )
    return place


def take_out(
    *,
    by: Person,
    submission: UUID,
    assembly: Assembly,
    role: str,
    goes_to: str = FIT,
    note: str = "",
) -> Done:
    """Take a part out of the draft: back to its drawer, or elsewhere with a reason."""

    def work(act):
        build = draft_of(assembly)
        part = build.parts.select_related("item", "piece").filter(role=role).first()
        if part is None:
            raise Refused("part.not_there", f"There is no {role} in this draft.")
        _move_out(act, assembly, part, goes_to, note)
        act.about = f"assembly {assembly.number}"
        act.details = {"out": part.piece.mark if part.piece else part.item.code, "to": goes_to}
        return assembly.number

    return do_once(
        submission=submission, kind="build.take_out", by=by, needs="assembly.build", work=work
    )


def _move_out(act: Act, assembly: Assembly, part: BuildPart, goes_to: str, note: str) -> None:
    """Move a part from the assembly to where it belongs, and drop it from the draft."""
    send_back(act=act, assembly=assembly, part=part, goes_to=goes_to, note=note)
    part.delete()


def retire(*, by: Person, submission: UUID, assembly: Assembly, reason: str) -> Done:
    """Take an assembly apart for good: parts back to their drawers, number never used again."""

    def work(act):
        live_build(assembly)
        if not reason.strip():
            raise Refused("retire.reason", "Say why in a few words.", field="reason")
        take_apart(act=act, assembly=assembly, fates={}, reason=reason, retires=True)
        return assembly.number

    return do_once(
        submission=submission, kind="assembly.retire", by=by, needs="assembly.build", work=work
    )


def put_down(*, by: Person, submission: UUID, assembly: Assembly, place: Place) -> Done:
    """Say in which rack or drawer the assembly stands."""

    def work(act):
        live_build(assembly)
        if not place.is_usable:
            raise Refused("place.not_a_rack", f"{place.shown} is not a rack.", field="place")
        Place.objects.filter(pk=assembly.contents_id).update(parent=place)
        act.about = f"assembly {assembly.number}"
        act.details = {"place": place.code}
        return assembly.number

    return do_once(
        submission=submission, kind="assembly.put_down", by=by, needs="stock.issue", work=work
    )
