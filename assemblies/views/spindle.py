"""At the spindle: the page that waits for a scan, look-up without a label, what was recorded."""

from __future__ import annotations

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from assemblies.actions.asked_tools import ask_programmer
from assemblies.actions.holder_marks import assembly_of_mark
from assemblies.actions.loads import has_changer
from assemblies.actions.spindle import ACCEPT_REASONS, REFUSE_REASONS
from assemblies.forms.spindle import AskForm
from assemblies.models import Assembly, SpindleCheck
from assemblies.rules.verdict.facts import FoundBy, LabelFacts
from assemblies.views.control_number import should_key_first, show_keypad, waiting_number
from assemblies.views.stations import choose_first, safe_next, station_of
from assemblies.views.tray import tray_of
from assemblies.views.verdict_page import Scan, not_kept, verdict_page
from crib.views.access import needs, tell

#: Decisions of this machine shown on the scan page.
LAST_DECISIONS = 6


@needs("view")
@require_safe
def spindle(request: HttpRequest) -> HttpResponse:
    """Waits for a scan; needs to know the machine first, and in some places the number."""
    station = station_of(request)
    if station is None:
        return choose_first(request)
    keyed = waiting_number(request)
    if keyed is None and should_key_first(request, station):
        return show_keypad(request, station)
    here = with_subjects(SpindleCheck.objects.filter(machine=station.machine))
    context = {
        "station": station,
        "last": here[:LAST_DECISIONS],
        "number_keyed": keyed,
        "may_fill": has_changer(station.machine) and request.user.may("check.decide"),
    }
    return not_kept(render(request, "assemblies/spindle.html", context))


def with_subjects(checks: QuerySet[SpindleCheck]) -> QuerySet[SpindleCheck]:
    """Checks with what a line about them names; program files and findings stay where they are."""
    return checks.select_related("machine", "assembly", "build", "revision__program", "by").defer(
        "revision__content", "findings"
    )


@needs("view")
@require_http_methods(["GET", "HEAD", "POST"])
def spindle_lookup(request: HttpRequest, number: int) -> HttpResponse:
    """The verdict on an assembly that was found without its label: CHECK at best."""
    rows = Assembly.objects.select_related("contents__parent")
    assembly = get_object_or_404(rows, number=number)
    found_by = FoundBy.NUMBER
    if _holder_is(assembly, request.GET.get("mark", "")):
        found_by = FoundBy.HOLDER_MARK
    return verdict_page(request, Scan(assembly, LabelFacts(found_by=found_by)))


def _holder_is(assembly: Assembly, mark: str) -> bool:
    """The mark is that of the holder now built into the assembly."""
    found = assembly_of_mark(mark) if mark else None
    return found is not None and found[0] == assembly.number


@needs("check.decide")
@require_POST
def ask_for_tool(request: HttpRequest) -> HttpResponse:
    """One tap: the programmer is asked to state what this T must be."""
    station, form = station_of(request), AskForm(request.POST)
    if station is None or station.revision is None or not form.is_valid():
        return redirect("assemblies:spindle")
    data = form.cleaned_data
    done = ask_programmer(
        by=request.user,
        submission=data["submission"],
        revision=station.revision,
        tool_number=data["tool_number"],
    )
    tell(request, done, f"Asked for T{data['tool_number']} of {station.revision}.")
    return redirect(safe_next(request, data["next"]) or "assemblies:spindle")


@needs("view")
@require_safe
def spindle_recorded(request: HttpRequest, pk: int) -> HttpResponse:
    """What was recorded, and what hands and eyes do next. Names nobody."""
    station = station_of(request)
    rows = with_subjects(SpindleCheck.objects.select_related("act"))
    row = get_object_or_404(rows.select_related("load"), pk=pk)
    context = {
        "check": row,
        "reason": (ACCEPT_REASONS | REFUSE_REASONS).get(row.reason, ""),
        "said": row.act.details,
        "quarantined": row.act.details.get("quarantined", []),
        "own_pin": row.overridden_by_id == row.by_id,
        "filling": station if station and tray_of(request, station).lines else None,
    }
    return not_kept(render(request, "assemblies/spindle_recorded.html", context))
