"""What to reorder, and marking a line as ordered."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Sum
from django.utils import timezone

from crib.actions.once import Done, do_once
from crib.actions.stock import MOST_AT_ONCE
from crib.models import Item, Movement, OrderLine, Person
from crib.rules.refusal import Refused
from crib.rules.reorder import StockLine, Suggestion, suggest, urgency


@dataclass(frozen=True)
class ReorderRow:
    """One line of the buyer's page."""

    item: Item
    line: StockLine
    suggestion: Suggestion
    urgency: tuple[bool, float]
    due_on: datetime.date | None


def open_quantities() -> dict[int, tuple[int, datetime.date | None]]:
    """What is still to come of each item: pieces, and the earliest expected day."""
    open_lines: dict[int, tuple[int, datetime.date | None]] = {}
    rows = OrderLine.objects.filter(closed=False).annotate(came=Sum("receipts__quantity"))
    for row in rows:
        left = max(0, row.quantity - (row.came or 0))
        before, due = open_lines.get(row.item_id, (0, None))
        dues = [day for day in (due, row.due_on) if day]
        open_lines[row.item_id] = (before + left, min(dues, default=None))
    return open_lines


def reorder_rows() -> list[ReorderRow]:
    """Every watched item that is short or covered by an open order, most urgent first."""
    usable = Movement.objects.usable_by_item()
    on_order = open_quantities()
    items = (
        Item.objects.filter(minimum_kept__isnull=False, is_retired=False)
        .select_related("supplier", "insert_facts")
        .prefetch_related("fits_cutters")
    )
    rows = [_row(item, usable.get(item.pk, 0), on_order.get(item.pk, (0, None))) for item in items]
    found = [row for row in rows if row is not None]
    found.sort(key=lambda row: row.item.code_key)
    found.sort(key=lambda row: row.urgency, reverse=True)
    return sorted(found, key=lambda row: row.suggestion.covered)


def _row(item: Item, usable: int, coming: tuple[int, datetime.date | None]) -> ReorderRow | None:
    line = StockLine(
        code=item.code,
        usable=usable,
        on_order=coming[0],
        minimum=item.minimum_kept,
        pack_size=item.pack_size,
        pieces_per_change=_seats(item),
        use_per_week=None if item.use_per_week is None else float(item.use_per_week),
        lead_working_days=item.supplier.lead_working_days if item.supplier else None,
    )
    suggestion = suggest(line)
    if suggestion is None:
        return None
    return ReorderRow(item, line, suggestion, urgency(line), coming[1])


def _seats(item: Item) -> int:
    """Seats of the cutter that takes this insert; the largest, when several do."""
    return max((facts.seats for facts in item.fits_cutters.all()), default=0)


def mark_ordered(
    *,
    by: Person,
    submission: UUID,
    item: Item,
    quantity: int,
    due_on: datetime.date | None = None,
) -> Done:
    """Write that so many were ordered today, so that nobody orders them twice."""

    def work(act):
        if type(quantity) is not int or not 0 < quantity <= MOST_AT_ONCE:
            raise Refused("order.quantity", f"{quantity} is no quantity.", field="quantity")
        if due_on is not None and due_on < timezone.localdate():
            raise Refused(
                "order.due_in_the_past",
                f"{due_on.day} {due_on:%b %Y} is past.",
                "Enter the day it is expected.",
                field="due_on",
            )
        line = OrderLine.objects.create(
            item=item, supplier=item.supplier, quantity=quantity, due_on=due_on, act=act, by=by
        )
        act.about = f"item {item.code}"
        return line.pk

    return do_once(submission=submission, kind="order.mark", by=by, needs="order.mark", work=work)
