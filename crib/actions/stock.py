"""The only writers of the stock ledger."""

from __future__ import annotations

from collections.abc import Iterable
from uuid import UUID

from django.db.models import Sum

from crib.actions.once import Done, do_once
from crib.actions.places import account
from crib.models import (
    Act,
    Condition,
    Item,
    Movement,
    OrderLine,
    Person,
    Piece,
    Place,
    PlaceKind,
    Reason,
)
from crib.rules.refusal import Refused

#: Accounts that may go below zero: they stand for the world outside the racks.
_OPEN_ENDED = {PlaceKind.SUPPLIER, PlaceKind.DIFFERENCE}
#: More of one thing than any crib holds; larger input is a slip of the keyboard.
MOST_AT_ONCE = 100_000


def hold(items: Iterable[Item]) -> None:
    """Hold other writers of these items back until the act ends: first of all, in one order.

    An act that changes a piece, or that moves several items, calls it before it writes;
    otherwise two such acts can wait for each other. Does nothing on SQLite, where a
    transaction already holds every writer back.
    """
    keys = {item.pk for item in items}
    held = Item.objects.select_for_update(no_key=True).filter(pk__in=keys).order_by("pk")
    list(held.values_list("pk", flat=True))


def post(
    *,
    act: Act,
    item: Item,
    quantity: int,
    from_place: Place,
    to_place: Place,
    reason: Reason,
    piece: Piece | None = None,
    order_line: OrderLine | None = None,
    note: str = "",
) -> Movement:
    """Write one movement inside the act of a caller. Refuses what is not there to be moved."""
    _check_quantity(quantity)
    _check_words(item, quantity, from_place, to_place, piece, note)
    hold([item])
    if piece is not None:
        _check_piece_there(piece, from_place)
    if from_place.kind not in _OPEN_ENDED:
        _check_enough(item, quantity, from_place, piece)
    movement = Movement.objects.create(
        act=act,
        by_id=act.by_id,
        item=item,
        piece=piece,
        quantity=quantity,
        from_place=from_place,
        to_place=to_place,
        reason=reason,
        order_line=order_line,
        note=note,
    )
    if piece is not None:
        Piece.objects.filter(pk=piece.pk).update(place=to_place)
        piece.place = to_place
    return movement


def _check_quantity(quantity: int) -> None:
    if type(quantity) is not int or not 0 < quantity <= MOST_AT_ONCE:
        raise Refused(
            "stock.quantity",
            f"{quantity} is not a number of pieces.",
            f"Enter a whole number from 1 to {MOST_AT_ONCE}.",
            field="quantity",
        )


def _check_words(
    item: Item, quantity: int, from_place: Place, to_place: Place, piece: Piece | None, note: str
) -> None:
    """What the database would refuse as well, said in words that lead on."""
    if from_place.pk == to_place.pk:
        raise Refused("stock.same_place", f"It is at {to_place.shown} already.", field="place")
    if piece is not None and piece.item_id != item.pk:
        raise Refused("stock.other_item", f"{piece.mark} is not a {item.code}.", field="piece")
    if piece is not None and quantity != 1:
        raise Refused("stock.quantity", f"{piece.mark} is one piece.", field="quantity")
    longest = Movement._meta.get_field("note").max_length
    if len(note) > longest:
        raise Refused("stock.note_too_long", f"A note has {longest} letters.", field="note")


def _check_piece_there(piece: Piece, place: Place) -> None:
    held_at = Piece.objects.filter(pk=piece.pk).values_list("place_id", flat=True).first()
    if held_at == place.pk or (held_at is None and place.kind in _OPEN_ENDED):
        return
    where = Place.objects.filter(pk=held_at).first()
    raise Refused(
        "stock.piece_elsewhere",
        f"{piece.mark} is at {where.shown if where else 'no place'}, not {place.shown}.",
        "Move it there first, or look where it really is.",
        field="piece",
    )


def _check_enough(item: Item, quantity: int, place: Place, piece: Piece | None) -> None:
    """Enough of the item at the place; of loose pieces, where no mark was named."""
    have = Movement.objects.on_hand(item.pk, place.pk)
    if have < quantity:
        raise Refused(
            "stock.not_enough",
            f"{item.code}: {have} at {place.shown}, {quantity} wanted.",
            "Take fewer, take from another place, or count the drawer.",
            field="quantity",
        )
    if piece is not None:
        return
    marked = Piece.objects.filter(item=item, place=place).count()
    if quantity > have - marked:
        raise Refused(
            "stock.name_the_piece",
            f"{item.code} at {place.shown}: {have - marked} loose, {marked} marked.",
            "Name the mark of the piece you take.",
            field="piece",
        )


def place_with(item: Item, quantity: int = 1) -> Place | None:
    """A rack or drawer that holds `quantity` loose pieces of `item`: its home first."""
    places = Place.objects.filter(kind=PlaceKind.STORAGE, movements_in__item=item).distinct()
    for place in sorted(places, key=lambda p: (p.pk != item.home_place_id, p.code_key)):
        marked = Piece.objects.filter(item=item, place=place).count()
        if Movement.objects.on_hand(item.pk, place.pk) - marked >= quantity:
            return place
    return None


def receive(
    *,
    by: Person,
    submission: UUID,
    item: Item,
    quantity: int,
    to_place: Place,
    order_line: OrderLine | None = None,
    note: str = "",
) -> Done:
    """Book goods in: from outside to a rack. An order line that is complete is closed."""

    def work(act):
        _require_rack(to_place)
        _require_line_of(order_line, item)
        movement = post(
            act=act,
            item=item,
            quantity=quantity,
            from_place=account(PlaceKind.SUPPLIER),
            to_place=to_place,
            reason=Reason.RECEIVE,
            order_line=order_line,
            note=note,
        )
        _close_if_complete(order_line)
        act.about = f"item {item.code}"
        return movement.pk

    return do_once(
        submission=submission, kind="stock.receive", by=by, needs="stock.receive", work=work
    )


def _require_rack(place: Place) -> None:
    if not place.is_usable:
        raise Refused(
            "stock.not_a_rack",
            f"{place.shown} is not a rack or drawer.",
            "Pick the place where it will lie.",
            field="place",
        )


def _require_line_of(order_line: OrderLine | None, item: Item) -> None:
    """The line as it is now: somebody may have booked the rest since the page was opened."""
    if order_line is None:
        return
    line = OrderLine.objects.select_for_update(no_key=True).get(pk=order_line.pk)
    if line.item_id != item.pk or line.closed:
        raise Refused(
            "order.other_line",
            "That order line is for another item, or already closed.",
            "Pick the open line again, or book in without one.",
            field="order_line",
        )


def _close_if_complete(order_line: OrderLine | None) -> None:
    if order_line is None:
        return
    came = order_line.receipts.aggregate(n=Sum("quantity"))["n"] or 0
    if came >= order_line.quantity:
        OrderLine.objects.filter(pk=order_line.pk).update(closed=True)


def _require_in_service(piece: Piece | None) -> None:
    if piece is None:
        return
    held = Piece.objects.get(pk=piece.pk)
    if held.condition != Condition.IN_SERVICE:
        raise Refused(
            "stock.out_of_service",
            f"{held.mark} is {held.get_condition_display().lower()}.",
            "Take another piece.",
            field="piece",
        )


def issue(
    *,
    by: Person,
    submission: UUID,
    item: Item,
    quantity: int,
    from_place: Place,
    piece: Piece | None = None,
    note: str = "",
) -> Done:
    """Take pieces out of a rack for use at a machine or bench."""

    def work(act):
        _require_rack(from_place)
        _require_in_service(piece)
        movement = post(
            act=act,
            item=item,
            quantity=quantity,
            from_place=from_place,
            to_place=account(PlaceKind.PERSON),
            reason=Reason.ISSUE,
            piece=piece,
            note=note,
        )
        act.about = f"item {item.code}"
        return movement.pk

    return do_once(submission=submission, kind="stock.issue", by=by, needs="stock.issue", work=work)


def give_back(
    *,
    by: Person,
    submission: UUID,
    item: Item,
    quantity: int,
    to_place: Place,
    piece: Piece | None = None,
    note: str = "",
) -> Done:
    """Put pieces that were taken out back into a rack."""

    def work(act):
        _require_rack(to_place)
        movement = post(
            act=act,
            item=item,
            quantity=quantity,
            from_place=account(PlaceKind.PERSON),
            to_place=to_place,
            reason=Reason.RETURN,
            piece=piece,
            note=note,
        )
        act.about = f"item {item.code}"
        return movement.pk

    return do_once(
        submission=submission, kind="stock.give_back", by=by, needs="stock.issue", work=work
    )
