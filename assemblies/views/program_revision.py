"""One program revision: its tool numbers, stating and confirming them, its approvals."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from assemblies.actions import approvals, requirements
from assemblies.actions.programs import read_again
from assemblies.actions.readiness import Candidate, Readiness, Standing, standings
from assemblies.actions.readings import is_current, reading_of
from assemblies.forms.programs import ApprovalForm, RequirementForm, requirement_initial
from assemblies.models import (
    Machine,
    ProgramApproval,
    ProgramRevision,
    Reading,
    ToolRequirement,
    ToolUse,
)
from crib.forms.submission import SubmissionForm
from crib.views.access import attempt, needs, tell
from crib.views.form_page import form_page, posted


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

    @property
    def to_go_on_with(self) -> Candidate | None:
        """The assembly to put right for it: the listed one, else the first there is."""
        if not self.to_build or not self.standing.candidates:
            return None
        listed = self.requirement.preferred_id
        return min(self.standing.candidates, key=lambda one: one.assembly.pk != listed)


@needs("view")
@require_safe
def program_revision(request: HttpRequest, pk: int) -> HttpResponse:
    return _revision_page(request, _revision(pk))


def _revision_page(
    request: HttpRequest, revision: ProgramRevision, form: ApprovalForm | None = None
) -> HttpResponse:
    """All about one revision; a refused approval is handed in and shown with its reasons."""
    machines = _approvals(revision)
    reading = reading_of(revision)
    context = {
        "revision": revision,
        "reading": reading,
        "program": revision.program,
        "others": revision.program.revisions.defer("content").exclude(pk=revision.pk),
        **_tools_and_calls(revision, reading),
        "notes": _notes(reading),
        "approvals": machines,
        "form": form or ApprovalForm(initial=_only_machine(machines)),
        "read_again": None if is_current(reading) else SubmissionForm(),
        "may_confirm": request.user.may("program.confirm"),
        "may_approve": request.user.may("program.approve"),
        "may_add": request.user.may("program.add"),
        "may_build": request.user.may("assembly.build"),
    }
    status = 422 if form is not None else 200
    return render(request, "assemblies/program_revision.html", context, status=status)


@needs("program.add")
@require_POST
def program_read_again(request: HttpRequest, pk: int) -> HttpResponse:
    revision = _revision(pk)
    form = SubmissionForm(request.POST)

    def act(data: dict):
        return read_again(by=request.user, revision=revision, **data)

    done = attempt(form, act)
    if done is None:
        return _revision_page(request, revision)
    tell(request, done, f"{revision} was read again.")
    return redirect("assemblies:program_revision", pk=pk)


def _revision(pk: int) -> ProgramRevision:
    rows = ProgramRevision.objects.select_related("program", "added_by").defer("content")
    return get_object_or_404(rows, pk=pk)


def _tools_and_calls(revision: ProgramRevision, reading: Reading | None) -> dict:
    uses = {use.tool_number: use for use in reading.tool_uses.all()} if reading else {}
    rows = revision.requirements.select_related("preferred", "confirmed_by")
    stated = {row.tool_number: row for row in rows.prefetch_related("alternatives")}
    ready = standings(stated.values())
    calls = list(reading.tool_calls.all()) if reading else []
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


def _notes(reading: Reading | None) -> list[dict]:
    """The reader's notes, those that make the reading incomplete first."""
    found = reading.notes if reading else []
    return sorted(found, key=lambda note: (note["severity"] != "unknown", note["line"]))


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
        .defer("revision__content")
        .order_by("at", "id")
    )
    return [_on_machine(revision, m, rows) for m in Machine.objects.all()]


def _only_machine(lines: list[MachineApproval]) -> dict:
    """Where there is one machine, nobody has to pick it."""
    return {"machine": lines[0].machine.pk} if len(lines) == 1 else {}


def _on_machine(
    revision: ProgramRevision, machine: Machine, rows: list[ProgramApproval]
) -> MachineApproval:
    here = [row for row in rows if row.machine_id == machine.pk]
    standing = approvals.standing_revision(here)
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
        return approvals.set_approval(by=request.user, revision=revision, **data)

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
    use = ToolUse.objects.filter(reading__revision=revision, tool_number=tool_number).first()
    if row is None and use is None:
        raise Http404(f"{revision} has no T{tool_number}.")
    form = RequirementForm(posted(request), initial=requirement_initial(row))

    def act(data: dict):
        return requirements.confirm_requirement(
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
