"""Running low: what to order today and why, as a page, as a sheet and as a file."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from django.db.models import Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from crib.actions.buying import ReorderRow, reorder_rows
from crib.actions.buying import mark_ordered as do_mark_ordered
from crib.forms.buying import OrderedForm
from crib.models import OrderLine
from crib.rules.reorder import runs_out_first, show_changes, show_cover
from crib.rules.working_days import day_after_working_days
from crib.views.access import attempt, needs, tell
from crib.views.csv_file import csv_answer
from crib.views.items import find_item


@dataclass(frozen=True)
class BuyLine:
    """One line of the buyer's page, in words."""

    row: ReorderRow
    why: str
    cover: str
    changes: str
    pressing: bool
    form: OrderedForm | None = None


@needs("view")
@require_safe
def reorder(request: HttpRequest) -> HttpResponse:
    return _reorder_page(request)


def _reorder_page(request: HttpRequest, bad: OrderedForm | None = None) -> HttpResponse:
    may_mark = request.user.may("order.mark")
    rows = reorder_rows()
    to_order = [_line(row, _form(row, bad) if may_mark else None) for row in rows if _is_open(row)]
    context = {
        "to_order": to_order,
        "covered": [_line(row) for row in rows if not _is_open(row)],
        "pressing": sum(line.pressing for line in to_order),
        "order_lines": _coming(),
        "today": timezone.localdate(),
        "bad": bad,
        "may_receive": request.user.may("stock.receive"),
    }
    return render(request, "crib/reorder.html", context)


def _is_open(row: ReorderRow) -> bool:
    return not row.suggestion.covered


def _line(row: ReorderRow, form: OrderedForm | None = None) -> BuyLine:
    line = row.line
    return BuyLine(
        row=row,
        why=row.suggestion.reason,
        cover=show_cover(line),
        changes=show_changes(line.usable, line.pieces_per_change) if line.pieces_per_change else "",
        pressing=runs_out_first(line),
        form=form,
    )


def _form(row: ReorderRow, bad: OrderedForm | None) -> OrderedForm:
    """The line's form with quantity and day filled in, or the one that was just refused."""
    if bad is not None and bad.auto_id == _auto_id(row.item.pk):
        return bad
    lead = row.line.lead_working_days
    due_on = None if lead is None else day_after_working_days(timezone.localdate(), lead)
    initial = {"quantity": row.suggestion.order, "due_on": due_on}
    return OrderedForm(initial=initial, auto_id=_auto_id(row.item.pk))


def _auto_id(item_pk: int) -> str:
    return f"id_{item_pk}_%s"


def _coming() -> list[OrderLine]:
    """Lines not yet complete, the one expected first at the head, with what came so far."""
    lines = OrderLine.objects.filter(closed=False).select_related("item", "supplier")
    return list(lines.annotate(came=Sum("receipts__quantity")))


@needs("order.mark")
@require_POST
def mark_ordered(request: HttpRequest, code: str) -> HttpResponse:
    item = find_item(code)
    form = OrderedForm(request.POST, auto_id=_auto_id(item.pk))
    done = attempt(form, lambda data: do_mark_ordered(by=request.user, item=item, **data))
    if done is None:
        return _reorder_page(request, bad=form)
    line = OrderLine.objects.get(pk=int(done.result))
    tell(request, done, f"{item.code}: {line.quantity} pieces marked as ordered.")
    return redirect("crib:reorder")


@needs("view")
@require_safe
def reorder_print(request: HttpRequest) -> HttpResponse:
    """The order sheet: one list for each supplier."""
    context = {"groups": _by_supplier(reorder_rows()), "today": timezone.localdate()}
    return render(request, "crib/reorder_print.html", context)


def _by_supplier(rows: Iterable[ReorderRow]) -> list[tuple[str, list[BuyLine]]]:
    def name(row: ReorderRow) -> str:
        return row.item.supplier.name if row.item.supplier else "No supplier recorded"

    ordered = sorted((row for row in rows if _is_open(row)), key=name)
    return [(who, [_line(row) for row in group]) for who, group in groupby(ordered, key=name)]


_CSV_HEAD = (
    "item",
    "description",
    "supplier",
    "supplier article",
    "order pieces",
    "packs",
    "pieces in a pack",
    "usable",
    "on order",
    "minimum",
    "why",
)


@needs("view")
@require_safe
def reorder_csv(request: HttpRequest) -> HttpResponse:
    rows = (_csv_row(row) for row in reorder_rows() if _is_open(row))
    return csv_answer(f"running-low-{timezone.localdate():%Y-%m-%d}.csv", _CSV_HEAD, rows)


def _csv_row(row: ReorderRow) -> tuple:
    item, line, suggestion = row.item, row.line, row.suggestion
    return (
        item.code,
        item.description,
        item.supplier.name if item.supplier else "",
        item.supplier_article,
        suggestion.order,
        suggestion.packs,
        item.pack_size,
        line.usable,
        line.on_order,
        line.minimum,
        f"{suggestion.reason}; {show_cover(line)}",
    )
