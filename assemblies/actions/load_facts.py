"""What earlier loads say: what is in a machine, where an assembly is, what was accepted here.

Reads only. A load that somebody answered for with a PIN holds for itself alone and says nothing
about what may be loaded next.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, time, timedelta

from django.db.models import OuterRef, Q, QuerySet, Subquery
from django.utils import timezone

from assemblies.actions.loads import ago
from assemblies.models import (
    Assembly,
    Build,
    BuildPart,
    Decision,
    Edge,
    Load,
    Machine,
    Measurement,
    PartRole,
    Quantity,
    SpindleCheck,
)
from assemblies.rules.verdict.facts import LoadedTool
from crib.rules.finding import Finding, Level

#: A caution that was shown and accepted is not asked again for one shift.
SHIFT = timedelta(hours=12)
#: Reasons that accept nothing: loaded for waste only, or because the record was called wrong.
_ACCEPTS_NOTHING = frozenset({"trial", "record_wrong"})
#: Refusals that speak of the tool itself, and how they say it. After the others (a broken one, a
#: swapped mark) it is quarantined, or the tool was only the wrong one.
_REFUSED_AS = {"dull": "dull", "runs_out": "runs out", "label_wrong": "label wrong"}


def told_by_loads(assembly: Assembly, build: Build | None, machine: Machine) -> dict[str, object]:
    """Facts of `ControlFacts` that follow from the loads, in one query."""
    rows = list(_loads_that_matter(assembly, build, machine))
    inside = [row for row in rows if row.out_at is None]
    return {
        "loads": loaded_tools((row for row in inside if row.machine_id == machine.pk), machine),
        "seen_elsewhere": _elsewhere(inside, machine),
        "came_out_worn_on": _worn_on(rows),
    }


def loaded_tools(rows: Iterable[Load], machine: Machine) -> tuple[LoadedTool, ...]:
    """Loads as the verdict sees them; `rows` of `with_widths` where `machine` limits neighbours."""
    asked = machine.diameter_beside_max_um is not None
    return tuple(
        LoadedTool(
            assembly_number=row.assembly.number,
            pocket=row.pocket,
            tool_number=row.tool_number,
            diameter_um=_width_um(row) if asked else None,
        )
        for row in rows
    )


def with_widths(rows: QuerySet[Load]) -> QuerySet[Load]:
    """`rows` with `.measured_um` and `.nominal_um`, diameters of its cutter [um]."""
    measured = Measurement.objects.filter(build=OuterRef("build"), quantity=Quantity.DIAMETER)
    cutter = BuildPart.objects.filter(build=OuterRef("build"), role=PartRole.CUTTER)
    return rows.annotate(
        measured_um=Subquery(measured.order_by("-at", "-id").values("value_um")[:1]),
        nominal_um=Subquery(cutter.values("item__cutter_facts__diameter_um")[:1]),
    )


def _width_um(row: Load) -> int | None:
    """The larger of measured and nominal [um]; None when neither is known."""
    return max((um for um in (row.measured_um, row.nominal_um) if um is not None), default=None)


def _loads_that_matter(assembly: Assembly, build: Build | None, machine: Machine):
    """Everything in the machine, where the assembly is, and how this build came out last."""
    last_out = Load.objects.filter(build=build, out_at__isnull=False).exclude(out_as="")
    rows = Load.objects.filter(
        Q(machine=machine, out_at=None)
        | Q(assembly=assembly, out_at=None)
        | Q(pk__in=last_out.order_by("-out_at", "-pk").values("pk")[:1])
    )
    if machine.diameter_beside_max_um is not None:
        rows = with_widths(rows)
    return rows.select_related("assembly", "machine").order_by("pk")


def _elsewhere(inside: list[Load], machine: Machine) -> str:
    for row in inside:
        if row.machine_id != machine.pk:
            return f"{row.machine.name}, {ago(row.loaded_at, timezone.now())}"
    return ""


def _worn_on(rows: list[Load]) -> date | None:
    for row in rows:
        if row.out_at is not None and row.out_as == Edge.WORN:
            return timezone.localtime(row.out_at).date()
    return None


def refused_since(builds: Iterable[Build]) -> dict[int, dict[str, object]]:
    """Facts of `ControlFacts` for builds whose last decision refused what they are like, by key.

    A load that accepted it, or a release, came after somebody looked.
    """
    released = {build.pk: build.released_at for build in builds}
    newest = _said_of_the_tool().filter(build=OuterRef("build")).values("pk")[:1]
    rows = SpindleCheck.objects.filter(
        pk=Subquery(newest), build__in=list(released), decision=Decision.REFUSED
    )
    return {
        row.build_id: {
            "refused_on": timezone.localtime(row.at).date(),
            "refused_as": _REFUSED_AS[row.reason],
        }
        for row in rows.only("build", "at", "reason")
        if released[row.build_id] is None or row.at > released[row.build_id]
    }


def _said_of_the_tool():
    """Decisions that say how a tool is found to be: refusals of it, and loads that took it."""
    took_it = Q(decision=Decision.LOADED, overridden_by=None) & ~Q(reason__in=_ACCEPTS_NOTHING)
    rows = SpindleCheck.objects.filter(
        Q(decision=Decision.REFUSED, reason__in=list(_REFUSED_AS)) | took_it
    )
    return rows.order_by("-at", "-id")


def cautions_seen(
    build: Build | None, machine: Machine, cautions: Iterable[Finding]
) -> tuple[tuple[Finding, ...], time | None]:
    """Cautions that a load of this very build on this machine accepted within the shift, and when.

    All of them or none, word for word, and only where that load showed them as checks: an
    acceptance that rested on another one does not start a new shift.
    """
    asked = tuple(f for f in cautions if f.level is Level.CHECK)
    if build is None or not asked:
        return (), None
    for row in _accepting_loads(build, machine):
        shown = [Finding.from_dict(data) for data in row.findings]
        if all(caution in shown for caution in asked):
            return asked, timezone.localtime(row.at).time()
    return (), None


def _accepting_loads(build: Build, machine: Machine):
    return (
        SpindleCheck.objects.filter(
            build=build,
            machine=machine,
            decision=Decision.LOADED,
            overridden_by=None,
            at__gt=timezone.now() - SHIFT,
        )
        .exclude(reason__in=_ACCEPTS_NOTHING)
        .only("findings", "at")
    )
