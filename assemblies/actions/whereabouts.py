"""Which assemblies are not where somebody would look for them. Reads only."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Max, OuterRef, Subquery
from django.utils import timezone

from assemblies.actions.loads import named_place
from assemblies.models import Assembly, AssemblyState, Build, Edge, Load, Sighting, Station
from assemblies.rules.standing_load import CHECK_HOLDS_FOR
from crib.models import Act, Person

#: What keeps a line in the list, in words.
BORROWED, TAKEN_OUT, LEFT_IN = "Borrowed", "Taken out", "May not be there"


@dataclass(frozen=True)
class MissingLine:
    """One assembly that is not where it belongs, and the last that is known of it."""

    assembly: Assembly
    why: str
    last_seen: str
    since: datetime
    days: int
    person: Person
    note: str


@dataclass(frozen=True)
class _Known:
    """The last events of all assemblies, by the key of the assembly."""

    loads: dict[int, Load]
    sightings: dict[int, Sighting]
    put_down: dict[int, datetime]
    on_bench: dict[int, datetime]
    stations: dict[int, Station]


def missing_lines() -> list[MissingLine]:
    """Borrowed, taken out and not put down, or left in under another program; oldest first."""
    known, now = _known(), timezone.now()
    assemblies = {row.assembly_id: row.assembly for row in known.sightings.values()}
    assemblies |= {row.assembly_id: row.assembly for row in known.loads.values()}
    lines = [_line_of(assembly, known, now) for assembly in assemblies.values()]
    return sorted((line for line in lines if line), key=lambda line: line.since)


def missing_line_of(assembly: Assembly) -> MissingLine | None:
    """Why this one is not where it belongs; None when it is, as far as is known."""
    return next((line for line in missing_lines() if line.assembly.pk == assembly.pk), None)


def came_out_worn() -> list[Load]:
    """Last stays in a machine that ended worn, of builds that nobody has rebuilt since."""
    rows = _last(Load.objects.exclude(out_at=None).exclude(out_as=""), "-out_at")
    found = rows.filter(out_as=Edge.WORN, build__live=True).order_by("-out_at")
    return list(found.select_related("machine", "assembly", "build", "out_by").defer(*_LARGE))


#: Columns that no line prints.
_LARGE = ("build__findings", "build__release_findings")


def _known() -> _Known:
    numbers = dict(Assembly.objects.values_list("number", "pk"))
    return _Known(
        loads={row.assembly_id: row for row in _last_loads()},
        sightings={row.assembly_id: row for row in _last_sightings()},
        put_down=_last_put_down(numbers),
        on_bench=dict(Build.objects.filter(live=True).values_list("assembly_id", "started_at")),
        stations={
            row.machine_id: row
            for row in Station.objects.select_related("revision__program")
            .defer("revision__content")
            .order_by("chosen_at")
        },
    )


def _last(rows, order: str):
    """Of `rows` the newest one of each assembly that is not retired."""
    newest = rows.filter(assembly=OuterRef("assembly")).order_by(order, "-pk")
    found = rows.filter(pk=Subquery(newest.values("pk")[:1]))
    return found.exclude(assembly__state=AssemblyState.RETIRED)


def _last_loads():
    rows = _last(Load.objects.all(), "-loaded_at")
    return rows.select_related(
        "assembly", "machine", "out_by", "spindle_check__by", "spindle_check__revision__program"
    ).defer("spindle_check__findings", "spindle_check__revision__content")


def _last_sightings():
    rows = _last(Sighting.objects.all(), "-at")
    return rows.select_related("assembly", "machine", "place", "by")


def _last_put_down(numbers: dict[int, int]) -> dict[int, datetime]:
    """When each assembly was last put in a rack: the act names it by its number."""
    rows = Act.objects.filter(kind="assembly.put_down").values_list("about")
    found = {}
    for about, at in rows.annotate(last=Max("at")).order_by():
        number = about.removeprefix("assembly ")
        if number.isdecimal() and int(number) in numbers:
            found[numbers[int(number)]] = at
    return found


def _line_of(assembly: Assembly, known: _Known, now: datetime) -> MissingLine | None:
    """Why `assembly` is not where it belongs; None when a later event tells where it is."""
    load, sighting = known.loads.get(assembly.pk), known.sightings.get(assembly.pk)
    settled = [known.put_down.get(assembly.pk), known.on_bench.get(assembly.pk)]
    if sighting is not None and sighting.kind == Sighting.Kind.RETURNED:
        settled.append(sighting.at)
    line = None
    if load is not None:
        line = _left_in(load, known, now) if load.out_at is None else _taken_out(load, now)
    if sighting is not None and sighting.kind == Sighting.Kind.BORROWED:
        last_load = load and (load.out_at or load.loaded_at)
        if last_load is None or sighting.at > last_load:
            line = _borrowed(sighting, now)
    if line is None or any(at is not None and at > line.since for at in settled):
        return None
    return line


def _borrowed(sighting: Sighting, now: datetime) -> MissingLine:
    where = sighting.machine or (sighting.place and sighting.place.shown)
    last_seen = f"for {where}" if where else "not said where to"
    return MissingLine(
        assembly=sighting.assembly,
        why=BORROWED,
        last_seen=last_seen,
        since=sighting.at,
        days=(now - sighting.at).days,
        person=sighting.by,
        note=sighting.note,
    )


def _taken_out(load: Load, now: datetime) -> MissingLine:
    how = f", {load.get_out_as_display().lower()}" if load.out_as else ""
    last_seen = f"{load.machine}, {named_place(load.pocket)}{how}"
    return MissingLine(
        assembly=load.assembly,
        why=TAKEN_OUT,
        last_seen=last_seen,
        since=load.out_at,
        days=(now - load.out_at).days,
        person=load.out_by,
        note=load.out_note,
    )


def _left_in(load: Load, known: _Known, now: datetime) -> MissingLine | None:
    """A load whose check no longer holds, at a machine where another program was chosen since."""
    station = known.stations.get(load.machine_id)
    chosen, checked = station and station.revision, load.spindle_check
    if now - load.loaded_at <= CHECK_HOLDS_FOR or chosen is None or chosen == checked.revision:
        return None
    note = f"Checked for {checked.revision or 'no program'}; {chosen} was chosen since."
    return MissingLine(
        assembly=load.assembly,
        why=LEFT_IN,
        last_seen=f"{load.machine}, {named_place(load.pocket)}",
        since=load.loaded_at,
        days=(now - load.loaded_at).days,
        person=checked.by,
        note=note,
    )
