"""Another assembly like one that stands: the same items from stock, under a new number."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import UUID

from assemblies.actions.build import live_build, new_assembly
from assemblies.models import Assembly, Build, BuildPart, ToolRequirement
from crib.actions.once import Done, do_once
from crib.actions.stock import hold, place_with, post
from crib.models import Act, Condition, Item, ItemKind, Person, Piece, Place, PlaceKind, Reason
from crib.rules.refusal import Refused


@dataclass(frozen=True)
class PlannedPart:
    """One part of the copy: the piece or the loose part that would be taken, and from where."""

    role: str
    name: str
    item: Item
    quantity: int
    piece: Piece | None = None
    place: Place | None = None

    @property
    def in_stock(self) -> bool:
        return self.place is not None


def copy_plan(build: Build) -> list[PlannedPart]:
    """What a copy of a build would be made of, from the spindle to the tip. Reads only.

    A loose part is taken first: it is not the one that somebody else looks for by its mark. A
    holder is always a marked piece.
    """
    parts = build.parts.select_related("item__home_place").order_by("id")
    return [_planned(part) for part in parts]


def _planned(part: BuildPart) -> PlannedPart:
    item = part.item
    known = {"role": part.role, "name": part.get_role_display(), "item": item}
    place = None if item.kind == ItemKind.HOLDER else place_with(item, part.quantity)
    if place is not None:
        return PlannedPart(**known, quantity=part.quantity, place=place)
    piece = _free_piece(item) if part.quantity == 1 else None
    if piece is None:
        return PlannedPart(**known, quantity=part.quantity)
    return PlannedPart(**known, quantity=1, piece=piece, place=piece.place)


def _free_piece(item: Item) -> Piece | None:
    """A marked piece of an item that lies in a rack, fit for use."""
    free = item.pieces.filter(condition=Condition.IN_SERVICE, place__kind=PlaceKind.STORAGE)
    return free.select_related("place").first()


def copy_assembly(
    *,
    by: Person,
    submission: UUID,
    assembly: Assembly,
    name: str = "",
    meant_for: ToolRequirement | None = None,
) -> Done:
    """Open a draft under a new number with the items of another assembly, as far as in stock.

    Figures are not copied: nobody has set or measured them on these parts. The draft remembers
    what it is like, so that its empty slots can say which item belongs there.
    """

    def work(act):
        source = live_build(assembly)
        if not source.parts.exists():
            raise Refused(
                "copy.empty", f"{source} has no parts to copy.", "Start a new assembly instead."
            )
        hold(part.item for part in source.parts.select_related("item"))
        draft = _open_copy(source, name, meant_for)
        planned = copy_plan(source)
        for part in planned:
            if part.in_stock:
                _put(act, draft, part)
        act.about = f"assembly {draft.assembly.number}"
        act.details = {
            "copied_from": str(source),
            "missing": [part.item.code for part in planned if not part.in_stock],
        }
        return draft.assembly.number

    return do_once(
        submission=submission, kind="assembly.copy", by=by, needs="assembly.build", work=work
    )


def _open_copy(source: Build, name: str, meant_for: ToolRequirement | None) -> Build:
    return Build.objects.create(
        assembly=new_assembly(name.strip()),
        meant_for=meant_for,
        coolant_wanted=source.coolant_wanted,
        copied_from=source,
    )


def _put(act: Act, draft: Build, part: PlannedPart) -> None:
    post(
        act=act,
        item=part.item,
        quantity=part.quantity,
        from_place=part.place,
        to_place=draft.assembly.contents,
        reason=Reason.BUILD,
        piece=part.piece,
    )
    draft.parts.create(role=part.role, item=part.item, piece=part.piece, quantity=part.quantity)
