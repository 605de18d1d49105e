"""At the spindle: the page that waits for a scan, look-up without a label, what was recorded."""

from __future__ import annotations

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_http_methods, require_safe

from assemblies.actions.spindle import ACCEPT_REASONS, REFUSE_REASONS
from assemblies.models import Assembly, BuildPart, PartRole, SpindleCheck
from assemblies.rules.verdict.facts import FoundBy, LabelFacts
from assemblies.views.stations import choose_first, station_of
from assemblies.views.verdict_page import Scan, not_kept, verdict_page
from crib.rules.keys import key_of
from crib.views.access import needs

#: Decisions of this machine shown on the scan page.
LAST_DECISIONS = 6


@needs("view")
@require_safe
def spindle(request: HttpRequest) -> HttpResponse:
    """Waits for a scan; needs to know the machine first."""
    station = station_of(request)
    if station is None:
        return choose_first(request)
    here = with_subjects(SpindleCheck.objects.filter(machine=station.machine))
    return render(
        request, "assemblies/spindle.html", {"station": station, "last": here[:LAST_DECISIONS]}
    )


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


def assembly_of_mark(mark: str) -> tuple[int, str] | None:
    """Number of the assembly whose live build has this holder, and the mark as recorded."""
    holder = BuildPart.objects.filter(
        role=PartRole.HOLDER, build__live=True, piece__mark_key=key_of(mark)
    )
    return holder.values_list("build__assembly__number", "piece__mark").first()


@needs("view")
@require_safe
def spindle_recorded(request: HttpRequest, pk: int) -> HttpResponse:
    """What was recorded, and what hands and eyes do next. Names nobody."""
    station_of(request)
    row = get_object_or_404(with_subjects(SpindleCheck.objects.all()), pk=pk)
    reason = (ACCEPT_REASONS | REFUSE_REASONS).get(row.reason, "")
    context = {"check": row, "reason": reason}
    return not_kept(render(request, "assemblies/spindle_recorded.html", context))
