"""Where the assemblies of a set-up sheet are: in a machine, borrowed, in a rack."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from django.db.models import OuterRef, Q, Subquery

from assemblies.actions.loads import named_place
from assemblies.models import Assembly, Load, Machine, Sighting


class Spot(StrEnum):
    """Kind of place, as far as fetching goes."""

    HERE = "here"
    OTHER_MACHINE = "other_machine"
    BORROWED = "borrowed"
    RACK = "rack"
    NOT_SAID = "not_said"


@dataclass(frozen=True)
class Where:
    """Where one assembly is by the record. `load` is its open stay in a machine."""

    spot: Spot
    text: str
    load: Load | None = None


def open_loads(machine: Machine, assemblies: Iterable[Assembly]) -> list[Load]:
    """What is in `machine`, and where `assemblies` are in machines, in one query."""
    rows = Load.objects.filter(Q(machine=machine) | Q(assembly__in=list(assemblies)), out_at=None)
    return list(
        rows.select_related("machine", "assembly", "build").defer(
            "build__findings", "build__release_findings"
        )
    )


def places_of(
    assemblies: Iterable[Assembly], machine: Machine, loads: Iterable[Load]
) -> dict[int, Where]:
    """Where each assembly is, by its key. `loads` are open ones, as of `open_loads`."""
    assemblies = list(assemblies)
    in_machines = {load.assembly_id: load for load in loads}
    borrowed = _borrowed([a.pk for a in assemblies if a.pk not in in_machines])
    return {
        assembly.pk: _where(assembly, machine, in_machines.get(assembly.pk), borrowed)
        for assembly in assemblies
    }


def _borrowed(keys: list[int]) -> dict[int, Sighting]:
    """The last sighting of each assembly, where it was taken along and not put back."""
    newest = Sighting.objects.filter(assembly=OuterRef("assembly")).order_by("-at", "-pk")
    rows = Sighting.objects.filter(assembly__in=keys, pk=Subquery(newest.values("pk")[:1]))
    taken = rows.filter(kind=Sighting.Kind.BORROWED).select_related("machine", "place")
    return {row.assembly_id: row for row in taken}


def _where(
    assembly: Assembly, machine: Machine, load: Load | None, borrowed: dict[int, Sighting]
) -> Where:
    if load is not None:
        here = load.machine_id == machine.pk
        number = "" if load.tool_number is None else f" as T{load.tool_number}"
        text = f"{load.machine}, {named_place(load.pocket)}{number}"
        return Where(Spot.HERE if here else Spot.OTHER_MACHINE, text, load)
    if assembly.pk in borrowed:
        row = borrowed[assembly.pk]
        where = row.machine or (row.place and row.place.shown) or "not said where to"
        return Where(Spot.BORROWED, f"borrowed: {where}")
    place = assembly.stands_at
    return Where(Spot.RACK, place.shown) if place else Where(Spot.NOT_SAID, "place not recorded")
