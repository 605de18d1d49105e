"""Which machine and program this screen is about: chosen once, kept with the signed-in session."""

from __future__ import annotations

from urllib.parse import urlencode

from django.db.models import Max, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.functional import SimpleLazyObject
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_http_methods

from assemblies.actions.approvals import standing_revision
from assemblies.actions.spindle import choose_station
from assemblies.forms.spindle import StationForm
from assemblies.models import Machine, ProgramApproval, ProgramRevision, Station
from crib.rules.keys import key_of
from crib.views.access import needs

RECENT_PROGRAMS = 3
#: The file of a program may have megabytes; choosing it does not read it.
NOT_READ = ("content",)


#: In the session once a station was chosen, so that other sessions cost no query.
CHOSEN = "station_chosen"


def station_on_every_page(get_response):
    """Middleware: the frame of every page shows the station, read only when it is printed."""

    def middleware(request: HttpRequest) -> HttpResponse:
        if request.session.get(CHOSEN):
            request.station = SimpleLazyObject(lambda: station_of(request))
        return get_response(request)

    return middleware


def station_of(request: HttpRequest) -> Station | None:
    """The station of the signed-in browser, looked up once a request."""
    if not hasattr(request, "station_row"):
        request.station_row = (
            Station.objects.select_related("machine", "revision__program")
            .defer(*(f"revision__{name}" for name in NOT_READ))
            .filter(session_key=request.session.session_key or "")
            .first()
        )
        request.station = request.station_row
    return request.station_row


def choose_first(request: HttpRequest) -> HttpResponse:
    """To the choice of the machine, and then back to what was asked for."""
    return redirect(
        f"{reverse('assemblies:station')}?{urlencode({'next': request.get_full_path()})}"
    )


@needs("view")
@require_http_methods(["GET", "HEAD", "POST"])
def station(request: HttpRequest) -> HttpResponse:
    if request.method == "POST":
        return _choose(request)
    station_of(request)
    chosen = request.GET.get("machine")
    machine = get_object_or_404(Machine, mark_key=key_of(chosen)) if chosen else None
    context = {"next": safe_next(request, request.GET.get("next", ""))}
    if machine is None:
        return render(
            request, "assemblies/station.html", {**context, "machines": Machine.objects.all()}
        )
    programs = programs_for(machine)
    return render(
        request, "assemblies/station_program.html", {**context, "machine": machine, **programs}
    )


def _choose(request: HttpRequest) -> HttpResponse:
    form = StationForm(request.POST)
    if not form.is_valid():
        return redirect("assemblies:station")
    data = form.cleaned_data
    revision = None
    if data["revision"] is not None:
        revision = get_object_or_404(revisions(), pk=data["revision"])
    choose_station(
        by=request.user,
        session_key=request.session.session_key,
        machine=data["machine"],
        revision=revision,
    )
    request.session[CHOSEN] = True
    return redirect(safe_next(request, data["next"]) or "assemblies:spindle")


def safe_next(request: HttpRequest, address: str) -> str:
    """`address` when it is one of ours, else ""."""
    ours = url_has_allowed_host_and_scheme(
        address, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return address if ours else ""


def revisions() -> QuerySet[ProgramRevision]:
    return ProgramRevision.objects.select_related("program").defer(*NOT_READ)


def programs_for(machine: Machine) -> dict[str, list[ProgramRevision]]:
    """Revisions to choose from: approved here, used here last, and all the others."""
    approved_ids = set(_standing(machine).values())
    recent_ids = (
        machine.checks.exclude(revision=None)
        .order_by()
        .values("revision")
        .annotate(last=Max("at"))
        .order_by("-last")
        .values_list("revision", flat=True)[:RECENT_PROGRAMS]
    )
    known = {row.pk: row for row in revisions().order_by("program__name_key", "-added_at")}
    recent = [known[pk] for pk in recent_ids]
    approved = [row for pk, row in known.items() if pk in approved_ids and row not in recent]
    return {
        "recent": recent,
        "approved": approved,
        "others": [row for row in known.values() if row not in recent and row not in approved],
        "approved_ids": approved_ids,
    }


def _standing(machine: Machine) -> dict[int, int]:
    """program -> the revision that stands approved on the machine; the last approval wins."""
    rows: dict[int, list[ProgramApproval]] = {}
    found = ProgramApproval.objects.filter(machine=machine).order_by("at", "id")
    for row in found.select_related("revision").only("state", "revision__program"):
        rows.setdefault(row.revision.program_id, []).append(row)
    standing = {program: standing_revision(given) for program, given in rows.items()}
    return {program: revision for program, revision in standing.items() if revision}
