"""What the toolroom works with besides assemblies and stock: one page of ways on."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from crib.actions.instrument_facts import due_instruments
from crib.views.access import needs
from crib.views.first_steps import address
from crib.views.home import Tile

_WAYS = (
    ("assemblies:part_finder", "Find parts", "Which stacks stock allows for a cutter, best first."),
    ("assemblies:runout", "Runout by part", "Which holder or collet to look at on the bench."),
    ("assemblies:sums", "Sums", "Speed, chip, rim, wrench with adapter, life from own notes."),
    ("assemblies:rule_list", "Rule book", "Every rule with its limit, source and last use."),
    ("assemblies:limit_list", "Shop limits", "Limits this shop set otherwise, by whom and why."),
    ("crib:reference", "Tables", "What the rules look up, with source and confidence."),
)


@needs("view")
@require_safe
def toolroom(request: HttpRequest) -> HttpResponse:
    tiles = [_instruments(), *(Tile(address(name), label, text) for name, label, text in _WAYS)]
    return render(request, "crib/toolroom.html", {"tiles": [tile for tile in tiles if tile.url]})


def _instruments() -> Tile:
    due = len(due_instruments(timezone.localdate()))
    return Tile(address("crib:instrument_list"), "Instruments", "to be calibrated", due)
