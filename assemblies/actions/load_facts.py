"""What earlier loads say: what is in a machine, where an assembly is, what was accepted here.

Reads only. A load that somebody answered for with a PIN holds for itself alone and says nothing
about what may be loaded next.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, time, timedelta

from django.db.models import Q
from django.utils import timezone

from assemblies.actions.loads import ago
from assemblies.models import Assembly, Build, Decision, Edge, Load, Machine, SpindleCheck
from assemblies.rules.verdict.facts import LoadedTool
from crib.rules.finding import Finding, Level

#: A caution that was shown and accepted is not asked again for one shift.
SHIFT = timedelta(hours=12)
#: Reasons that accept nothing: loaded for waste only, or because the record was called wrong.
_ACCEPTS_NOTHING = frozenset({"trial", "record_wrong"})


def told_by_loads(assembly: Assembly, build: Build | None, machine: Machine) -> dict[str, object]:
    """Facts of `ControlFacts` that follow from the loads, in one query."""
    rows = list(_loads_that_matter(assembly, build, machine))
    inside = [row for row in rows if row.out_at is None]
    return {
        "loads": tuple(
            LoadedTool(
                assembly_number=row.assembly.number,
                pocket=row.pocket,
                tool_number=row.tool_number,
            )
            for row in inside
            if row.machine_id == machine.pk
        ),
        "seen_elsewhere": _elsewhere(inside, machine),
        "came_out_worn_on": _worn_on(rows),
    }


def _loads_that_matter(assembly: Assembly, build: Build | None, machine: Machine):
    """Everything in the machine, where the assembly is, and how this build came out last."""
    last_out = Load.objects.filter(build=build, out_at__isnull=False).exclude(out_as="")
    return (
        Load.objects.filter(
            Q(machine=machine, out_at=None)
            | Q(assembly=assembly, out_at=None)
            | Q(pk__in=last_out.order_by("-out_at", "-pk").values("pk")[:1])
        )
        .select_related("assembly", "machine")
        .order_by("pk")
    )


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
