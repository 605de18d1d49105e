"""Marked pieces: one piece, a new mark, its condition, its stud."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass

from django.db.models import Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from crib.actions.pieces import add_piece, mark_loose, set_condition, set_stud
from crib.forms.pieces import LOOSE, ConditionForm, HolderPieceForm, PieceForm, StudForm
from crib.models import Act, ItemKind, Movement, Piece, PlaceKind, Reason
from crib.rules.units import show_mm
from crib.tables import key_size
from crib.views.access import allowed_links, needs
from crib.views.fact_lines import show_hours
from crib.views.first_steps import address
from crib.views.form_page import form_page, posted
from crib.views.items import find_item, key_in_address, with_names

_ACT_WORDS = {
    "piece.add": "Mark given",
    "piece.mark": "Mark given",
    "piece.condition": "Condition set",
    "piece.stud": "Stud recorded",
}


@dataclass(frozen=True)
class HistoryLine:
    """One thing that happened to a piece."""

    at: datetime.datetime
    what: str
    detail: str
    who: str


def find_piece(mark: str) -> Piece:
    """The piece of a mark as it stands in an address, in any case of letters."""
    pieces = Piece.objects.select_related("item", "place")
    return get_object_or_404(pieces, mark_key=key_in_address(mark))


@needs("view")
@require_safe
def piece_detail(request: HttpRequest, mark: str) -> HttpResponse:
    piece = find_piece(mark)
    context = {
        "piece": piece,
        "size": key_size(piece.item),
        "hours": _hours(piece),
        "measured": show_mm(piece.measured_diameter_um),
        "history": history(piece),
        "links": _links(request, piece),
    }
    return render(request, "crib/piece_detail.html", context)


def _hours(piece: Piece) -> str:
    """Hours charged so far, with the limit where there is one."""
    minutes = piece.uses.aggregate(n=Sum("minutes"))["n"] or 0
    limit = getattr(piece.item.facts, "life_limit_minutes", None)
    of = f" of {show_hours(limit)}" if limit else ""
    return f"{show_hours(minutes)}{of}"


def history(piece: Piece) -> list[HistoryLine]:
    """Acts about a piece and its movements, newest first; an act that moved it is told once."""
    moved = list(with_names(piece.movements.all()))
    acts = Act.objects.filter(about=f"piece {piece.mark}").select_related("by")
    told = {movement.act_id for movement in moved}
    lines = [*_moved(moved), *_acted(act for act in acts if act.pk not in told or act.details)]
    return sorted(lines, key=lambda line: line.at, reverse=True)


def _moved(movements: list[Movement]) -> Iterator[HistoryLine]:
    for movement in movements:
        way = f"{movement.from_place.shown} → {movement.to_place.shown}"
        note = f" – {movement.note}" if movement.note else ""
        what = Reason(movement.reason).label
        yield HistoryLine(movement.at, what, way + note, movement.by.shown_name)


def _acted(acts: Iterator[Act]) -> Iterator[HistoryLine]:
    for act in acts:
        what = _ACT_WORDS.get(act.kind, act.kind.replace(".", " ").capitalize())
        words = [str(value).replace("_", " ") for value in act.details.values() if value]
        yield HistoryLine(act.at, what, " – ".join(words), act.by.shown_name)


def _measured(here: dict[str, str]) -> list[tuple[str, str]]:
    """Ways to what a room above knows of the piece; none where that room is not there."""
    return [
        (address("assemblies:piece_history", **here), "Measured over time"),
        (address("assemblies:runout_piece", **here), "Runout with it"),
    ]


def _links(request: HttpRequest, piece: Piece) -> list[tuple[str, str]]:
    here = {"mark": piece.mark}
    of_item = {"code": piece.item.code}
    links = [("items.edit", reverse("crib:piece_condition", kwargs=here), "Set condition")]
    kind = piece.place.kind if piece.place else ""
    if piece.item.kind == ItemKind.HOLDER and kind != PlaceKind.ASSEMBLY:
        links.append(("items.edit", reverse("crib:piece_stud", kwargs=here), "Set stud"))
    if kind == PlaceKind.STORAGE:
        url = reverse("crib:stock_issue", kwargs=of_item)
        links.append(("stock.issue", f"{url}?piece={piece.pk}", "Take out"))
    if kind == PlaceKind.PERSON:
        url = reverse("crib:stock_give_back", kwargs=of_item)
        links.append(("stock.issue", f"{url}?piece={piece.pk}", "Give back"))
    links += [("view", url, label) for url, label in _measured(here) if url]
    return allowed_links(request.user, *links)


@needs("items.edit")
@require_http_methods(["GET", "HEAD", "POST"])
def piece_new(request: HttpRequest, code: str) -> HttpResponse:
    item = find_item(code)
    form_class = HolderPieceForm if item.kind == ItemKind.HOLDER else PieceForm

    def act(data: dict):
        stud = {name: data[name] for name in ("stud_state", "stud_pattern") if name in data}
        new = {
            "by": request.user,
            "submission": data["submission"],
            "piece": Piece(item=item, mark=data["mark"].strip(), **stud),
            "at_place": data["place"],
        }
        if data.get("origin") == LOOSE:
            return mark_loose(**new)
        return add_piece(**new, reason=Reason.OPENING if data["opening"] else Reason.RECEIVE)

    return form_page(
        request,
        form_class(posted(request), item=item, initial={"place": item.home_place_id}),
        act,
        then=lambda done: _address_of(int(done.result)),
        said="Mark recorded.",
        heading="Mark a piece",
        about=f"{item.code} – {item.description}",
        submit="Record the mark",
        back_url=reverse("crib:item_detail", kwargs={"code": item.code}),
    )


def _address_of(pk: int) -> str:
    return reverse("crib:piece_detail", kwargs={"mark": Piece.objects.get(pk=pk).mark})


@needs("items.edit")
@require_http_methods(["GET", "HEAD", "POST"])
def piece_condition(request: HttpRequest, mark: str) -> HttpResponse:
    piece = find_piece(mark)
    initial = {"condition": piece.condition, "note": piece.condition_note}

    def act(data: dict):
        return set_condition(by=request.user, piece=piece, **data)

    form = ConditionForm(posted(request), initial=initial)
    return _piece_form(request, piece, form, act, "Condition")


@needs("items.edit")
@require_http_methods(["GET", "HEAD", "POST"])
def piece_stud(request: HttpRequest, mark: str) -> HttpResponse:
    piece = find_piece(mark)
    initial = {"stud_state": piece.stud_state, "stud_pattern": piece.stud_pattern}

    def act(data: dict):
        return set_stud(by=request.user, piece=piece, **data)

    form = StudForm(posted(request), initial=initial)
    return _piece_form(request, piece, form, act, "Pull stud")


def _piece_form(request: HttpRequest, piece: Piece, form, act, what: str) -> HttpResponse:
    """The page of one form about one piece, on the way back to the piece."""
    back_url = reverse("crib:piece_detail", kwargs={"mark": piece.mark})
    return form_page(
        request,
        form,
        act,
        then=back_url,
        said=f"{what} of {piece.mark} recorded.",
        heading=f"{what} of {piece.mark}",
        about=f"{piece.item.code} – {piece.item.description}",
        submit="Save",
        back_url=back_url,
    )
