"""Assemblies: the list, one assembly with all that is known of it, and its few plain steps."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import uuid4

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from assemblies.actions import build as building
from assemblies.actions import parts as benching
from assemblies.actions.stack_facts import parts_of, stack_of
from assemblies.forms.bench import NoteForm, PutDownForm, StartForm, purpose_text, purposes
from assemblies.models import Assembly, AssemblyState, Build, Measurement, PartRole, ToolRequirement
from assemblies.rules.speed import SpeedLimit, speed_limit
from assemblies.tables.assemblies import AssemblyTable
from crib.models import Act
from crib.rules.finding import Finding, Level, worst_first
from crib.rules.keys import key_of
from crib.tables import laid_out
from crib.views.access import needs
from crib.views.form_page import form_page, posted

#: Lines of history on an assembly's page.
LAST_ACTS = 20
#: Kind of an act -> what people call it.
ACT_WORDS = {
    "assembly.start": "number given out",
    "assembly.put_down": "put down",
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


@dataclass(frozen=True)
class AssemblyLine:
    """One line of the list, put together from a fixed number of queries."""

    number: int
    revision: str
    state: str
    state_name: str
    holder: str | None
    cutter: str | None
    diameter_um: int | None
    in_inches: bool
    gauge_length_um: int | None
    place: str | None
    search: str


@needs("view")
@require_safe
def assembly_list(request: HttpRequest) -> HttpResponse:
    wanted, state = request.GET.get("q", "").strip(), request.GET.get("state", "")
    words = key_of(wanted).split()
    lines = [line for line in _lines(state) if all(word in line.search for word in words)]
    may_build = request.user.may("assembly.build")
    context = {
        "table": laid_out(request, _table(lines, wanted, state, may_build)),
        "wanted": wanted,
        "state": state,
        "states": AssemblyState.choices,
        "may_build": may_build,
    }
    return render(request, "assemblies/assembly_list.html", context)


def _table(lines: list[AssemblyLine], wanted: str, state: str, may_build: bool) -> AssemblyTable:
    if wanted:
        return AssemblyTable(lines, empty_text=f"No assembly matches “{wanted[:40]}”.")
    if state in AssemblyState.values:
        return AssemblyTable(lines, empty_text="No assembly is in this state.")
    table = AssemblyTable(lines, empty_text="No assembly here yet.")
    table.empty_hint = "It is a number for life; what it is made of comes next, at the bench."
    if may_build:
        table.empty_url, table.empty_label = reverse("assemblies:assembly_new"), "New assembly"
    return table


def _lines(state: str) -> list[AssemblyLine]:
    builds = (
        Build.objects.filter(live=True)
        .select_related("assembly__contents__parent")
        .prefetch_related("parts__item", "parts__piece")
        .defer("findings", "release_findings")
        .order_by("assembly__number")
    )
    if state in AssemblyState.values:
        builds = builds.filter(assembly__state=state)
    builds = list(builds)
    readings = _latest_readings([build.pk for build in builds])
    lines = [_line(build, readings) for build in builds]
    if state in ("", AssemblyState.RETIRED):
        lines += [_retired(row) for row in Assembly.objects.filter(state=AssemblyState.RETIRED)]
    return lines


def _latest_readings(build_ids: list[int]) -> dict[tuple[int, str], int]:
    rows = Measurement.objects.filter(build_id__in=build_ids).order_by("at", "id")
    return {(row.build_id, row.quantity): row.value_um for row in rows}


def _line(build: Build, readings: dict[tuple[int, str], int]) -> AssemblyLine:
    parts = {part.role: part for part in build.parts.all()}
    holder, cutter = parts.get("holder"), parts.get("cutter")
    assembly, stands_at = build.assembly, build.assembly.stands_at
    words = [assembly.number, assembly.name, *(part.shown for part in parts.values())]
    return AssemblyLine(
        number=assembly.number,
        revision=build.revision_text,
        state=assembly.state,
        state_name=assembly.get_state_display(),
        holder=holder.piece.mark if holder and holder.piece else None,
        cutter=cutter.item.description if cutter else None,
        diameter_um=readings.get((build.pk, "diameter")),
        in_inches=bool(cutter and cutter.item.bought_in_inches),
        gauge_length_um=readings.get((build.pk, "gauge_length")),
        place=stands_at.shown if stands_at else None,
        search=key_of(" ".join(str(word) for word in words if word)),
    )


def _retired(assembly: Assembly) -> AssemblyLine:
    return AssemblyLine(
        number=assembly.number,
        revision="",
        state=assembly.state,
        state_name=assembly.get_state_display(),
        holder=None,
        cutter=None,
        diameter_um=None,
        in_inches=False,
        gauge_length_um=None,
        place=None,
        search=key_of(f"{assembly.number} {assembly.name}"),
    )


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
    return rows.defer("meant_for__revision__content", "meant_for__revision__notes").first()


@needs("assembly.build")
@require_http_methods(["GET", "HEAD", "POST"])
def assembly_new(request: HttpRequest) -> HttpResponse:
    wanted = _wanted(request)
    form = StartForm(posted(request), initial={"name": _name_for(wanted)})

    def act(data: dict):
        done = building.start_assembly(
            by=request.user, submission=data["submission"], name=data["name"]
        )
        if wanted is not None and not done.repeated:
            assembly = Assembly.objects.get(number=done.result)
            building.set_purpose(
                by=request.user, submission=uuid4(), assembly=assembly, meant_for=wanted
            )
        return done

    return form_page(
        request,
        form,
        act,
        then=lambda done: reverse("assemblies:bench", args=[done.result]),
        said="A new number was given out. Put the parts in.",
        template="assemblies/form_page.html",
        heading="New assembly",
        about="It gets the next free number, which carries no meaning and is never used again.",
        submit="Give it a number",
        back_url=reverse("assemblies:assembly_list"),
    )


def _wanted(request: HttpRequest) -> ToolRequirement | None:
    """The tool number of a program that the address says to build for."""
    text = request.GET.get("for", "")
    if not text.isdecimal() or len(text) > 12:
        return None
    return purposes().filter(pk=int(text)).first()


def _name_for(wanted: ToolRequirement | None) -> str:
    return f"for {purpose_text(wanted)}"[:80] if wanted is not None else ""


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
    rows = Act.objects.filter(about=f"assembly {number}").select_related("by")[:LAST_ACTS]
    return [
        ActLine(row.at, ACT_WORDS.get(row.kind, row.kind), _detail(row.details), str(row.by))
        for row in rows
    ]


def _detail(details: dict) -> str:
    """What an act was about: the part, the revision, the reason."""
    parts = [details.get(name) for name in ("put", "out", "place", "reason", "note")]
    revision = details.get("revision")
    return " · ".join(str(part) for part in [revision and f"r{revision}", *parts] if part)


def _checks(assembly: Assembly):
    rows = assembly.checks.select_related("machine", "revision__program", "build")
    return rows.defer("findings", "revision__content", "revision__notes")[:LAST_ACTS]


@needs("assembly.quarantine")
@require_http_methods(["GET", "HEAD", "POST"])
def quarantine(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)

    def act(data: dict):
        return building.quarantine(
            by=request.user,
            submission=data["submission"],
            assembly=assembly,
            note=data["reason"],
        )

    return _step(
        request,
        assembly,
        NoteForm(posted(request)),
        act,
        heading=f"Take {number} out of use",
        about="Its label is void at once. Only a rebuild brings it back.",
        submit="Quarantine",
        danger=True,
        said=f"Assembly {number} is quarantined; its label is void.",
    )


@needs("assembly.build")
@require_http_methods(["GET", "HEAD", "POST"])
def rebuild(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)

    def act(data: dict):
        return building.start_rebuild(by=request.user, assembly=assembly, **data)

    return _step(
        request,
        assembly,
        NoteForm(posted(request)),
        act,
        heading=f"Rebuild {number}",
        about="The revision ends and its label is void. The parts stay with it on the bench.",
        submit="Start the rebuild",
        said=f"Assembly {number} is on the bench; its old label is void.",
        then=reverse("assemblies:bench", args=[number]),
    )


@needs("assembly.build")
@require_http_methods(["GET", "HEAD", "POST"])
def retire(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)

    def act(data: dict):
        return benching.retire(by=request.user, assembly=assembly, **data)

    return _step(
        request,
        assembly,
        NoteForm(posted(request)),
        act,
        heading=f"Retire {number}",
        about="Its parts go back to their drawers. The number is never used again.",
        submit="Take it apart for good",
        danger=True,
        said=f"Assembly {number} is retired; its parts are back.",
    )


@needs("stock.issue")
@require_http_methods(["GET", "HEAD", "POST"])
def put_down(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)

    def act(data: dict):
        return benching.put_down(by=request.user, assembly=assembly, **data)

    return _step(
        request,
        assembly,
        PutDownForm(posted(request), initial={"place": assembly.contents.parent_id}),
        act,
        heading=f"Where {number} stands",
        about="So that the check at the spindle can say where to fetch it.",
        submit="Record",
        said="Recorded.",
    )


def _step(request, assembly, form, act, *, said, then="", **context) -> HttpResponse:
    """One form page of an assembly that leads back to it. A retired one has no steps left."""
    back_url = reverse("assemblies:assembly_detail", args=[assembly.number])
    if request.method != "POST" and assembly.state == AssemblyState.RETIRED:
        messages.warning(request, f"Assembly {assembly.number} is retired. Nothing can be done.")
        return redirect(back_url)
    return form_page(
        request,
        form,
        act,
        then=then or back_url,
        said=said,
        template="assemblies/form_page.html",
        back_url=back_url,
        **context,
    )
