"""Programs: the list, one revision with all its tool numbers, stating them, approving."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Prefetch
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from assemblies.actions import programs
from assemblies.actions.readiness import Readiness, Standing, standings
from assemblies.forms.programs import (
    LARGEST_FILE,
    ApprovalForm,
    ProgramForm,
    RequirementForm,
    requirement_initial,
)
from assemblies.models import (
    Machine,
    Program,
    ProgramApproval,
    ProgramRevision,
    ToolRequirement,
    ToolUse,
)
from assemblies.rules.nc.text import decode
from assemblies.tables.programs import ProgramTable
from crib.actions.once import Done
from crib.models import Person
from crib.rules.refusal import Refused
from crib.tables import laid_out
from crib.views.access import attempt, needs, tell
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
        Prefetch("revisions", ProgramRevision.objects.defer("content", "notes")),
        "revisions__tool_uses",
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
    numbers = [use.tool_number for use in newest.tool_uses.all()]
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
        if (pk := programs.standing_revision([r for r in rows if r.machine_id == machine_id]))
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


@dataclass(frozen=True)
class ToolLine:
    """One T number of a revision: what the program does with it, and what it must be."""

    tool_number: int
    use: ToolUse | None
    requirement: ToolRequirement | None
    calls: list[int]
    standing: Standing

    @property
    def to_build(self) -> bool:
        """Whether the toolroom has something to do for it, and knows what."""
        return self.standing.readiness in (Readiness.NONE, Readiness.NEEDS_WORK)


@needs("view")
@require_safe
def program_revision(request: HttpRequest, pk: int) -> HttpResponse:
    return _revision_page(request, _revision(pk))


def _revision_page(
    request: HttpRequest, revision: ProgramRevision, form: ApprovalForm | None = None
) -> HttpResponse:
    """All about one revision; a refused approval is handed in and shown with its reasons."""
    context = {
        "revision": revision,
        "program": revision.program,
        "others": revision.program.revisions.defer("content", "notes").exclude(pk=revision.pk),
        **_tools_and_calls(revision),
        "notes": _notes(revision),
        "approvals": _approvals(revision),
        "form": form or ApprovalForm(),
        "may_confirm": request.user.may("program.confirm"),
        "may_approve": request.user.may("program.approve"),
        "may_add": request.user.may("program.add"),
        "may_build": request.user.may("assembly.build"),
    }
    status = 422 if form is not None else 200
    return render(request, "assemblies/program_revision.html", context, status=status)


def _revision(pk: int) -> ProgramRevision:
    rows = ProgramRevision.objects.select_related("program", "added_by").defer("content")
    return get_object_or_404(rows, pk=pk)


def _tools_and_calls(revision: ProgramRevision) -> dict:
    uses = {use.tool_number: use for use in revision.tool_uses.all()}
    rows = revision.requirements.select_related("preferred", "confirmed_by")
    stated = {row.tool_number: row for row in rows.prefetch_related("alternatives")}
    ready = standings(stated.values())
    calls = list(revision.tool_calls.all())
    lines: dict[int | None, list[int]] = {}
    for call in calls:
        lines.setdefault(call.tool_number, []).append(call.line)
    tools = [
        ToolLine(
            number,
            uses.get(number),
            stated.get(number),
            lines.get(number, []),
            ready.get(number, Standing(Readiness.NOT_STATED)),
        )
        for number in sorted(uses.keys() | stated.keys())
    ]
    return {"calls": calls, "tools": tools, "tally": _tally(tools)}


def _tally(tools: list[ToolLine]) -> list[tuple[str, str, list[int]]]:
    """Groups of tool numbers by readiness, those to build first; empty groups left out."""
    order = (Readiness.NONE, Readiness.NEEDS_WORK, Readiness.NOT_STATED, Readiness.READY)
    groups = [
        (str(one), one.words, [t.tool_number for t in tools if t.standing.readiness == one])
        for one in order
    ]
    return [group for group in groups if group[2]]


def _notes(revision: ProgramRevision) -> list[dict]:
    """The reader's notes, those that make the reading incomplete first."""
    return sorted(revision.notes, key=lambda note: (note["severity"] != "unknown", note["line"]))


@dataclass(frozen=True)
class MachineApproval:
    """How one revision stands on one machine, with the row that says so."""

    machine: Machine
    word: str
    last: ProgramApproval | None
    instead: str


def _approvals(revision: ProgramRevision) -> list[MachineApproval]:
    rows = list(
        ProgramApproval.objects.filter(revision__program=revision.program)
        .select_related("revision", "by")
        .defer("revision__content", "revision__notes")
        .order_by("at", "id")
    )
    return [_on_machine(revision, m, rows) for m in Machine.objects.all()]


def _on_machine(
    revision: ProgramRevision, machine: Machine, rows: list[ProgramApproval]
) -> MachineApproval:
    here = [row for row in rows if row.machine_id == machine.pk]
    standing = programs.standing_revision(here)
    own = [row for row in here if row.revision_id == revision.pk]
    last = own[-1] if own else None
    if standing == revision.pk:
        return MachineApproval(machine, "approved", last, "")
    instead = next((r.revision.label for r in here if r.revision_id == standing), "")
    withdrawn = last is not None and last.state == "withdrawn"
    return MachineApproval(machine, "withdrawn" if withdrawn else "not approved", last, instead)


@needs("program.approve")
@require_POST
def program_approve(request: HttpRequest, pk: int) -> HttpResponse:
    revision = _revision(pk)
    form = ApprovalForm(request.POST)

    def act(data: dict):
        return programs.set_approval(by=request.user, revision=revision, **data)

    done = attempt(form, act)
    if done is None:
        return _revision_page(request, revision, form)
    verb = "approved for" if form.cleaned_data["state"] == "approved" else "withdrawn from"
    tell(request, done, f"{revision} {verb} {form.cleaned_data['machine']}.")
    return redirect("assemblies:program_revision", pk=pk)


@needs("program.confirm")
@require_http_methods(["GET", "HEAD", "POST"])
def requirement(request: HttpRequest, pk: int, tool_number: int) -> HttpResponse:
    revision = _revision(pk)
    row = revision.requirements.filter(tool_number=tool_number).first()
    use = revision.tool_uses.filter(tool_number=tool_number).first()
    if row is None and use is None:
        raise Http404(f"{revision} has no T{tool_number}.")
    form = RequirementForm(posted(request), initial=requirement_initial(row))

    def act(data: dict):
        return programs.confirm_requirement(
            by=request.user,
            submission=data["submission"],
            revision=revision,
            tool_number=tool_number,
            figures=form.figures(),
            preferred=data["preferred"],
            alternatives=data["alternatives"],
        )

    back_url = reverse("assemblies:program_revision", kwargs={"pk": pk})
    return form_page(
        request,
        form,
        act,
        then=back_url,
        said=f"T{tool_number} confirmed.",
        template="assemblies/requirement_form.html",
        heading=f"What T{tool_number} in {revision} must be",
        submit="Confirm",
        back_url=back_url,
        row=row,
        use=use,
        revision=revision,
        tool_number=tool_number,
    )


#: Lines of program text on one page.
LINES_SHOWN = 2000


@needs("view")
@require_safe
def program_text(request: HttpRequest, pk: int) -> HttpResponse:
    revision = get_object_or_404(ProgramRevision.objects.select_related("program"), pk=pk)
    # Split as the reader counts: a form feed ends no line.
    lines = decode(bytes(revision.content), LARGEST_FILE).removesuffix("\n").split("\n")
    first = _first_line(request.GET.get("from", ""), len(lines))
    context = {
        "revision": revision,
        "lines": list(enumerate(lines[first - 1 : first - 1 + LINES_SHOWN], start=first)),
        "before": max(1, first - LINES_SHOWN) if first > 1 else None,
        "after": first + LINES_SHOWN if first + LINES_SHOWN <= len(lines) else None,
        "line_count": len(lines),
    }
    return render(request, "assemblies/program_text.html", context)


def _first_line(text: str, line_count: int) -> int:
    wanted = int(text) if text.isdecimal() and len(text) < 10 else 1
    return max(1, min(wanted, line_count or 1))
