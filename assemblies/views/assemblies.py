"""The list of assemblies, found by number, mark, part or diameter."""

from __future__ import annotations

import re
from dataclasses import dataclass

from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from assemblies.models import Assembly, AssemblyState, Build, BuildPart, Measurement
from assemblies.tables.assemblies import AssemblyTable
from assemblies.views.refused import refused_context
from crib.rules.keys import key_of
from crib.rules.units import read_length_um, show_length, show_mm
from crib.tables import laid_out
from crib.views.access import needs

_COMMA = re.compile(r"(?<=[0-9]),(?=[0-9])")
#: `1/4 in`, `1/4"`, `1 1/2 in`, `0.25in`.
_INCHES = re.compile(r"(?:[0-9]{1,3} )?[0-9]{1,3}(?:/[1-9][0-9]?|\.[0-9]{1,4})? ?(?:in\b|[\"”″])")

#: `Ø 12`, `Ø8.5`, in millimetres.
_ACROSS = re.compile(r"ø ?([0-9]{1,4}(?:\.[0-9]{1,4})?)(?![0-9./])")


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
    words = searched(wanted)
    lines = [line for line in _lines(state) if all(word in line.search for word in words)]
    may_build = request.user.may("assembly.build")
    context = {
        "table": laid_out(request, _table(lines, wanted, state, may_build)),
        "wanted": wanted,
        "state": state,
        "states": AssemblyState.choices,
        "may_build": may_build,
        **refused_context(request),
    }
    return render(request, "assemblies/assembly_list.html", context)


def searched(wanted: str) -> list[str]:
    """The words to look for. A size with Ø or in inches is looked for by its millimetres.

    >>> searched("6,35 H-07"), searched('1/4"'), searched("Ø 12 spiral")
    (['6.35', 'h-07'], [' 6.35 mm'], ['spiral', ' 12.00 mm'])
    """
    text = _COMMA.sub(".", key_of(wanted))
    rest = _INCHES.sub(" ", text)
    sizes = [*_INCHES.findall(text), *_ACROSS.findall(rest)]
    words = _ACROSS.sub(" ", rest).replace("ø", " ").split()
    return [*words, *(f" {show_mm(read_length_um(size))} mm" for size in sizes)]


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
        .prefetch_related(Prefetch("parts", _parts_with_figures()))
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


def _parts_with_figures():
    # Joined, not fetched apart: SQLite takes no more than a thousand items in such a question.
    return BuildPart.objects.select_related("item__cutter_facts", "piece")


def _latest_readings(build_ids: list[int]) -> dict[tuple[int, str], int]:
    rows = Measurement.objects.filter(build_id__in=build_ids).order_by("at", "id")
    return {(row.build_id, row.quantity): row.value_um for row in rows}


def _line(build: Build, readings: dict[tuple[int, str], int]) -> AssemblyLine:
    parts = {part.role: part for part in build.parts.all()}
    holder, cutter = parts.get("holder"), parts.get("cutter")
    assembly, stands_at = build.assembly, build.assembly.stands_at
    diameter_um = readings.get((build.pk, "diameter"))
    nominal_um = cutter.item.facts.diameter_um if cutter and cutter.item.facts else None
    in_inches = bool(cutter and cutter.item.bought_in_inches)
    words = [assembly.number, assembly.name, *(part.shown for part in parts.values())]
    words += [show_length(um, in_inches) for um in (diameter_um, nominal_um) if um]
    return AssemblyLine(
        number=assembly.number,
        revision=build.revision_text,
        state=assembly.state,
        state_name=assembly.get_state_display(),
        holder=holder.piece.mark if holder and holder.piece else None,
        cutter=cutter.item.description if cutter else None,
        diameter_um=diameter_um,
        in_inches=in_inches,
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
