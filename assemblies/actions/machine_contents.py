"""What stands in a machine, line by line, with what happened to it since. Reads only."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime

from django.utils import timezone

from assemblies.actions.loads import lines_of, loads_in
from assemblies.models import BuildPart, Load, Machine, Measurement, PartRole, Station
from assemblies.rules.standing_load import StandingLoad, load_findings
from crib.models import Act
from crib.rules.finding import Finding, stops


@dataclass(frozen=True)
class LoadLine:
    """One load as a page shows it; `findings` say why it is to be checked again."""

    load: Load
    holder_mark: str
    cutter: str
    gauge_length_um: int | None
    in_inches: bool
    findings: list[Finding]

    @property
    def stops(self) -> list[Finding]:
        return stops(self.findings)


@dataclass(frozen=True)
class MachinePocket:
    """One pocket with the line of what is in it; None: nothing was said to be."""

    pocket: int
    line: LoadLine | None


@dataclass(frozen=True)
class PocketRow:
    """A pocket with its line, or a run of neighbours of which nothing was said."""

    first: int
    last: int
    line: LoadLine | None

    @property
    def words(self) -> str:
        return str(self.first) if self.first == self.last else f"{self.first}–{self.last}"


@dataclass(frozen=True)
class MachineContents:
    """Spindle and pockets of one machine. `spindle` None: nothing was recorded as loaded there."""

    spindle: LoadLine | None
    pockets: list[MachinePocket] = field(default_factory=list)

    @property
    def rows(self) -> list[PocketRow]:
        """The pockets as lines of a page: empty neighbours share one."""
        rows: list[PocketRow] = []
        for slot in self.pockets:
            if rows and slot.line is None and rows[-1].line is None:
                rows[-1] = replace(rows[-1], last=slot.pocket)
            else:
                rows.append(PocketRow(slot.pocket, slot.pocket, slot.line))
        return rows


def machine_contents(machine: Machine) -> MachineContents:
    """Everything that stands in `machine`, in a number of queries that its size does not change."""
    loads = list(loads_in(machine))
    lines = load_lines(loads, {machine.pk: program_now(machine)})
    spindle = next((lines[load.pk] for load in loads if load.pocket is None), None)
    pockets = [
        MachinePocket(line.pocket, lines[line.load.pk] if line.load else None)
        for line in lines_of(machine, loads)
    ]
    return MachineContents(spindle, pockets)


def program_now(machine: Machine) -> Station | None:
    """The choice of machine and program made last for this machine, on whatever screen."""
    rows = Station.objects.filter(machine=machine).select_related("revision__program")
    return rows.defer("revision__content").first()


def load_lines(loads: Iterable[Load], stations: dict[int, Station | None]) -> dict[int, LoadLine]:
    """The line of each load by its key. `stations`: what was chosen last, by machine."""
    loads = list(loads)
    now = timezone.now()
    parts = _parts({load.build_id for load in loads})
    lengths = _gauge_lengths({load.build_id for load in loads})
    acts = _acts_since(loads)
    return {
        load.pk: _line(load, parts, lengths, acts, stations.get(load.machine_id), now)
        for load in loads
    }


def _line(load, parts, lengths, acts, station: Station | None, now: datetime) -> LoadLine:
    holder = parts.get((load.build_id, PartRole.HOLDER))
    cutter = parts.get((load.build_id, PartRole.CUTTER))
    return LoadLine(
        load=load,
        holder_mark=holder.piece.mark if holder and holder.piece else "",
        cutter=cutter.item.description if cutter else "",
        gauge_length_um=lengths.get(load.build_id),
        in_inches=bool(cutter and cutter.item.bought_in_inches),
        findings=load_findings(_standing(load, station, acts.get(load.pk, {})), now),
    )


def _standing(load: Load, station: Station | None, since: dict[str, Act]) -> StandingLoad:
    checked_for = load.spindle_check.revision
    chosen = station.revision if station else None
    other = chosen is not None and chosen != checked_for
    put_down = since.get("assembly.put_down")
    return StandingLoad(
        loaded_at=load.loaded_at,
        number=load.assembly.number,
        loaded_revision=load.build.revision_text,
        live=load.build.live,
        state=load.assembly.state,
        state_note=load.assembly.state_note,
        label_void="label.cancel" in since,
        loaded_for=str(checked_for) if checked_for else "",
        other_program=str(chosen) if other else "",
        put_down_at=put_down.details.get("place", "a rack") if put_down else "",
    )


def _parts(build_ids: set[int]) -> dict[tuple[int, str], BuildPart]:
    rows = BuildPart.objects.filter(
        build__in=build_ids, role__in=[PartRole.HOLDER, PartRole.CUTTER]
    ).select_related("item", "piece")
    return {(row.build_id, row.role): row for row in rows}


def _gauge_lengths(build_ids: set[int]) -> dict[int, int]:
    rows = Measurement.objects.filter(build__in=build_ids, quantity="gauge_length")
    return dict(rows.order_by("at", "id").values_list("build_id", "value_um"))


def _acts_since(loads: list[Load]) -> dict[int, dict[str, Act]]:
    """What was done with each loaded assembly since, as far as it ends a load in all but name."""
    if not loads:
        return {}
    kinds = ("assembly.put_down", "label.cancel")
    about = {f"assembly {load.assembly.number}": load for load in loads}
    oldest = min(load.loaded_at for load in loads)
    rows = Act.objects.filter(about__in=about, kind__in=kinds, at__gt=oldest).order_by("at")
    found: dict[int, dict[str, Act]] = {}
    for row in rows:
        load = about[row.about]
        if row.at > load.loaded_at:
            found.setdefault(load.pk, {})[row.kind] = row
    return found
