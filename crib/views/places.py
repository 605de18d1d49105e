"""Places: racks and drawers as a tree, and what lies in each."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from crib.actions.places import save_place
from crib.forms.places import PlaceForm
from crib.models import Item, Movement, Place, PlaceKind
from crib.tables import PieceTable, PlaceContentTable, laid_out
from crib.views.access import needs
from crib.views.form_page import address_of_pk, form_page, posted
from crib.views.items import OUTSIDE


@dataclass(frozen=True)
class PlaceRow:
    """A place, the codes of the places round it, and what lies there itself."""

    place: Place
    above: tuple[str, ...]
    pieces: int
    items: int


@needs("view")
@require_safe
def place_list(request: HttpRequest) -> HttpResponse:
    counts = _counts_by_place()
    places = list(Place.objects.exclude(kind__in=[*OUTSIDE, PlaceKind.ASSEMBLY]))
    racks = [place for place in places if place.kind == PlaceKind.STORAGE]
    accounts = [place for place in places if place.kind != PlaceKind.STORAGE]
    context = {
        "racks": list(_tree(None, racks, counts)),
        "accounts": list(_tree(None, accounts, counts)),
        "may_edit": request.user.may("places.edit"),
    }
    return render(request, "crib/place_list.html", context)


def _counts_by_place() -> dict[int, tuple[int, int]]:
    """(pieces, different items) at each place, from the ledger."""
    counts: dict[int, tuple[int, int]] = {}
    for (_, place_id), n in Movement.objects.balances().items():
        pieces, items = counts.get(place_id, (0, 0))
        counts[place_id] = (pieces + n, items + 1)
    return counts


def _tree(
    parent_id: int | None,
    places: list[Place],
    counts: dict[int, tuple[int, int]],
    above: tuple[str, ...] = (),
) -> Iterator[PlaceRow]:
    """The places inside one, each followed by what stands inside it."""
    for place in places:
        if place.parent_id == parent_id:
            yield PlaceRow(place, above, *counts.get(place.pk, (0, 0)))
            yield from _tree(place.pk, places, counts, (*above, place.code))


@needs("view")
@require_safe
def place_detail(request: HttpRequest, pk: int) -> HttpResponse:
    place = get_object_or_404(Place.objects.select_related("parent"), pk=pk)
    content = PlaceContentTable(_content(place), empty_text="Nothing lies here.")
    pieces = PieceTable(place.pieces.all(), exclude=["place"], empty_text="No marked pieces here.")
    context = {
        "place": place,
        "content": laid_out(request, content),
        "pieces": pieces,
        "inner": place.inner.all(),
        "may_edit": request.user.may("places.edit") and place.kind == PlaceKind.STORAGE,
    }
    return render(request, "crib/place_detail.html", context)


def _content(place: Place) -> list[dict]:
    near = Movement.objects.filter(from_place=place) | Movement.objects.filter(to_place=place)
    here = {item_id: n for (item_id, at), n in near.balances().items() if at == place.pk}
    return [{"item": item, "quantity": here[item.pk]} for item in Item.objects.filter(pk__in=here)]


@needs("places.edit")
@require_http_methods(["GET", "HEAD", "POST"])
def place_new(request: HttpRequest) -> HttpResponse:
    return _place_form(request, Place(), "New place", reverse("crib:place_list"))


@needs("places.edit")
@require_http_methods(["GET", "HEAD", "POST"])
def place_edit(request: HttpRequest, pk: int) -> HttpResponse:
    place = get_object_or_404(Place, pk=pk, kind=PlaceKind.STORAGE)
    back_url = reverse("crib:place_detail", kwargs={"pk": pk})
    return _place_form(request, place, f"Change {place.code}", back_url)


def _place_form(request: HttpRequest, place: Place, heading: str, back_url: str) -> HttpResponse:
    form = PlaceForm(posted(request), instance=place)

    def act(data: dict):
        return save_place(by=request.user, submission=data["submission"], place=form.instance)

    return form_page(
        request,
        form,
        act,
        then=address_of_pk("crib:place_detail"),
        said="Place saved.",
        heading=heading,
        back_url=back_url,
    )
