"""One assembly with all that is known of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from assemblies.actions import build as building
from assemblies.actions.estimates import estimates_of
from assemblies.actions.reclock import reclocks_of_assembly
from assemblies.actions.stack_facts import parts_of, stack_of
from assemblies.models import Assembly, Build, Measurement, PartRole
from assemblies.rules.speed import SpeedLimit, speed_limit
from assemblies.rules.stack import BuildFigures, HolderPart
from assemblies.rules.sums.estimates import Estimate
from assemblies.views.assembly_page import find_assembly, folded, live_build
from assemblies.views.drawing import Drawn, drawing_of
from crib.models import Act
from crib.rules.finding import Finding
from crib.rules.standards import SCREWED
from crib.views.access import needs

#: Lines of history on an assembly's page.
LAST_ACTS = 20
#: Kind of an act -> what people call it.
ACT_WORDS = {
    "assembly.start": "number given out",
    "assembly.start_found": "started from found parts",
    "assembly.copy": "copied",
    "assembly.put_down": "put down",
    "assembly.borrow": "taken along",
    "assembly.quarantine": "quarantined",
    "assembly.retire": "retired",
    "build.put": "part put in",
    "build.take_out": "part taken out",
    "build.figures": "figures set",
    "build.purpose": "purpose recorded",
    "build.stud": "pull stud recorded",
    "build.wrench": "wrench recorded",
    "build.make": "built",
    "build.measure": "measured",
    "build.weigh": "weighed",
    "build.release": "released",
    "build.reclock": "re-clock test",
    "build.rebuild": "rebuild started",
    "build.dismantle": "dismantled",
    "label.print": "label printed",
    "label.cancel": "label made void",
}


@dataclass(frozen=True)
class Shown:
    """One build as the page shows it."""

    build: Build
    parts: list
    readings: dict[str, Measurement]
    figures: BuildFigures
    findings: list[Finding]
    agreed: list[Finding]
    limit: SpeedLimit
    #: What was tightened; empty where nothing is.
    torque_name: str
    drawing: Drawn
    estimates: list[Estimate]
    lacking: list[Estimate]


@dataclass(frozen=True)
class ActLine:
    """One line of what was done, in words."""

    at: datetime
    what: str
    detail: str
    who: str


#: What may be done with an assembly, by name in the template.
_STEPS = (
    "assembly.build",
    "assembly.release",
    "assembly.quarantine",
    "label.print",
    "stock.issue",
    "check.decide",
)


@needs("view")
@require_safe
def assembly_detail(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)
    build = live_build(assembly)
    context = {
        "assembly": assembly,
        "shown": _shown(build) if build else None,
        "history": assembly.builds.exclude(live=True).order_by("-ended_at", "-id"),
        "acts": _acts(number),
        "tests": reclocks_of_assembly(assembly),
        "checks": _checks(assembly),
        **{f"may_{name.split('.')[1]}": request.user.may(name) for name in _STEPS},
    }
    return render(request, "assemblies/assembly_detail.html", context)


def _shown(build: Build) -> Shown:
    frozen = build.release_findings or build.findings
    findings = [Finding.from_dict(row) for row in frozen] or building.preview(build)
    parts, stack = parts_of(build), stack_of(build)
    estimates = estimates_of(build, stack=stack, parts=parts)
    return Shown(
        build=build,
        parts=[parts[role] for role in PartRole.values if role in parts],
        readings=Measurement.objects.latest_by_quantity(build.pk),
        figures=stack.figures,
        **folded(findings),
        limit=speed_limit(stack),
        torque_name=_torque_name(stack.holder),
        drawing=drawing_of(build),
        estimates=[one for one in estimates if one.is_known],
        lacking=[one for one in estimates if not one.is_known],
    )


def _torque_name(holder: HolderPart | None) -> str:
    if holder is None or holder.takes_a_collet:
        return "Nut torque"
    return "Screw torque" if holder.clamping in SCREWED else ""


def _acts(number: int) -> list[ActLine]:
    """What was done, without the decisions at the spindle: those name nobody here."""
    rows = Act.objects.filter(about=f"assembly {number}", kind__in=ACT_WORDS)
    return [
        ActLine(row.at, ACT_WORDS[row.kind], _detail(row.details), str(row.by))
        for row in rows.select_related("by")[:LAST_ACTS]
    ]


def _detail(details: dict) -> str:
    """What an act was about: the part, the revision, the reason."""
    parts = [
        details.get(name)
        for name in ("put", "out", "place", "wrench", "copied_from", "reason", "note")
    ]
    revision = details.get("revision")
    return " · ".join(str(part) for part in [revision and f"r{revision}", *parts] if part)


def _checks(assembly: Assembly):
    rows = assembly.checks.select_related("machine", "revision__program", "build")
    return rows.defer("findings", "revision__content")[:LAST_ACTS]
