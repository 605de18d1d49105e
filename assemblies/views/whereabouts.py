"""Where assemblies are: taken out of a machine, borrowed, put back, and not where expected."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from assemblies.actions.loads import borrow, named_place, open_load_of, put_back, take_out
from assemblies.actions.whereabouts import came_out_worn, missing_line_of, missing_lines
from assemblies.forms.bench import PutDownForm
from assemblies.forms.loads import BorrowForm, TakeOutForm
from assemblies.models import Assembly, Edge, Load
from assemblies.tables.whereabouts import WhereaboutsTable
from assemblies.views.assembly_page import find_assembly
from assemblies.views.scan_field import own_scan_field
from assemblies.views.stations import station_of
from assemblies.views.verdict_page import not_kept
from crib.tables import laid_out
from crib.views.access import needs
from crib.views.csv_file import csv_answer
from crib.views.form_page import form_page, posted


@needs("view")
@require_safe
def whereabouts(request: HttpRequest) -> HttpResponse:
    """The list at the end of a shift, and the tools that came out worn."""
    table = WhereaboutsTable(
        missing_lines(),
        exclude=[] if _may_see_names(request) else ["person"],
        empty_text="Everything is where it is expected.",
    )
    context = {
        "table": laid_out(request, table),
        "worn": came_out_worn(),
        "may_see_names": _may_see_names(request),
        **own_scan_field(request),
    }
    return render(request, "assemblies/whereabouts.html", context)


def _may_see_names(request: HttpRequest) -> bool:
    return request.user.may("check.names")


@needs("view")
@require_safe
def whereabouts_csv(request: HttpRequest) -> HttpResponse:
    names = _may_see_names(request)
    head = ["Assembly", "Why", "Last seen", "Since", "Days", *(["Who"] if names else []), "Note"]
    rows = [
        [
            line.assembly.number,
            line.why,
            line.last_seen,
            f"{timezone.localtime(line.since):%Y-%m-%d %H:%M}",
            line.days,
            *([str(line.person)] if names else []),
            line.note,
        ]
        for line in missing_lines()
    ]
    return csv_answer("not-where-expected.csv", head, rows)


@needs("view")
@require_safe
def whereabouts_of(request: HttpRequest, number: int) -> HttpResponse:
    """One assembly: out of the machine it is in, or else taken along or put back. One tap each."""
    assembly = find_assembly(number)
    load = open_load_of(assembly)
    station = station_of(request)
    context = {
        "assembly": assembly,
        "load": load,
        "missing": None if load else missing_line_of(assembly),
        "may_see_names": _may_see_names(request),
        "take_out": TakeOutForm() if load else None,
        "edges": Edge,
        "borrow": BorrowForm(),
        "put_back": PutDownForm(initial={"place": assembly.contents.parent_id}),
        "station": station,
        "may_decide": request.user.may("check.decide"),
        "may_move": request.user.may("stock.issue"),
        **own_scan_field(request),
    }
    return not_kept(render(request, "assemblies/whereabouts_of.html", context))


@needs("check.decide")
@require_safe
def take_out_scan(request: HttpRequest) -> HttpResponse:
    """Waits for the scan of what was taken out."""
    return render(request, "assemblies/take_out_scan.html", own_scan_field(request))


@needs("check.decide")
@require_http_methods(["GET", "HEAD", "POST"])
def take_out_load(request: HttpRequest, pk: int) -> HttpResponse:
    """Good, worn or broken: one tap, and the load is closed."""
    rows = Load.objects.select_related("machine", "assembly", "build")
    load = get_object_or_404(rows, pk=pk)
    then = _of(load.assembly)
    if request.method != "POST" and load.out_at is not None:
        return redirect(then)

    def act(data: dict):
        return take_out(by=request.user, load=load, **data)

    return form_page(
        request,
        TakeOutForm(posted(request)),
        act,
        then=then,
        said=lambda: _said_of(load),
        template="assemblies/take_out.html",
        load=load,
        edges=Edge,
    )


def _of(assembly: Assembly) -> str:
    return reverse("assemblies:whereabouts_of", args=[assembly.number])


def _said_of(load: Load) -> str:
    load.refresh_from_db(fields=["out_as"])
    said = f"{load.assembly} is out of {named_place(load.pocket)}: {load.out_as}."
    return f"{said} It is quarantined." if load.out_as == Edge.BROKEN else said


@needs("stock.issue")
@require_http_methods(["GET", "HEAD", "POST"])
def borrow_it(request: HttpRequest, number: int) -> HttpResponse:
    """ "I take it": the last place known is then with this person."""
    assembly = find_assembly(number)
    station = station_of(request)

    def act(data: dict):
        return borrow(by=request.user, assembly=assembly, **data)

    return form_page(
        request,
        BorrowForm(posted(request), initial={"machine": station and station.machine}),
        act,
        then=_of(assembly),
        said=f"{number} is with you until it is put back or loaded.",
        template="assemblies/form_page.html",
        heading=f"Take {number} along",
        about="So that the next person knows where to look.",
        submit="I take it",
        back_url=_of(assembly),
    )


@needs("stock.issue")
@require_http_methods(["GET", "HEAD", "POST"])
def put_it_back(request: HttpRequest, number: int) -> HttpResponse:
    """Which rack or drawer it stands in again."""
    assembly = find_assembly(number)

    def act(data: dict):
        return put_back(by=request.user, assembly=assembly, **data)

    return form_page(
        request,
        PutDownForm(posted(request), initial={"place": assembly.contents.parent_id}),
        act,
        then=_of(assembly),
        said=f"{number} is put back.",
        template="assemblies/form_page.html",
        heading=f"Put {number} back",
        about="So that the check at the spindle can say where to fetch it.",
        submit="Put back",
        back_url=_of(assembly),
    )
