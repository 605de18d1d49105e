"""Programs: the list, handing a file in, and its text."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from assemblies.actions import approvals, programs
from assemblies.forms.programs import (
    LARGEST_FILE,
    ProgramForm,
)
from assemblies.models import Program, ProgramRevision, Reading
from assemblies.rules.nc.text import decode
from assemblies.tables.programs import ProgramTable
from crib.actions.once import Done
from crib.models import Person
from crib.rules.refusal import Refused
from crib.tables import laid_out
from crib.views.access import needs
from crib.views.form_page import form_page, posted


@dataclass(frozen=True)
class ProgramLine:
    """One line of the list."""

    name: str
    title: str
    revision: str
    tools: str
    confirmed: str
    approved: str
    url: str


@needs("view")
@require_safe
def program_list(request: HttpRequest) -> HttpResponse:
    wanted = request.GET.get("q", "").strip()
    found = Program.objects.prefetch_related(
        Prefetch("revisions", ProgramRevision.objects.defer("content")),
        Prefetch("revisions__readings", Reading.objects.defer("notes", "details")),
        "revisions__readings__tool_uses",
        "revisions__requirements",
        "revisions__approvals__machine",
    )
    if wanted:
        found = found.filter(name__icontains=wanted) | found.filter(title__icontains=wanted)
    may_add = request.user.may("program.add")
    context = {
        "table": laid_out(request, _table([_line(one) for one in found], wanted, may_add)),
        "wanted": wanted,
        "may_add": may_add,
    }
    return render(request, "assemblies/program_list.html", context)


def _table(lines: list[ProgramLine], wanted: str, may_add: bool) -> ProgramTable:
    if wanted:
        return ProgramTable(lines, empty_text=f"No program matches “{wanted[:40]}”.")
    table = ProgramTable(lines, empty_text="No program here yet.")
    table.empty_hint = "It is handed in as a file, then each T number is stated and confirmed."
    if may_add:
        table.empty_url, table.empty_label = reverse("assemblies:program_new"), "Hand a program in"
    return table


def _line(program: Program) -> ProgramLine:
    revisions = list(program.revisions.all())
    newest = revisions[0]
    uses = [use for reading in newest.readings.all() for use in reading.tool_uses.all()]
    numbers = sorted({use.tool_number for use in uses})
    confirmed = [row for row in newest.requirements.all() if row.is_confirmed]
    return ProgramLine(
        name=program.name,
        title=program.title,
        revision=newest.label,
        tools=", ".join(f"T{number}" for number in numbers) or "none read",
        confirmed=f"{len(confirmed)} of {len(numbers)}",
        approved=_standing(revisions) or "nowhere",
        url=reverse("assemblies:program_revision", kwargs={"pk": newest.pk}),
    )


def _standing(revisions: list[ProgramRevision]) -> str:
    """`B on Router 1`: the revision that stands approved on each machine."""
    rows = [row for revision in revisions for row in revision.approvals.all()]
    # Who stands is told by the order of time, whatever revision the rows belong to.
    rows.sort(key=lambda row: (row.at, row.pk))
    labels = {revision.pk: revision.label for revision in revisions}
    machines = {row.machine_id: row.machine for row in rows}
    standing = [
        f"{labels[pk]} on {machine.name}"
        for machine_id, machine in machines.items()
        if (pk := approvals.standing_revision([r for r in rows if r.machine_id == machine_id]))
    ]
    return ", ".join(sorted(standing))


@needs("program.add")
@require_http_methods(["GET", "HEAD", "POST"])
def program_new(request: HttpRequest) -> HttpResponse:
    initial = {"name": request.GET.get("name", "")[:60]}
    form = ProgramForm(posted(request), request.FILES or None, initial=initial)

    def act(data: dict):
        content, file_name = form.content()
        return _add_revision(request.user, data, content, file_name)

    return form_page(
        request,
        form,
        act,
        then=lambda done: reverse("assemblies:program_revision", kwargs={"pk": int(done.result)}),
        said="Program read. Now say what each T number must be.",
        template="assemblies/program_new.html",
        heading="Hand a program in",
        submit="Read it",
        back_url=reverse("assemblies:program_list"),
    )


def _add_revision(by: Person, data: dict, content: bytes, file_name: str) -> Done:
    """Hand the text in; what is wrong with a pasted text is said at the field it came from."""
    try:
        return programs.add_revision(
            by=by,
            submission=data["submission"],
            name=data["name"],
            label=data["label"],
            title=data["title"],
            data=content,
            file_name=file_name,
        )
    except Refused as refused:
        if refused.field == "file" and not data["file"]:
            refused.field = "pasted"
        raise


#: Lines of program text on one page.
LINES_SHOWN = 2000
#: Letters of one line; a block of a program is far shorter.
LETTERS_SHOWN = 500


@needs("view")
@require_safe
def program_text(request: HttpRequest, pk: int) -> HttpResponse:
    revision = get_object_or_404(ProgramRevision.objects.select_related("program"), pk=pk)
    # Split as the reader counts: a form feed ends no line.
    lines = decode(bytes(revision.content), LARGEST_FILE).removesuffix("\n").split("\n")
    first = _first_line(request.GET.get("from", ""), len(lines))
    context = {
        "revision": revision,
        "lines": [
            (number, line[:LETTERS_SHOWN])
            for number, line in enumerate(lines[first - 1 : first - 1 + LINES_SHOWN], start=first)
        ],
        "before": max(1, first - LINES_SHOWN) if first > 1 else None,
        "after": first + LINES_SHOWN if first + LINES_SHOWN <= len(lines) else None,
        "line_count": len(lines),
    }
    return render(request, "assemblies/program_text.html", context)


def _first_line(text: str, line_count: int) -> int:
    wanted = int(text) if text.isdecimal() and len(text) < 10 else 1
    return max(1, min(wanted, line_count or 1))
