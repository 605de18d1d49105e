"""Forms that move stock. Every choice stays open after the act, so that a repeat is understood."""

from __future__ import annotations

from collections import Counter

from django import forms

from crib.actions.stock import MOST_AT_ONCE
from crib.forms.fields import WholeField
from crib.forms.submission import SubmissionForm
from crib.models import Item, Movement, Piece, Place, PlaceKind


class PlaceField(forms.ModelChoiceField):
    """A rack or drawer; with `stock` the number of pieces there stands behind its name."""

    def __init__(self, *, stock: dict[int, int] | None = None, **kwargs) -> None:
        self.stock = stock or {}
        queryset = Place.objects.filter(kind=PlaceKind.STORAGE)
        super().__init__(queryset=queryset, empty_label="pick one", **kwargs)

    def label_from_instance(self, place: Place) -> str:
        here = self.stock.get(place.pk)
        return f"{place.shown} – {here} here" if here else place.shown


def stock_of(item: Item) -> dict[int, int]:
    """Pieces of `item` at each place, by the number of the place."""
    balances = Movement.objects.filter(item=item).balances()
    return {place_id: n for (_, place_id), n in balances.items()}


def loose_of(item: Item) -> dict[Place, int]:
    """Unmarked pieces of `item` in each rack or drawer that has some."""
    stock = stock_of(item)
    marked = Counter(item.pieces.values_list("place_id", flat=True))
    racks = Place.objects.filter(pk__in=stock, kind=PlaceKind.STORAGE)
    loose = {place: stock[place.pk] - marked[place.pk] for place in racks}
    return {place: n for place, n in loose.items() if n > 0}


class StockForm(SubmissionForm):
    """So many pieces, at a place."""

    quantity = WholeField(label="Quantity, in pieces", most=MOST_AT_ONCE)
    place = PlaceField(label="Place")
    note = forms.CharField(label="Note", required=False, max_length=120)
    place_label = "Place"

    def __init__(self, *args, item: Item, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["place"] = PlaceField(label=self.place_label, stock=stock_of(item))


class ReceiveForm(StockForm):
    place_label = "Put it where"


class PieceMoveForm(StockForm):
    """With the mark, where the part has one."""

    piece = forms.ModelChoiceField(label="Mark", queryset=Piece.objects.none(), required=False)
    field_order = ["quantity", "piece", "place", "note"]

    def __init__(self, *args, item: Item, **kwargs) -> None:
        super().__init__(*args, item=item, **kwargs)
        pieces = item.pieces.select_related("place")
        if pieces:
            self.fields["piece"].queryset = pieces
            self.fields["piece"].label_from_instance = _mark_and_place
            self.fields["piece"].empty_label = "No mark on it"
        else:
            del self.fields["piece"]


def _mark_and_place(piece: Piece) -> str:
    return f"{piece.mark} – {piece.place.shown}" if piece.place else piece.mark


class IssueForm(PieceMoveForm):
    place_label = "Take it from"


class GiveBackForm(PieceMoveForm):
    place_label = "Put it back where"


class MovementFilterForm(forms.Form):
    """Which movements to list."""

    item = forms.CharField(label="Item code", required=False, max_length=40)
