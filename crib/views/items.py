"""Items: the list, one item, adding and changing."""

from __future__ import annotations

from urllib.parse import urlencode

from django.db.models import Q, QuerySet, Sum
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from crib.actions.buying import open_quantities
from crib.actions.items import findings_of, save_item
from crib.actions.once import Done
from crib.forms.items import FACTS_FORMS, FactsForm, ItemForm, ItemSearchForm
from crib.models import Item, ItemKind, Movement, Piece, Place, PlaceKind
from crib.rules.finding import Level
from crib.rules.keys import key_of
from crib.rules.refusal import NotAllowed, Refused
from crib.tables import ItemTable, MovementTable, PieceTable, StockCounts, key_size, laid_out
from crib.views.access import allowed_links, needs, put_refusal, tell
from crib.views.fact_lines import fact_lines
from crib.views.first_steps import address
from crib.views.form_page import done_before, posted

#: Places that are no part of the shop: what came from them or went there is not stock.
OUTSIDE = (PlaceKind.SUPPLIER, PlaceKind.GONE, PlaceKind.DIFFERENCE)
RECENT = 10


def find_item(code: str) -> Item:
    """The item of a code as it stands in an address, in any case of letters."""
    return get_object_or_404(_with_facts(), code_key=key_in_address(code))


def key_in_address(text: str) -> str:
    """The key of a code or mark in an address. What no key can hold is not found."""
    if "\0" in text:  # PostgreSQL refuses to be asked for it
        raise Http404(text)
    return key_of(text)


def _with_facts() -> QuerySet[Item]:
    kinds = [kind for kind in ItemKind.values if kind != ItemKind.SPARE]
    return Item.objects.select_related(
        "supplier", "home_place", *(f"{kind}_facts" for kind in kinds), "cutter_facts__insert_item"
    )


@needs("view")
@require_safe
def item_list(request: HttpRequest) -> HttpResponse:
    form = ItemSearchForm(request.GET)
    wanted = form.cleaned_data if form.is_valid() else {}
    items = search(wanted.get("q", ""), wanted.get("kind", ""))
    table = ItemTable(items, counts=_counts(), empty_text=_nothing_found(wanted))
    if request.user.may("items.edit"):
        table.empty_url, table.empty_label = reverse("crib:item_kinds"), "Add an item"
    context = {"form": form, "table": laid_out(request, table)}
    return render(request, "crib/item_list.html", context)


def search(words: str, kind: str) -> QuerySet[Item]:
    """Items whose code, description, article or engraved mark holds every one of `words`."""
    found = _with_facts().filter(is_retired=False)
    if kind:
        found = found.filter(kind=kind)
    for word in key_of(words).split():
        marked = Piece.objects.filter(mark_key__contains=word).values("item")
        found = found.filter(Q(search_key__contains=word) | Q(pk__in=marked))
    return found


def _nothing_found(wanted: dict) -> str:
    if wanted.get("q") or wanted.get("kind"):
        return "No item like that. Try fewer letters, or all kinds."
    return "No items yet."


def _counts() -> StockCounts:
    built_in = (
        Movement.objects.filter(Q(to_place__kind="assembly") | Q(from_place__kind="assembly"))
        .values_list("item", "to_place__kind", "from_place__kind")
        .annotate(n=Sum("quantity"))
        .order_by()
    )
    inside: dict[int, int] = {}
    for item_id, to_kind, from_kind, n in built_in:
        change = (to_kind == PlaceKind.ASSEMBLY) - (from_kind == PlaceKind.ASSEMBLY)
        inside[item_id] = inside.get(item_id, 0) + change * n
    on_order = {item_id: left for item_id, (left, _) in open_quantities().items()}
    return StockCounts(Movement.objects.usable_by_item(), inside, on_order)


@needs("view")
@require_safe
def item_detail(request: HttpRequest, code: str) -> HttpResponse:
    item = find_item(code)
    context = {
        "item": item,
        "size": key_size(item),
        "facts": fact_lines(item),
        "findings": [f for f in findings_of(item, item.facts) if f.level != Level.PASS],
        "stock": stock_by_place(item),
        "pieces": _pieces(item),
        "movements": _recent_movements(item),
        "orders": open_lines(item),
        "links": _links(request, item),
        "may_receive": request.user.may("stock.receive"),
    }
    return render(request, "crib/item_detail.html", context)


def _pieces(item: Item) -> PieceTable:
    pieces = item.pieces.select_related("place")
    return PieceTable(pieces, empty_text="No marked pieces.", orderable=False)


def _recent_movements(item: Item) -> MovementTable:
    return MovementTable(
        with_names(item.movements.all())[:RECENT],
        exclude=["item"],
        orderable=False,
        empty_text="Nothing has been moved yet.",
    )


def with_names(movements: QuerySet[Movement]) -> QuerySet[Movement]:
    return movements.select_related("item", "piece", "from_place", "to_place", "by")


def stock_by_place(item: Item) -> list[tuple[Place, int]]:
    """Where the pieces are, racks first; what left the shop is not listed."""
    balances = Movement.objects.filter(item=item).balances()
    here = {place_id: n for (_, place_id), n in balances.items()}
    places = Place.objects.filter(pk__in=here).exclude(kind__in=OUTSIDE)
    ordered = sorted(places, key=lambda place: (not place.is_usable, place.code_key))
    return [(place, here[place.pk]) for place in ordered]


def open_lines(item: Item) -> QuerySet:
    lines = item.order_lines.filter(closed=False).select_related("supplier")
    return lines.annotate(came=Sum("receipts__quantity"))


def _links(request: HttpRequest, item: Item) -> list[tuple[str, str]]:
    def to(name: str) -> str:
        return reverse(f"crib:{name}", kwargs={"code": item.code})

    finder = address("assemblies:part_finder") if item.kind == ItemKind.CUTTER else ""
    query = urlencode({"cutter": item.code})
    return allowed_links(
        request.user,
        ("stock.issue", to("stock_issue"), "Take out"),
        ("stock.issue", to("stock_give_back"), "Give back"),
        ("stock.receive", to("stock_receive"), "Book in"),
        ("items.edit", to("piece_new"), "Mark a piece"),
        ("items.edit", to("item_edit"), "Change"),
        *([("view", f"{finder}?{query}", "Find parts for it")] if finder else []),
    )


@needs("items.edit")
@require_safe
def item_kinds(request: HttpRequest) -> HttpResponse:
    return render(request, "crib/item_kinds.html", {"kinds": ItemKind.choices})


@needs("items.edit")
@require_http_methods(["GET", "HEAD", "POST"])
def item_new(request: HttpRequest, kind: str) -> HttpResponse:
    if kind not in ItemKind.values:
        raise Http404(kind)
    heading = f"New {ItemKind(kind).label.lower()}"
    return _item_form(request, Item(kind=kind), heading, reverse("crib:item_kinds"))


@needs("items.edit")
@require_http_methods(["GET", "HEAD", "POST"])
def item_edit(request: HttpRequest, code: str) -> HttpResponse:
    renamed = done_before(request, "item.save")
    if renamed is not None:
        # The code in this address may be the one that the first sending took away.
        item = get_object_or_404(Item, pk=int(renamed.result))
        return redirect("crib:item_detail", code=item.code)
    item = find_item(code)
    back_url = reverse("crib:item_detail", kwargs={"code": item.code})
    return _item_form(request, item, f"Change {item.code}", back_url)


def _item_form(request: HttpRequest, item: Item, heading: str, back_url: str) -> HttpResponse:
    form = ItemForm(posted(request), instance=item)
    facts_form = _facts_form(request, item)
    done = _try_to_save(request, form, facts_form) if request.method == "POST" else None
    if done is not None:
        saved = Item.objects.get(pk=int(done.result))
        tell(request, done, f"{saved.code} saved.")
        return redirect("crib:item_detail", code=saved.code)
    context = {
        "form": form,
        "facts_form": facts_form,
        "heading": heading,
        "item": item,
        "back_url": back_url,
    }
    return render(request, "crib/item_form.html", context)


def _facts_form(request: HttpRequest, item: Item) -> FactsForm | None:
    """The form of the item's kind, with its row of facts or a fresh one; None for spares."""
    form_class = FACTS_FORMS.get(item.kind)
    if form_class is None:
        return None
    return form_class(posted(request), instance=item.facts or form_class._meta.model())


def _try_to_save(request: HttpRequest, form: ItemForm, facts_form: FactsForm | None) -> Done | None:
    """Save both halves, or write on each what is wrong with it."""
    halves = [half for half in (form, facts_form) if half is not None]
    sound = [half.is_valid() for half in halves]  # asks both, so that both say what is wrong
    if not all(sound):
        return None
    if facts_form is not None and facts_form.typed_in_inches:
        form.instance.bought_in_inches = True
    try:
        return save_item(
            by=request.user,
            submission=form.cleaned_data["submission"],
            item=form.instance,
            facts=None if facts_form is None else facts_form.instance,
        )
    except NotAllowed:
        raise
    except Refused as refused:
        owners = [half for half in halves if refused.field in half.fields]
        put_refusal((owners or halves)[0], refused)
        return None
