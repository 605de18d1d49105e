"""One assembly with all that is known of it, and what other pages need to find it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from assemblies.actions import build as building
from assemblies.actions.stack_facts import parts_of, stack_of
from assemblies.models import Assembly, Build, Measurement, PartRole
from assemblies.rules.speed import SpeedLimit, speed_limit
from crib.models import Act
from crib.rules.finding import Finding, Level, worst_first
from crib.views.access import needs

#: Lines of history on an assembly's page.
LAST_ACTS = 20
#: Kind of an act -> what people call it.
ACT_WORDS = {
    "assembly.start": "number given out",
    "assembly.put_down": "put down",
    "assembly.borrow": "taken along",
    "assembly.quarantine": "quarantined",
    "assembly.retire": "retired",
    "build.put": "part put in",
    "build.take_out": "part taken out",
    "build.figures": "figures set",
    "build.purpose": "purpose recorded",
    "build.stud": "pull stud recorded",
    "build.make": "built",
    "build.measure": "measured",
    "build.release": "released",
    "build.rebuild": "rebuild started",
    "label.print": "label printed",
    "label.cancel": "label made void",
}


def folded(findings: list[Finding]) -> dict[str, list[Finding]]:
    """The points to look at, worst first, and apart from them those that agree."""
    return {
        "findings": worst_first(f for f in findings if f.level != Level.PASS),
        "agreed": [f for f in findings if f.level == Level.PASS],
    }


def find_assembly(number: int) -> Assembly:
    rows = Assembly.objects.select_related("contents__parent")
    return get_object_or_404(rows, number=number)


def live_build(assembly: Assembly) -> Build | None:
    """The draft or made build that stands, with what it is meant for; None when retired.

    Without the text of the program, which may have 60 MB.
    """
    rows = Build.objects.filter(assembly=assembly, live=True).select_related(
        "assembly", "built_by", "accepted_by", "released_by", "meant_for__revision__program"
    )
    return rows.defer("meant_for__revision__content").first()


@dataclass(frozen=True)
class Shown:
    """One build as the page shows it."""

    build: Build
    parts: list
    readings: dict[str, Measurement]
    findings: list[Finding]
    agreed: list[Finding]
    limit: SpeedLimit


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
        "checks": _checks(assembly),
        **{f"may_{name.split('.')[1]}": request.user.may(name) for name in _STEPS},
    }
    return render(request, "assemblies/assembly_detail.html", context)


def _shown(build: Build) -> Shown:
    frozen = build.release_findings or build.findings
    findings = [Finding.from_dict(row) for row in frozen] or building.preview(build)
    parts = parts_of(build)
    return Shown(
        build=build,
        parts=[parts[role] for role in PartRole.values if role in parts],
        readings=Measurement.objects.latest_by_quantity(build.pk),
        **folded(findings),
        limit=speed_limit(stack_of(build)),
    )


def _acts(number: int) -> list[ActLine]:
    """What was done, without the decisions at the spindle: those name nobody here."""
    rows = Act.objects.filter(about=f"assembly {number}", kind__in=ACT_WORDS)
    return [
        ActLine(row.at, ACT_WORDS[row.kind], _detail(row.details), str(row.by))
        for row in rows.select_related("by")[:LAST_ACTS]
    ]


def _detail(details: dict) -> str:
    """What an act was about: the part, the revision, the reason."""
    parts = [details.get(name) for name in ("put", "out", "place", "reason", "note")]
    revision = details.get("revision")
    return " · ".join(str(part) for part in [revision and f"r{revision}", *parts] if part)


def _checks(assembly: Assembly):
    rows = assembly.checks.select_related("machine", "revision__program", "build")
    return rows.defer("findings", "revision__content")[:LAST_ACTS]
