"""Measuring a built assembly, and releasing it."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from assemblies.actions import build as building
from assemblies.actions import measure as measuring
from assemblies.actions.measured_facts import repeatabilities, typed_findings
from assemblies.actions.stack_facts import parts_of
from assemblies.forms.bench import ReasonForm, StudForm
from assemblies.forms.measuring import NOT_FOR_LENGTHS, MeasureForm
from assemblies.models import Assembly, AssemblyState, Build, Measurement
from assemblies.rules.repeatability import LEAST_DEGREES
from assemblies.views.assembly_page import find_assembly, folded, live_build
from crib.models import Instrument
from crib.rules.finding import stops, worst_first
from crib.rules.units import show_mm
from crib.views.access import needs
from crib.views.form_page import form_page, posted

_DECIMALS = {"gauge_length": 1, "runout": 3}


@needs("assembly.build")
@require_http_methods(["GET", "HEAD", "POST"])
def measure(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)
    build = live_build(assembly)
    if build is None:
        return redirect("assemblies:assembly_detail", number=number)
    form = MeasureForm(posted(request), initial={"revision": build.revision})
    _with_last_readings(form, assembly)

    def act(data: dict):
        return measuring.record_measurements(
            by=request.user,
            submission=data["submission"],
            assembly=assembly,
            readings=form.readings(),
            revision=data["revision"],
        )

    return form_page(
        request,
        form,
        act,
        then=lambda done: _after_measuring(number),
        said="Readings kept.",
        template="assemblies/measure.html",
        heading=f"Measure {build}",
        submit="Keep readings",
        back_url=reverse("assemblies:assembly_detail", args=[number]),
        assembly=assembly,
        build=build,
        open=not build.is_draft and assembly.state != AssemblyState.QUARANTINED,
        instruments=Instrument.objects.filter(is_retired=False).exclude(kind__in=NOT_FOR_LENGTHS),
        repeat=repeatabilities(),
        least_degrees=LEAST_DEGREES,
    )


def _after_measuring(number: int) -> str:
    """On to the release; back to the assembly where the readings changed nothing."""
    still = Assembly.objects.get(number=number).state == AssemblyState.RELEASED
    return reverse(f"assemblies:{'assembly_detail' if still else 'release'}", args=[number])


def _with_last_readings(form: MeasureForm, assembly: Assembly) -> None:
    """Print the last reading of each quantity under its field, whatever revision it is of."""
    rows = Measurement.objects.filter(build__assembly=assembly).select_related("build")
    for row in rows.order_by("at", "id"):
        form.fields[row.quantity].help_text = _reading_text(row)


def _reading_text(row: Measurement) -> str:
    at = "" if row.distance_um is None else f" at {show_mm(row.distance_um, 1)} mm"
    on = f" on {row.get_read_on_display().split(',')[0].lower()}" if row.read_on else ""
    value = show_mm(row.value_um, _DECIMALS.get(row.quantity, 2))
    return f"{row.build.revision_text}: {value} mm{at}{on}, {row.at:%-d %b %Y}"


@needs("assembly.build")
@require_safe
def measure_seen(request: HttpRequest, number: int) -> HttpResponse:
    """What counts of the readings being typed, and what the rules say of them. Writes nothing."""
    build = live_build(find_assembly(number))
    form = MeasureForm(request.GET)
    form.is_valid()
    readings = form.readings()
    wrong = [
        (form.fields[name].label, " ".join(found))
        for name, found in form.errors.items()
        if name in form.fields and name != "submission"
    ]
    findings = typed_findings(build, readings) if build is not None and readings else []
    context = {"readings": readings, "wrong": wrong, "findings": worst_first(findings)}
    return render(request, "assemblies/_measure_seen.html", context)


@needs("assembly.release")
@require_http_methods(["GET", "HEAD", "POST"])
def release(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)
    build = live_build(assembly)
    if build is None or build.is_draft:
        return redirect("assemblies:bench", number=number)
    form = ReasonForm(posted(request))

    def act(data: dict):
        return building.release(by=request.user, assembly=assembly, **data)

    return form_page(
        request,
        form,
        act,
        then=reverse("labels:print", args=[number]),
        said="Released. Print its label.",
        template="assemblies/release.html",
        heading=f"Release {build}",
        submit="Release, then print its label",
        back_url=reverse("assemblies:assembly_detail", args=[number]),
        assembly=assembly,
        build=build,
        open=assembly.state == AssemblyState.BUILT,
        **_points(build),
        stud_form=_stud_form(build),
    )


def _points(build: Build) -> dict:
    found = building.release_findings(build)
    return {
        **folded(found),
        "doubtful": building.doubtful(found),
        "stop_count": len(stops(found)),
    }


def _stud_form(build: Build) -> StudForm | None:
    holder = parts_of(build).get("holder")
    if holder is None or holder.piece is None:
        return None
    piece = holder.piece
    initial = {"stud_state": piece.stud_state, "stud_pattern": piece.stud_pattern}
    return StudForm(initial=initial, auto_id="stud_%s")
