"""What the example shop has: loose stock, marked pieces with their hours, and what is on order."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

from django.utils import timezone

from config.example.data import in_columns, shop
from config.example.people import Crew
from crib.actions.buying import mark_ordered
from crib.actions.once import do_once
from crib.actions.pieces import add_piece, add_use, set_condition
from crib.actions.stock import receive
from crib.models import Item, Person, Piece, Reason, StudState

_STUD_STATES = {
    "unknown": StudState.UNKNOWN,
    "none fitted": StudState.NONE_FITTED,
    "not used": StudState.NOT_USED,
}


def add_loose_stock(crew: Crew) -> None:
    for row in shop()["items"]:
        if "received" in row:
            item = Item.objects.select_related("home_place").get(code=row["code"])
            receive(
                by=crew["petra"],
                submission=uuid4(),
                item=item,
                quantity=row["received"],
                to_place=item.home_place,
            )


def add_pieces(crew: Crew) -> None:
    for row in shop()["pieces"]:
        piece = _piece(row)
        add_piece(
            by=crew["ines"],
            submission=uuid4(),
            piece=piece,
            at_place=piece.item.home_place,
            reason=Reason.OPENING,
        )
        if row.get("hours"):
            charge_hours(by=crew["ines"], piece=piece, hours=row["hours"], basis="carried_over")
        if "condition" in row:
            set_condition(
                by=crew["ines"],
                submission=uuid4(),
                piece=piece,
                condition=row["condition"],
                note=_note(row),
            )


def _piece(row: dict) -> Piece:
    item = Item.objects.select_related("home_place").get(code=row["item"])
    measured = {name: value for name, value in row.items() if name.startswith("measured_")}
    return Piece(item=item, mark=row["mark"], **_stud(row), **in_columns(measured))


def _stud(row: dict) -> dict[str, str]:
    if "stud" not in row:
        return {}
    if row["stud"] in _STUD_STATES:
        return {"stud_state": _STUD_STATES[row["stud"]]}
    return {"stud_state": StudState.FITTED, "stud_pattern": row["stud"]}


def _note(row: dict) -> str:
    if "out_days" not in row:
        return row["note"]
    day = timezone.localdate() - timedelta(days=row["out_days"])
    return f"{row['note']} since {day.day} {day:%b %Y}"


def charge_hours(*, by: Person, piece: Piece, hours: int, basis: str) -> None:
    """Hours of work on one piece, as an act of its own."""

    def work(act):
        add_use(act=act, piece=piece, minutes=hours * 60, basis=basis)
        act.about = f"piece {piece.mark}"
        return piece.pk

    do_once(submission=uuid4(), kind="piece.hours", by=by, needs="items.edit", work=work)


def add_later_hours(crew: Crew) -> None:
    """Hours that came after the piece was built in: its build was judged without them."""
    for row in shop()["pieces"]:
        if "hours_since" in row:
            piece = Piece.objects.get(mark=row["mark"])
            hours = row["hours_since"]
            charge_hours(by=crew["ines"], piece=piece, hours=hours, basis="estimate")


def add_orders(crew: Crew) -> None:
    for row in shop()["orders"]:
        mark_ordered(
            by=crew["petra"],
            submission=uuid4(),
            item=Item.objects.get(code=row["item"]),
            quantity=row["quantity"],
            due_on=timezone.localdate() + timedelta(days=row["due_in_days"]),
        )
