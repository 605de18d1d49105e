"""The list of assemblies, found by number, mark or part."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from assemblies.models import Assembly, AssemblyState, Build, Measurement
from assemblies.tables.assemblies import AssemblyTable
from crib.rules.keys import key_of
from crib.tables import laid_out
from crib.views.access import needs


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
