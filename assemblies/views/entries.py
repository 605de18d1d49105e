"""Where a typed entry leads that is no label code: an assembly, a part, an item or a place."""

from __future__ import annotations

import re
from dataclasses import dataclass

from django.db.models import Model
from django.http import HttpRequest
from django.urls import reverse

from assemblies.models import Assembly, Build, BuildPart, PartRole
from assemblies.views.stations import station_of
from crib.models import Item, Piece, Place, PlaceKind
from crib.rules.keys import key_of, squeezed

#: `1044`, or as the tag prints it with its revision: `1044 r1`.
_NUMBER = re.compile(r"(?P<number>[0-9]{1,8})(?:\s*r\s*(?P<revision>[0-9]{1,4}))?", re.ASCII)


@dataclass(frozen=True)
class Lead:
    """An address, and what to say on arriving there; without an address, why there is none."""

    address: str = ""
    said: str = ""


def lead_of_number(request: HttpRequest, entry: str) -> Lead | None:
    """Where an assembly number leads; None when the entry is none."""
    match = _NUMBER.fullmatch(entry.strip().casefold())
    if match is None:
        return None
    number, revision = int(match["number"]), match["revision"]
    live = Build.objects.filter(assembly__number=number, live=True).values_list("revision").first()
    if live is None and not Assembly.objects.filter(number=number).exists():
        return Lead(said=f"No assembly {number}.")
    stands = live[0] if live else None
    if revision is not None and int(revision) != stands:
        now = f"at r{stands}" if stands else "with no finished revision"
        said = f"r{int(revision)} no longer counts: {number} stands {now}. Look at the label."
        return Lead(reverse("assemblies:assembly_detail", args=[number]), said)
    return Lead(_address_of(request, number))


def lead_of_code(request: HttpRequest, entry: str, *, tolerant: bool = False) -> Lead | None:
    """Where a mark, an item code or a place code leads. Tolerant: hyphens and blanks apart."""
    rows = (
        (Piece.objects.all(), "mark_key"),
        (Item.objects.all(), "code_key"),
        (Place.objects.filter(kind=PlaceKind.STORAGE), "code_key"),
    )
    for found, column in rows:
        one = _alike(found, column, entry) if tolerant else _same(found, column, entry)
        if one is not None:
            return Lead(_page_of(request, one))
    return None


def _same(rows, column: str, entry: str) -> Model | None:
    return rows.filter(**{column: key_of(entry)}).first()


def _alike(rows, column: str, entry: str) -> Model | None:
    """The one row whose code reads the same; of two, neither is guessed."""
    wanted = squeezed(entry)
    if not wanted:
        return None
    keys = rows.order_by().values_list("pk", column)
    found = [pk for pk, key in keys if squeezed(key) == wanted]
    return rows.get(pk=found[0]) if len(found) == 1 else None


def _page_of(request: HttpRequest, row: Piece | Item | Place) -> str:
    if isinstance(row, Item):
        return reverse("crib:item_detail", kwargs={"code": row.code})
    if isinstance(row, Place):
        return reverse("crib:place_detail", args=[row.pk])
    held = BuildPart.objects.filter(role=PartRole.HOLDER, build__live=True, piece=row)
    number = held.values_list("build__assembly__number", flat=True).first()
    if number is None:
        return reverse("crib:piece_detail", kwargs={"mark": row.mark})
    return _address_of(request, number, mark=row.mark)


def _address_of(request: HttpRequest, number: int, mark: str = "") -> str:
    """The verdict where a machine was chosen, else the page of the assembly."""
    if station_of(request) is None:
        return reverse("assemblies:assembly_detail", args=[number])
    query = {"mark": mark} if mark else None
    return reverse("assemblies:spindle_lookup", args=[number], query=query)
