"""Verdicts for many assemblies and tool numbers at once, as a dry run. Writes nothing.

What `gather_facts` finds for one assembly in a dozen queries is put together here from rows that
were fetched once for all of them. A test holds the two against each other, fact by fact.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from django.db.models import OuterRef, Subquery, Sum
from django.utils import timezone

from assemblies.actions import assembly_facts, spindle_facts, stack_facts
from assemblies.actions.load_facts import cautions_seen, loaded_tools, refused_since, with_widths
from assemblies.actions.loads import ago
from assemblies.actions.past_uses import found_since, mass_that_counts, spread_since, uses_of
from assemblies.actions.setup_sheet_rows import BuildRows
from assemblies.actions.spindle import Checked
from assemblies.models import (
    Build,
    BuildPart,
    Decision,
    Edge,
    Load,
    Machine,
    ProgramRevision,
    SpindleCheck,
    Weighing,
)
from assemblies.rules.stack import ColletPart, ShopLimits, Stack
from assemblies.rules.verdict.facts import (
    AssemblyFacts,
    ControlFacts,
    FoundBy,
    LabelFacts,
    LoadedTool,
)
from assemblies.rules.verdict.judge import judge
from crib.models import Use

#: What is on a sheet without its label being known was looked up by its number.
BY_NUMBER = LabelFacts(found_by=FoundBy.NUMBER)
#: Codes that a scan of the label settles.
UNTIL_SCANNED = frozenset({"label.found_by_number"})


@dataclass(frozen=True)
class Fetched:
    """Rows for all that is judged: by the key of the build, and the open loads that matter."""

    machine: Machine
    rows: Mapping[int, BuildRows]
    loads: Iterable[Load]


def checks_of(
    asked: Iterable[tuple[Build, int]],
    revision: ProgramRevision,
    fetched: Fetched,
    labels: Mapping[int, LabelFacts],
) -> dict[tuple[int, int], Checked]:
    """The verdict on each (build, tool number), by (key of the build, tool number)."""
    asked = list(asked)
    if not asked:
        return {}
    builds = {build.pk: build for build, _ in asked}
    # Program, machine and requirements are the same for all; any assembly brings them.
    shared = spindle_facts.gather_facts(
        assembly=asked[0][0].assembly, label=BY_NUMBER, machine=fetched.machine, revision=revision
    )
    assemblies = _assembly_facts(builds, fetched, shared.limits.bench)
    control = _control_facts(builds, fetched)
    entered = _entered(fetched.machine, {number for _, number in asked})

    def checked(build: Build, number: int) -> Checked:
        facts = replace(
            shared,
            label=labels.get(build.pk, BY_NUMBER),
            assembly=assemblies[build.pk],
            control=replace(control[build.pk], **entered.get(number, {})),
            tool_number=number,
        )
        return Checked(facts, judge(facts))

    return {(build.pk, number): checked(build, number) for build, number in asked}


# ---------------------------------------------------------------- the assembly
def _assembly_facts(
    builds: Mapping[int, Build], fetched: Fetched, limits: ShopLimits
) -> dict[int, AssemblyFacts]:
    hours, weighed = _hours(fetched.rows), _weighings(builds)
    every = assembly_facts.with_runout_of_the_cutter({key: fetched.rows[key] for key in builds})
    since = found_since(
        {
            key: uses_of(
                build, every[key].readings, mass_that_counts(fetched.machine, weighed.get(key))
            )
            for key, build in builds.items()
        }
    )
    machine = stack_facts.machine_facts(fetched.machine)
    found = {}
    for key, build in builds.items():
        rows = every[key]
        stack = replace(_stack(build, rows, hours, weighed.get(key)), machine=machine)
        found[key] = assembly_facts.assembly_facts(
            build.assembly,
            build,
            rows,
            stack,
            limits,
            replace(
                since[key],
                findings=(*since[key].findings, *spread_since(build, rows.readings)),
            ),
        )
    return found


def _stack(
    build: Build, rows: BuildRows, hours: Mapping[int, int], weighed: Weighing | None
) -> Stack:
    collet = _collet(rows.parts.get("collet"), hours)
    return stack_facts.put_together(
        build, rows.parts, collet=collet, readings=rows.readings, weighed=weighed
    )


def _weighings(keys: Iterable[int]) -> dict[int, Weighing]:
    """The last weighing of each build, in one query."""
    rows = Weighing.objects.filter(build__in=keys).order_by("at", "id")
    return {row.build_id: row for row in rows}


def _collet(part: BuildPart | None, hours: Mapping[int, int]) -> ColletPart | None:
    if part is None or part.piece is None:
        return stack_facts.collet_part(part)
    # A loose one has no hours to ask for; mark and hours of the piece are put in here.
    loose = stack_facts.collet_part(BuildPart(role=part.role, item=part.item))
    known = {} if loose.series is None else {"hours": hours.get(part.piece_id, 0)}
    return replace(loose, mark=part.piece.mark, condition=part.piece.condition, **known)


def _hours(rows: Mapping[int, BuildRows]) -> dict[int, int]:
    """Hours charged to the marked collets, rounded up, in one query."""
    collets = [one.parts["collet"].piece_id for one in rows.values() if "collet" in one.parts]
    found = Use.objects.filter(piece__in=[key for key in collets if key is not None])
    summed = found.values_list("piece").annotate(n=Sum("minutes")).order_by()
    return {key: -(-(minutes or 0) // 60) for key, minutes in summed}


# ---------------------------------------------------------------- what was said at the machines
def _control_facts(builds: Mapping[int, Build], fetched: Fetched) -> dict[int, ControlFacts]:
    machine, worn, refused = fetched.machine, _worn(builds), refused_since(builds.values())
    loads = sorted(fetched.loads, key=lambda load: load.pk)
    inside = _inside(machine, loads)
    elsewhere = {
        load.assembly_id: f"{load.machine.name}, {ago(load.loaded_at, timezone.now())}"
        for load in loads
        if load.machine_id != machine.pk
    }
    return {
        key: replace(
            _control(build, machine, inside, elsewhere.get(build.assembly_id, ""), worn.get(key)),
            **refused.get(key, {}),
        )
        for key, build in builds.items()
    }


def _inside(machine: Machine, loads: Iterable[Load]) -> tuple[LoadedTool, ...]:
    """What is in the machine; how wide it is takes a query, asked where neighbours are limited."""
    here = [load for load in loads if load.machine_id == machine.pk]
    if here and machine.diameter_beside_max_um is not None:
        here = with_widths(Load.objects.filter(pk__in=[load.pk for load in here]))
        here = here.select_related("assembly").order_by("pk")
    return loaded_tools(here, machine)


def _control(
    build: Build,
    machine: Machine,
    inside: tuple[LoadedTool, ...],
    elsewhere: str,
    worn_on: date | None,
) -> ControlFacts:
    accepted = assembly_facts.accepted_at_the_bench(build)
    seen, seen_at = cautions_seen(build, machine, accepted)
    return ControlFacts(
        loads=inside,
        seen_elsewhere=elsewhere,
        came_out_worn_on=worn_on,
        cautions_seen=seen,
        cautions_seen_at=seen_at,
    )


def _worn(builds: Mapping[int, Build]) -> dict[int, date]:
    """The day on which a build came out of a machine last, where that was as worn."""
    said = Load.objects.filter(build=OuterRef("build"), out_at__isnull=False).exclude(out_as="")
    newest = said.order_by("-out_at", "-pk").values("pk")[:1]
    rows = Load.objects.filter(build__in=list(builds), pk=Subquery(newest), out_as=Edge.WORN)
    return {row.build_id: timezone.localtime(row.out_at).date() for row in rows}


def _entered(machine: Machine, numbers: set[int]) -> dict[int, dict[str, int | bool | None]]:
    """What was entered last for each T number at this control."""
    loaded = SpindleCheck.objects.filter(machine=machine, decision=Decision.LOADED)
    newest = loaded.filter(tool_number=OuterRef("tool_number")).order_by("-at", "-id")
    rows = loaded.filter(tool_number__in=numbers, pk=Subquery(newest.values("pk")[:1]))
    return {
        row.tool_number: {
            "loaded_before": True,
            "confirmed_length_um": row.gauge_length_um,
            "confirmed_diameter_um": row.diameter_um,
        }
        for row in rows.only("tool_number", "gauge_length_um", "diameter_um")
    }
