"""Cutters to pick from for the part finder. Reads only."""

from __future__ import annotations

from django.db.models import F, QuerySet

from assemblies.models import ToolRequirement
from crib.models import Item, ItemKind
from crib.rules.keys import key_of

#: With more of them a search is quicker to read than a list.
MOST_SHOWN = 40


def cutters_named(words: str) -> list[Item]:
    """Cutters whose code, description or article has all the words; all without any."""
    found = _cutters()
    for word in key_of(words).split():
        found = found.filter(search_key__contains=word)
    return list(found[:MOST_SHOWN])


def cutters_wanted(row: ToolRequirement) -> list[Item]:
    """Cutters of the kind and nominal diameter that a tool number of a program asks for."""
    found = _cutters()
    if row.kind:
        found = found.filter(cutter_facts__kind=row.kind)
    if row.diameter_um is not None:
        off_um = row.diameter_tolerance_um or 0
        found = found.filter(
            cutter_facts__diameter_um__gte=row.diameter_um - off_um,
            cutter_facts__diameter_um__lte=row.diameter_um + off_um,
        )
    return list(found[:MOST_SHOWN])


def _cutters() -> QuerySet[Item]:
    return (
        Item.objects.filter(kind=ItemKind.CUTTER, is_retired=False, cutter_facts__isnull=False)
        .select_related("cutter_facts")
        .order_by(F("code_key"))
    )
