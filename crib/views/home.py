"""The first page: what this person's day begins with."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from crib.actions.buying import reorder_rows
from crib.forms.items import ItemSearchForm
from crib.models import Condition, OrderLine, Person, Piece
from crib.rules.reorder import runs_out_first
from crib.views.first_steps import address, first_steps

_TO_LOOK_AT = (Condition.QUARANTINED, Condition.WORN, Condition.REGRIND)


@dataclass(frozen=True)
class Tile:
    """One way on from the first page; `figure` is a count worth seeing before going there."""

    url: str
    label: str
    text: str
    figure: int | None = None


@require_safe
def home(request: HttpRequest) -> HttpResponse:
    person = request.user
    if not person.roles:
        return render(request, "crib/home_no_role.html")
    return render(
        request,
        "crib/home.html",
        {
            "big": _check_tile() if person.may("check.decide") else None,
            "tiles": _tiles(person),
            "search": ItemSearchForm(),
            "first_steps": first_steps(person),
            "refused_url": _refused_url(person),
            "to_look_at": _pieces_to_look_at() if person.is_toolroom else None,
        },
    )


def _refused_url(person: Person) -> str:
    """Refusals are for those who put them right; the page fetches them when it has loaded."""
    return address("assemblies:refused") if person.is_toolroom or person.is_lead else ""


def _check_tile() -> Tile | None:
    url = address("assemblies:spindle")
    return (
        Tile(url, "Check a tool", "Scan the label of the assembly in your hand.") if url else None
    )


def _tiles(person: Person) -> list[Tile]:
    """Counts only for those whose task they are; ways that do not exist are left out."""
    tiles = [
        _bench_tile() if person.may("assembly.build") else None,
        _quarantine_tile() if person.may("assembly.build") else None,
        _buying_tile() if person.may("order.mark") else None,
        _late_tile() if person.may("stock.receive") else None,
        _finder_tile() if person.may("assembly.build") else None,
        _toolroom_tile() if person.may("assembly.build") or person.may("limits.edit") else None,
        *_spindle_tiles(person),
        Tile(address("assemblies:program_list"), "Programs", "What each tool number must be."),
        Tile(address("crib:item_list"), "Items", "What is in stock, and where."),
    ]
    return [tile for tile in tiles if tile is not None and tile.url]


def _spindle_tiles(person: Person) -> list[Tile]:
    """Ways to what happened at the machines, each for those whose task it is."""
    ways = (
        (
            "check.decide",
            "assemblies:take_out_scan",
            "Take a tool out",
            "Good, worn or broken: one scan and one tap.",
        ),
        (
            "assembly.build",
            "assemblies:whereabouts",
            "Not where expected",
            "Borrowed, taken out and not put back, came out worn.",
        ),
        (
            "assembly.build",
            "assemblies:correction_list",
            "Records called wrong",
            "Loaded all the same; look, and answer.",
        ),
        (
            "rules.watch",
            "assemblies:override_rates",
            "Which rules speak up",
            "What is accepted again and again, and stops overridden.",
        ),
    )
    return [
        Tile(address(name), label, text) for needed, name, label, text in ways if person.may(needed)
    ]


def _bench_tile() -> Tile:
    return Tile(
        address("assemblies:assembly_list"), "Assemblies", "What is built, and what needs work."
    )


def _finder_tile() -> Tile:
    text = "Which stacks stock allows for a cutter, best first."
    return Tile(address("assemblies:part_finder"), "Find parts", text)


def _toolroom_tile() -> Tile:
    text = "Instruments, runout by part, sums, rule book, limits."
    return Tile(address("crib:toolroom"), "Toolroom", text)


def _quarantine_tile() -> Tile:
    url = address("assemblies:assembly_list")
    return Tile(url and f"{url}?state=quarantined", "Quarantined", "Assemblies nobody may load.")


def _buying_tile() -> Tile:
    rows = [row for row in reorder_rows() if not row.suggestion.covered]
    pressing = sum(runs_out_first(row.line) for row in rows)
    text = (
        f"{pressing} used up before a delivery can come." if pressing else "Lines to order today."
    )
    return Tile(address("crib:reorder"), "Running low", text, len(rows))


def _late_tile() -> Tile | None:
    late = OrderLine.objects.filter(closed=False, due_on__lt=timezone.localdate()).count()
    if not late:
        return None
    return Tile(address("crib:reorder"), "Late deliveries", "Ordered, and past their day.", late)


def _pieces_to_look_at() -> list[Piece]:
    found = Piece.objects.filter(condition__in=_TO_LOOK_AT).select_related("item", "place")
    return list(found.order_by("condition", "mark_key")[:20])
