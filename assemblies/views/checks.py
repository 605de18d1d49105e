"""What was decided at the spindles: the list, and one decision with its findings."""

from __future__ import annotations

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from assemblies.actions.spindle import ACCEPT_REASONS, REFUSE_REASONS, frozen_findings
from assemblies.forms.spindle import CheckSearchForm
from assemblies.models import SpindleCheck
from assemblies.tables.checks import CheckTable
from assemblies.views.spindle import with_subjects
from crib.tables import laid_out
from crib.views.access import needs


@needs("view")
@require_safe
def check_list(request: HttpRequest) -> HttpResponse:
    form = CheckSearchForm(request.GET)
    wanted = form.cleaned_data if form.is_valid() else {}
    table = CheckTable(
        search(wanted), exclude=hidden_columns(request), empty_text=_nothing_found(wanted)
    )
    context = {"form": form, "table": laid_out(request, table)}
    return render(request, "assemblies/check_list.html", context)


def search(wanted: dict) -> QuerySet[SpindleCheck]:
    """Decisions of a machine, with a verdict, of a kind; an empty wish leaves all."""
    wishes = {name: value for name, value in wanted.items() if value}
    return with_subjects(SpindleCheck.objects.filter(**wishes))


def hidden_columns(request: HttpRequest) -> list[str]:
    """The log is for finding which rule or part failed; who it was is for leads."""
    return [] if request.user.may("check.names") else ["by"]


def _nothing_found(wanted: dict) -> str:
    return "No such check." if any(wanted.values()) else "Nothing was decided at a spindle yet."


@needs("view")
@require_safe
def check_detail(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(with_subjects(SpindleCheck.objects.all()), pk=pk)
    context = {
        "check": row,
        "reason": (ACCEPT_REASONS | REFUSE_REASONS).get(row.reason, ""),
        "findings": frozen_findings(row),
        "may_see_name": request.user.may("check.names"),
    }
    return render(request, "assemblies/check_detail.html", context)
