"""Stock: booking in, taking out, giving back, and the list of movements."""

from __future__ import annotations

from collections.abc import Callable

from django.db.models import Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from crib.actions import stock
from crib.forms.stock import GiveBackForm, IssueForm, MovementFilterForm, ReceiveForm, StockForm
from crib.models import Item, Movement, OrderLine
from crib.rules.keys import key_of
from crib.tables import MovementTable, laid_out
from crib.views.access import needs
from crib.views.form_page import form_page, posted
from crib.views.items import find_item, open_lines, with_names


@needs("stock.receive")
@require_http_methods(["GET", "HEAD", "POST"])
def receive(request: HttpRequest, code: str) -> HttpResponse:
    item = find_item(code)
    form = ReceiveForm(posted(request), item=item, initial={"place": item.home_place_id})

    def act(data: dict):
        return stock.receive(by=request.user, item=item, **_moved(data, "to_place"))

    return _stock_page(request, item, form, act, "Book in", lines=open_lines(item))


@needs("stock.receive")
@require_http_methods(["GET", "HEAD", "POST"])
def receive_line(request: HttpRequest, pk: int) -> HttpResponse:
    lines = OrderLine.objects.select_related("item", "supplier")
    line = get_object_or_404(lines.annotate(came=Sum("receipts__quantity")), pk=pk)
    left = max(0, line.quantity - (line.came or 0)) or None
    initial = {"place": line.item.home_place_id, "quantity": left}
    form = ReceiveForm(posted(request), item=line.item, initial=initial)

    def act(data: dict):
        moved = _moved(data, "to_place")
        return stock.receive(by=request.user, item=line.item, order_line=line, **moved)

    def said() -> str:
        return _arrived(line, left, form.cleaned_data["quantity"])

    return _stock_page(request, line.item, form, act, "Book in", said=said, line=line)


def _arrived(line: OrderLine, left: int | None, quantity: int) -> str:
    """What was booked in, and that it was more than the line still had to come."""
    if left is None or quantity <= left:
        return f"Book in: {line.item.code}, recorded."
    ordered = f"{line.quantity} were ordered"
    if left < line.quantity:
        ordered = f"{left} of {line.quantity} ordered were still to come"
    return f"{quantity} booked in, {ordered}."


@needs("stock.issue")
@require_http_methods(["GET", "HEAD", "POST"])
def issue(request: HttpRequest, code: str) -> HttpResponse:
    item = find_item(code)
    piece = item.pieces.filter(pk=_number(request.GET.get("piece"))).first()
    place = piece.place if piece else stock.place_with(item)
    initial = {"quantity": 1, "piece": piece, "place": place}
    form = IssueForm(posted(request), item=item, initial=initial)

    def act(data: dict):
        return stock.issue(by=request.user, item=item, **_moved(data, "from_place"))

    return _stock_page(request, item, form, act, "Take out")


@needs("stock.issue")
@require_http_methods(["GET", "HEAD", "POST"])
def give_back(request: HttpRequest, code: str) -> HttpResponse:
    item = find_item(code)
    piece = item.pieces.filter(pk=_number(request.GET.get("piece"))).first()
    initial = {"quantity": 1, "piece": piece, "place": item.home_place_id}
    form = GiveBackForm(posted(request), item=item, initial=initial)

    def act(data: dict):
        return stock.give_back(by=request.user, item=item, **_moved(data, "to_place"))

    return _stock_page(request, item, form, act, "Give back")


def _number(text: str | None) -> int | None:
    return int(text) if text and text.isdecimal() and len(text) < 10 else None


def _moved(data: dict, place_name: str) -> dict:
    """The form's answers under the names of the action."""
    return {place_name if name == "place" else name: value for name, value in data.items()}


def _stock_page(
    request: HttpRequest,
    item: Item,
    form: StockForm,
    act: Callable,
    verb: str,
    said: Callable[[], str] | None = None,
    **context,
) -> HttpResponse:
    back_url = reverse("crib:item_detail", kwargs={"code": item.code})
    return form_page(
        request,
        form,
        act,
        then=back_url,
        said=said or f"{verb}: {item.code}, recorded.",
        template="crib/stock_form.html",
        heading=f"{verb}: {item.code}",
        about=item.description,
        submit=verb,
        back_url=back_url,
        item=item,
        **context,
    )


@needs("view")
@require_safe
def movements(request: HttpRequest) -> HttpResponse:
    form = MovementFilterForm(request.GET)
    code = form.cleaned_data["item"] if form.is_valid() else ""
    rows = with_names(Movement.objects.all())
    if code:
        rows = rows.filter(item__code_key=key_of(code))
    empty = f"Nothing of {code} has been moved." if code else "Nothing has been moved yet."
    table = laid_out(request, MovementTable(rows, empty_text=empty))
    return render(request, "crib/movements.html", {"form": form, "table": table})
