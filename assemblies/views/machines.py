"""Machines: the list, one machine with what was loaded last, and its limits."""

from __future__ import annotations

from django.db.models import Count, F, Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from assemblies.actions.approvals import standing_revision
from assemblies.actions.loads import has_changer
from assemblies.actions.machine_contents import machine_contents
from assemblies.actions.machines import save_machine, saved_in_words
from assemblies.forms.loads import TakeOutForm
from assemblies.forms.machines import MachineForm
from assemblies.models import Decision, Edge, Machine, ProgramApproval, ProgramRevision
from assemblies.tables.machines import MachineTable
from crib.rules.keys import key_of
from crib.tables import laid_out
from crib.views.access import needs
from crib.views.form_page import form_page, posted

#: Decisions shown on a machine's page.
LAST_CHECKS = 10


@needs("view")
@require_safe
def machine_list(request: HttpRequest) -> HttpResponse:
    table = MachineTable(_with_loads(), empty_text="No machine is recorded yet.")
    may_edit = request.user.may("machine.edit")
    if may_edit:
        table.empty_url, table.empty_label = reverse("assemblies:machine_new"), "Add a machine"
    context = {"table": laid_out(request, table), "may_edit": may_edit}
    return render(request, "assemblies/machine_list.html", context)


def _with_loads() -> QuerySet[Machine]:
    """The machines with the number of tools that are said to be in each."""
    return Machine.objects.annotate(tools_in=Count("loads", filter=Q(loads__out_at=None)))


def find_machine(mark: str) -> Machine:
    return get_object_or_404(Machine, mark_key=key_of(mark))


@needs("view")
@require_safe
def machine_detail(request: HttpRequest, mark: str) -> HttpResponse:
    machine = find_machine(mark)
    checks = machine.checks.select_related("assembly", "build", "revision__program", "by").defer(
        "revision__content", "findings"
    )
    context = {
        "machine": machine,
        "contents": machine_contents(machine),
        "has_changer": has_changer(machine),
        "take_out": TakeOutForm(),
        "edges": Edge,
        "last_loaded": checks.filter(decision=Decision.LOADED).first(),
        "checks": checks[:LAST_CHECKS],
        "programs": _approved_on(machine),
        "may_edit": request.user.may("machine.edit"),
        "may_decide": request.user.may("check.decide"),
        "may_see_names": request.user.may("check.names"),
    }
    return render(request, "assemblies/machine_detail.html", context)


def _approved_on(machine: Machine) -> list[ProgramRevision]:
    """The revisions that stand approved on a machine, in two queries."""
    by_program: dict[int, list[ProgramApproval]] = {}
    for row in machine.approvals.order_by("at", "id").annotate(program=F("revision__program")):
        by_program.setdefault(row.program, []).append(row)
    standing = [standing_revision(rows) for rows in by_program.values()]
    found = ProgramRevision.objects.filter(pk__in=[pk for pk in standing if pk is not None])
    return list(found.select_related("program").defer("content").order_by("program__name_key"))


@needs("machine.edit")
@require_http_methods(["GET", "HEAD", "POST"])
def machine_new(request: HttpRequest) -> HttpResponse:
    return _machine_form(request, Machine(), "New machine", reverse("assemblies:machine_list"))


@needs("machine.edit")
@require_http_methods(["GET", "HEAD", "POST"])
def machine_edit(request: HttpRequest, mark: str) -> HttpResponse:
    machine = find_machine(mark)
    back_url = reverse("assemblies:machine_detail", args=[machine.mark])
    return _machine_form(request, machine, f"Change {machine.name}", back_url)


def _machine_form(
    request: HttpRequest, machine: Machine, heading: str, back_url: str
) -> HttpResponse:
    form = MachineForm(posted(request), instance=machine)

    def act(data: dict):
        return save_machine(by=request.user, submission=data["submission"], machine=form.instance)

    return form_page(
        request,
        form,
        act,
        then=lambda done: reverse("assemblies:machine_detail", args=[done.result]),
        said=lambda: saved_in_words(form.cleaned_data["submission"]),
        template="assemblies/machine_form.html",
        heading=heading,
        back_url=back_url,
    )
