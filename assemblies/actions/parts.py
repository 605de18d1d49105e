"""Parts on the bench: put into a draft, taken out of it, and where they go then."""

from __future__ import annotations

from uuid import UUID

from assemblies.actions.build import draft_of, end_build, live_build
from assemblies.models import Assembly, AssemblyState, Build, BuildPart, PartRole
from crib.actions.once import Done, do_once
from crib.actions.pieces import change_condition
from crib.actions.places import account
from crib.actions.stock import hold, place_with, post
from crib.models import (
    Act,
    Condition,
    Item,
    ItemKind,
    Movement,
    Person,
    Piece,
    Place,
    PlaceKind,
    Reason,
)
from crib.rules.refusal import Refused

#: Where a part goes that is taken out.
FIT, QUARANTINE, GONE = "fit", "quarantine", "gone"


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
            f"{item.code}: fewer than {quantity} loose in the racks.",
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
    """Take a part out of the draft: back to its drawer, to quarantine, or scrapped."""

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
    if goes_to not in (FIT, QUARANTINE, GONE):
        raise Refused("part.destination", f"“{goes_to}” is no place for a part.", field="goes_to")
    if goes_to != FIT and not note.strip():
        raise Refused("part.reason", "Say in a few words what is wrong with it.", field="note")
    if goes_to == FIT and _is_out_of_service(part):
        goes_to, note = QUARANTINE, part.piece.condition_note or "out of service"
    post(
        act=act,
        item=part.item,
        quantity=part.quantity,
        from_place=assembly.contents,
        to_place=_destination(part, assembly, goes_to),
        reason={FIT: Reason.UNBUILD, QUARANTINE: Reason.QUARANTINE, GONE: Reason.SCRAP}[goes_to],
        piece=part.piece,
        note=note[:120],
    )
    if part.piece is not None and goes_to != FIT and not _is_out_of_service(part):
        condition = Condition.QUARANTINED if goes_to == QUARANTINE else Condition.SCRAPPED
        change_condition(act=act, piece=part.piece, condition=condition, note=note)
    part.delete()


def _is_out_of_service(part: BuildPart) -> bool:
    return part.piece is not None and part.piece.condition != Condition.IN_SERVICE


def _destination(part: BuildPart, assembly: Assembly, goes_to: str) -> Place:
    if goes_to == QUARANTINE:
        return account(PlaceKind.QUARANTINE)
    if goes_to == GONE:
        return account(PlaceKind.GONE)
    if part.item.home_place is not None:
        return part.item.home_place
    came = (
        Movement.objects.filter(item=part.item, piece=part.piece, to_place=assembly.contents)
        .select_related("from_place")
        .first()
    )
    if came is not None and came.from_place.is_usable:
        return came.from_place
    raise Refused(
        "part.no_home",
        f"{part.item.code} has no drawer to go back to.",
        "Give the item a home place first.",
    )


def retire(*, by: Person, submission: UUID, assembly: Assembly, reason: str) -> Done:
    """Take an assembly apart for good: parts back to their drawers, number never used again."""

    def work(act):
        build = live_build(assembly)
        if not reason.strip():
            raise Refused("retire.reason", "Say why in a few words.", field="reason")
        _empty(act, assembly, build)
        end_build(build, reason.strip())
        assembly.state, assembly.state_note = AssemblyState.RETIRED, reason.strip()[:200]
        assembly.save(update_fields=["state", "state_note"])
        act.about = f"assembly {assembly.number}"
        act.details = {"reason": reason.strip()[:200]}
        return assembly.number

    return do_once(
        submission=submission, kind="assembly.retire", by=by, needs="assembly.build", work=work
    )


def _empty(act: Act, assembly: Assembly, build: Build) -> None:
    """Move every part out. A made build keeps its list of parts as history."""
    parts = list(build.parts.select_related("item", "piece"))
    hold(part.item for part in parts)
    for part in parts:
        goes_to = QUARANTINE if _is_out_of_service(part) else FIT
        post(
            act=act,
            item=part.item,
            quantity=part.quantity,
            from_place=assembly.contents,
            to_place=_destination(part, assembly, goes_to),
            reason=Reason.UNBUILD,
            piece=part.piece,
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
