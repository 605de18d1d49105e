"""The list of programs."""

from __future__ import annotations

from django.db.models import Exists, Max, OuterRef, Prefetch, Q, QuerySet, Subquery
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from assemblies.models import Program, ProgramRevision, Reading, ToolRequirement, ToolUse
from assemblies.tables.programs import ProgramTable
from crib.tables import laid_out
from crib.views.access import needs


@needs("view")
@require_safe
def program_list(request: HttpRequest) -> HttpResponse:
    wanted = request.GET.get("q", "").strip()[:80]
    may_add = request.user.may("program.add")
    context = {
        "table": laid_out(request, _table(_programs(wanted), wanted, may_add)),
        "wanted": wanted,
        "may_add": may_add,
    }
    return render(request, "assemblies/program_list.html", context)


def _programs(wanted: str) -> QuerySet[Program]:
    """Programs that have a revision, each with what its line says; read for one page only."""
    rows = Program.objects.annotate(newest_at=Max("revisions__added_at")).order_by("name_key")
    rows = rows.exclude(newest_at=None).prefetch_related(
        Prefetch("revisions", ProgramRevision.objects.defer("content")),
        Prefetch("revisions__readings", _of_the_newest(Reading).defer("notes", "details")),
        Prefetch("revisions__readings__tool_uses", ToolUse.objects.defer("details")),
        Prefetch("revisions__requirements", _of_the_newest(ToolRequirement)),
        "revisions__approvals__machine",
    )
    return rows.filter(_matches(wanted)) if wanted else rows


def _of_the_newest(model: type) -> QuerySet:
    """Rows of `model` that belong to the newest revision of their program."""
    newest = ProgramRevision.objects.filter(program=OuterRef("revision__program"))
    return model.objects.filter(revision=Subquery(newest.values("pk")[:1]))


def _matches(wanted: str) -> Q:
    """By name, by what it makes, by the name of a file, or by the number in it (O0412)."""
    revisions = ProgramRevision.objects.filter(program=OuterRef("pk"))
    number = wanted.upper().removeprefix("O").lstrip("0")
    found = Q(name__icontains=wanted) | Q(title__icontains=wanted)
    found |= Exists(revisions.filter(file_name__icontains=wanted))
    if number.isdecimal():
        found |= Exists(revisions.filter(readings__program_number__iregex=f"^0*{number}$"))
    return found


def _table(rows: QuerySet[Program], wanted: str, may_add: bool) -> ProgramTable:
    if wanted:
        return ProgramTable(rows, empty_text=f"No program matches “{wanted[:40]}”.")
    table = ProgramTable(rows, empty_text="No program here yet.")
    table.empty_hint = "It is handed in as a file, then each T number is stated and confirmed."
    if may_add:
        table.empty_url, table.empty_label = reverse("assemblies:program_new"), "Hand a program in"
    return table
